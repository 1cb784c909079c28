"""Trouble codes as bytes, against published examples and two libraries that are not ours."""

import obd.codes
import obd.decoders
import pytest
from hypothesis import given
from hypothesis import strategies as st
from udsoncan.common.dtc import Dtc

from sim.diagnosis.codes import FAILURE_TYPES, TITLES, Code, code_of
from sim.errors import DiagnosisError

# SAE J2012 / ISO 15031-6: letter, digit, three hexadecimal digits
EXAMPLES = [
    ("0117", "P0117"),
    ("0133", "P0133"),
    ("4123", "C0123"),
    ("9234", "B1234"),
    ("C100", "U0100"),
    ("D100", "U1100"),
    ("243F", "P243F"),
]


@pytest.mark.parametrize(("data", "text"), EXAMPLES)
def test_published_examples_both_ways(data, text):
    assert code_of(bytes.fromhex(data)).text == text
    assert Code(text).two == bytes.fromhex(data)


@given(st.integers(1, 0xFFFF))
def test_any_two_bytes_are_read_as_python_obd_reads_them(number):
    data = number.to_bytes(2, "big")
    theirs, _title = obd.decoders.parse_dtc(data)
    assert code_of(data).text == theirs.upper()
    assert code_of(data).two == data


@given(st.integers(1, 0xFFFFFF))
def test_three_bytes_are_the_number_that_udsoncan_names(number):
    data = number.to_bytes(3, "big")
    code = code_of(data)
    assert code.three == data
    assert Dtc(number).id_iso() == f"{code.text}-{code.failure_type:02X}"


def test_a_code_with_its_failure_type_reads_as_one_word():
    assert str(code_of(bytes.fromhex("011715"))) == "P0117-15"
    assert str(code_of(bytes.fromhex("0117"))) == "P0117"
    assert Code("P0118", 0x15).title == (
        "Coolant temperature sensor 1: signal high (short to supply or open)"
    )
    assert Code("P0999").title == ""


@pytest.mark.parametrize("text", ["P4117", "X0117", "P011", "P01177", "P011G", "p0117", "P01a7"])
def test_what_is_no_code_is_refused(text):
    with pytest.raises(DiagnosisError, match=f"got '{text}', expected P, C, B or U") as caught:
        Code(text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("data", [b"", b"\1", bytes(4)])
def test_another_number_of_bytes_is_refused(data):
    with pytest.raises(DiagnosisError, match="expected two or three"):
        code_of(data)


def test_a_failure_type_is_a_byte():
    with pytest.raises(DiagnosisError, match="P0117: got failure type 256, expected 0 to 255"):
        Code("P0117", 256)


# Our words for a word of python-OBD's table of SAE J2012 names
SAME = {
    "coolant": "coolant",
    "temperature": "temperature",
    "too hot": "over temperature",
    "signal low": "low",
    "signal high": "high",
    "circuit low": "low",
    "circuit high": "high",
    "open": "open",
    "voltage low": "voltage low",
    "voltage high": "voltage high",
    "too low": "too low",
    "intake air": "intake air",
    "throttle": "throttle",
    "position": "position",
    "crankshaft": "crankshaft",
    "fan 1": "fan 1",
    "fan 2": "fan 2",
    "fuel pump": "fuel pump",
    "fuel rail": "fuel rail",
    "pressure": "pressure",
    "engine control unit": "ecm",
    "transmission": "tcm",
    "brake": "brake",
    "body": "body",
    "instrument cluster": "instrument panel",
    "gateway": "gateway",
    "door": "door",
    "no communication": "lost communication",
    "supply of the vehicle": "system",
    "control circuit": "control circuit",
    "primary": "primary",
    "main relay": "power relay",
}
DIRECTIONS = ("low", "high", "open")
# Codes that a vehicle of the course may show, by python-OBD's table
USED = "P0112 P0113 P0117 P0118 P0122 P0123 P0480 P0562 P0563 P0627 P0691 P0692 U0100 U0121"


def test_codes_that_are_used_have_a_title():
    assert set(USED.split()) <= TITLES.keys()


@pytest.mark.parametrize("text", TITLES)
def test_our_titles_say_what_the_standard_names_say(text):
    ours, theirs = TITLES[text].lower(), obd.codes.DTC[text].lower()
    said = [word for word in SAME if word in ours]
    assert len(said) >= 2, f"{text}: no word to compare in {ours!r}"
    assert [word for word in said if SAME[word] not in theirs] == [], theirs
    for direction in DIRECTIONS:
        assert (direction in ours) == (direction in theirs), (ours, theirs)


def test_titles_are_for_generic_codes_and_not_copied():
    assert {text[1] for text in TITLES} == {"0"}
    assert [text for text in TITLES if TITLES[text].lower() == obd.codes.DTC[text].lower()] == []
    assert all(0 <= number <= 0xFF for number in FAILURE_TYPES)
