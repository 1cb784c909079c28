"""The scan tool's screen, against python-OBD and published examples."""

import obd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from obd.protocols.protocol import Message

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.codes import Code
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.sample import brakes_unit, engine_unit, sample_units, silent
from sim.diagnosis.server import answer
from sim.errors import DiagnosisError
from sim.instruments.scantool import (
    CodeLine,
    Line,
    codes_with_status,
    freeze_frame,
    generic_codes,
    live_data,
    maker_data,
    no_answer,
    refusal,
    supported,
)


def from_engine(request: str) -> bytes:
    found, _after = answer(engine_unit(), bytes.fromhex(request), 0.0)
    assert found is not None
    return found


# SAE J1979 / ISO 15031-5, worked with python-OBD
@pytest.mark.parametrize(
    ("data", "line"),
    [
        ("41 05 7B", Line("coolant temperature", "83", "°C")),
        ("41 0C 1A F8", Line("engine speed", "1726.00", "1/min")),
        ("41 42 36 10", Line("supply voltage at the unit", "13.840", "V")),
        ("41 46 46", Line("outside air temperature", "30", "°C")),
        ("41 11 80", Line("throttle position", "50.2", "%")),
        ("41 05 00", Line("coolant temperature", "-40", "°C")),  # an open sensor
        ("41 05 FF", Line("coolant temperature", "215", "°C")),  # a shorted one
    ],
)
def test_published_examples(data, line):
    assert live_data(bytes.fromhex(data)) == (line,)


@pytest.mark.parametrize("identifier", PARAMETERS.keys() - {0x1C}, ids="{:02X}".format)
def test_every_parameter_shows_what_python_obd_reads(identifier):
    data = bytes((0x41, identifier)) + b"\xa7\x5c"[: PARAMETERS[identifier].scaling.length]
    (line,) = live_data(data)
    message = Message([])
    message.data = bytearray(data)
    theirs = obd.commands[1][identifier].decode([message]).magnitude
    assert float(line.value) == pytest.approx(theirs, abs=0.51 * 10 ** -decimals(line.value))


def decimals(text: str) -> int:
    return len(text.partition(".")[2])


def test_the_published_monitor_status():
    lines = live_data(bytes.fromhex("41 01 83 07 65 00"))
    assert lines[:2] == (Line("warning lamp", "on"), Line("confirmed codes", "3"))
    assert {line.name for line in lines[2:]} == {
        "monitor misfire",
        "monitor fuel system",
        "monitor components",
        "monitor catalyst",
        "monitor evaporation",
        "monitor oxygen sensor",
        "monitor oxygen sensor heater",
    }
    assert {line.value for line in lines[2:]} == {"complete"}
    waiting = live_data(bytes.fromhex("41 01 00 44 01 01"))
    assert {line.value for line in waiting[2:]} == {"not complete"}


def test_several_parameters_come_as_several_lines():
    shown = live_data(from_engine("01 05 42 0C 00"))
    assert [line.value for line in shown] == ["-40", "14.100", "820.00"]


def test_what_a_unit_supports_is_read_from_its_bit_maps():
    maps = [from_engine(f"01 {start}") for start in ("00", "20", "40")]
    assert supported(maps) == tuple(sorted(engine_unit().values.keys() | {0x01}))


def test_the_actual_value_and_the_makers_substitute_stand_side_by_side():
    assert live_data(from_engine("01 05")) == (Line("coolant temperature", "-40", "°C"),)
    assert maker_data(from_engine("22 20 01 20 02"), engine_unit().readable) == (
        Line("coolant temperature, used", "80", "°C"),
        Line("coolant sensor signal", "4.980", "V"),
    )


def test_codes_with_titles_and_status_words():
    code = Code("P0118", 0x17)
    assert codes_with_status(from_engine("19 0A")) == (
        CodeLine(
            code,
            "Coolant temperature sensor 1: signal high (voltage above limit)",
            "confirmed, present",
        ),
    )
    assert generic_codes(from_engine("03")) == (
        CodeLine(Code("P0118"), "Coolant temperature sensor 1: signal high", "confirmed"),
    )
    assert [line.status for line in generic_codes(from_engine("07"))] == ["pending"]
    assert generic_codes(bytes.fromhex("43 00")) == ()
    # the published example: failed and confirmed
    (line,) = codes_with_status(bytes.fromhex("59 02 FF 01 17 15 09"))
    assert (str(line.code), line.status) == ("P0117-15", "confirmed, present")


def test_the_freeze_frame_says_which_code_froze_it():
    shown = freeze_frame(from_engine("02 02 00 05 00 0C 00"))
    assert [(line.name, line.value) for line in shown] == [
        ("code that froze the frame", "P0118"),
        ("coolant temperature", "-40"),
        ("engine speed", "0.00"),
    ]
    assert freeze_frame(bytes.fromhex("42 02 00 00 00")) == (
        Line("code that froze the frame", "none"),
    )


def test_a_unit_that_keeps_silent_is_named():
    with DiagnosticBus([silent(engine_unit()), brakes_unit()]) as bus:
        answered = {unit.name: bus.ask(unit.name, b"\x03") for unit in bus.units}
    assert [no_answer(name) for name, answers in answered.items() if not answers] == [
        "no answer from engine control"
    ]


def test_a_refusal_is_said_in_words():
    found, _after = answer(engine_unit(), bytes.fromhex("2F300103FF"), 0.0)
    assert refusal("engine control", found) == (
        "engine control: not in this diagnostic session (7F)"
    )
    assert refusal("engine control", from_engine("03")) is None
    assert refusal("brakes", bytes.fromhex("7F 22 99")) == "brakes: refused (99)"


@pytest.mark.parametrize(
    ("show", "data"),
    [
        (live_data, "41 0C 1A"),
        (live_data, "41 99 00"),
        (live_data, "43 00"),
        (live_data, ""),
        (freeze_frame, "42 05"),
        (generic_codes, "43 02 01 17"),
        (generic_codes, "43"),
        (codes_with_status, "59 02 FF 01 17 15"),
    ],
)
def test_an_answer_that_breaks_off_is_refused_in_one_line(show, data):
    with pytest.raises(DiagnosisError) as caught:
        show(bytes.fromhex(data))
    assert "\n" not in str(caught.value)


def test_an_identifier_without_description_is_refused():
    with pytest.raises(DiagnosisError, match="identifier 2001 unknown"):
        maker_data(from_engine("22 20 01"), ())


@given(st.binary(max_size=30))
def test_any_answer_is_shown_or_refused(data):
    for show in (live_data, freeze_frame, generic_codes, codes_with_status):
        try:
            lines = show(data)
        except DiagnosisError:
            continue
        assert isinstance(lines, tuple)
    assert refusal("unit", data) is None or data[0] == 0x7F


def test_the_whole_sample_vehicle_is_scanned():
    with DiagnosticBus(sample_units()) as bus:
        answered = {one.unit: one.data for one in bus.ask(None, b"\x03")}
        assert set(answered) == {"engine control", "brakes"}
        found = {name: generic_codes(data) for name, data in answered.items()}
        assert [line.code.text for line in found["engine control"]] == ["P0118"]
        assert found["brakes"] == ()
        listed = {
            unit.name: codes_with_status(bus.ask(unit.name, b"\x19\x0a")[0].data)
            for unit in bus.units
        }
        assert listed["body"] == ()
