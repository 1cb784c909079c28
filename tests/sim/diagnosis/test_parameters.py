"""Scalings of SAE J1979, against published examples and two decoders that are not ours.

python-OBD is exact for all parameters; scapy rounds, and reads one byte of parameter 10 where the
standard has two, so it is asked about the others only.
"""

import math

import obd
import pytest
import scapy.contrib.automotive.obd.obd as scapy_obd
from hypothesis import given
from hypothesis import strategies as st
from obd.protocols.protocol import Message

from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.scaling import Scaling
from sim.errors import DiagnosisError

IDS = pytest.mark.parametrize("identifier", PARAMETERS, ids="{:02X}".format)
# Our unit on the screen -> pint's name of it
UNITS = {
    "%": "percent",
    "°C": "degree_Celsius",
    "kPa": "kilopascal",
    "1/min": "revolutions_per_minute",
    "km/h": "kilometer_per_hour",
    "°": "degree",
    "g/s": "gps",
    "V": "volt",
    "s": "second",
    "min": "minute",
    "km": "kilometer",
    "l/h": "lph",
    "": "count",
}
DESIGNED_TO = 0x1C


def by_python_obd(identifier: int, data: bytes):
    """Return what python-OBD makes of an answer 41 ID DATA."""
    message = Message([])
    message.data = bytearray((0x41, identifier)) + data
    return obd.commands[1][identifier].decode([message])


def patterns(length: int) -> list[bytes]:
    """Return every value of each byte, the others at 0, 55 and FF."""
    if length == 1:
        return [bytes((value,)) for value in range(256)]
    others = (0x00, 0x55, 0xFF)
    pairs = {(value, other) for value in range(256) for other in others}
    return [bytes(pair) for pair in sorted(pairs | {pair[::-1] for pair in pairs})]


# SAE J1979 / ISO 15031-5, worked with python-OBD
@pytest.mark.parametrize(
    ("identifier", "data", "digits", "value"),
    [
        (0x05, "7B", "83", 83.0),
        (0x0C, "1AF8", "1726.00", 1726 * math.tau / 60),
        (0x42, "3610", "13.840", 13.84),
        (0x46, "46", "30", 30.0),
        (0x11, "80", "50.2", 0.50196),
        (0x10, "03E8", "10.00", 0.010),
        (0x05, "00", "-40", -40.0),  # floor: what an open sensor shows
        (0x05, "FF", "215", 215.0),  # ceiling
        (0x0E, "00", "-64.0", -64 / 360),
        (0x06, "80", "0.0", 0.0),
    ],
)
def test_published_examples(identifier, data, digits, value):
    scaling = PARAMETERS[identifier].scaling
    assert scaling.show(bytes.fromhex(data)) == digits
    assert scaling.decode(bytes.fromhex(data)) == pytest.approx(value, rel=1e-5)
    assert scaling.encode(value) == bytes.fromhex(data)


# SAE J1979 / ISO 15031-5: value of the bytes A and B in the unit on the screen
FORMULAS = {
    0x04: lambda a, _b: a * 100 / 255,
    0x05: lambda a, _b: a - 40,
    0x06: lambda a, _b: (a - 128) * 100 / 128,
    0x0B: lambda a, _b: a,
    0x0C: lambda a, b: (256 * a + b) / 4,
    0x0D: lambda a, _b: a,
    0x0E: lambda a, _b: a / 2 - 64,
    0x0F: lambda a, _b: a - 40,
    0x10: lambda a, b: (256 * a + b) / 100,
    0x11: lambda a, _b: a * 100 / 255,
    0x42: lambda a, b: (256 * a + b) / 1000,
    0x46: lambda a, _b: a - 40,
}


@pytest.mark.parametrize("identifier", FORMULAS, ids="{:02X}".format)
def test_the_standards_formulas(identifier):
    scaling = PARAMETERS[identifier].scaling
    for data in patterns(scaling.length):
        expected = FORMULAS[identifier](*data, *(() if len(data) == 2 else (0,)))
        assert scaling.decode(data) / scaling.si == pytest.approx(expected, abs=1e-9)


@IDS
def test_every_byte_value_reads_as_python_obd_reads_it(identifier):
    scaling = PARAMETERS[identifier].scaling
    for data in patterns(scaling.length):
        theirs = by_python_obd(identifier, data)
        if identifier == DESIGNED_TO:
            names = obd.codes.OBD_COMPLIANCE
            assert theirs is None or theirs == names[int(scaling.decode(data))]
            continue
        assert str(theirs.units) == UNITS[scaling.unit]
        assert scaling.decode(data) / scaling.si == pytest.approx(theirs.magnitude, abs=1e-9)
        half_digit = 0.5 * 10**-scaling.decimals
        assert float(scaling.show(data)) == pytest.approx(theirs.magnitude, abs=half_digit + 1e-9)


@pytest.mark.parametrize("identifier", PARAMETERS.keys() - {0x10, DESIGNED_TO}, ids="{:02X}".format)
def test_every_byte_value_reads_as_scapy_reads_it(identifier):
    scaling = PARAMETERS[identifier].scaling
    packet = getattr(scapy_obd, f"OBD_PID{identifier:02X}")
    for data in patterns(scaling.length):
        theirs = packet(data).data  # rounded to three decimals
        assert scaling.decode(data) / scaling.si == pytest.approx(theirs, abs=5.001e-4)


@IDS
def test_every_byte_value_comes_back_from_its_own_value(identifier):
    scaling = PARAMETERS[identifier].scaling
    for data in patterns(scaling.length):
        assert scaling.encode(scaling.decode(data)) == data


@IDS
def test_two_neighbouring_values_show_different_digits(identifier):
    scaling = PARAMETERS[identifier].scaling
    shown = [scaling.show(number.to_bytes(scaling.length, "big")) for number in range(256)]
    assert len(set(shown)) == 256


@given(st.sampled_from(list(PARAMETERS)), st.floats(allow_nan=False))
def test_any_value_is_sent_as_the_nearest_that_can_be(identifier, value):
    scaling = PARAMETERS[identifier].scaling
    sent = scaling.decode(scaling.encode(value))
    within = min(max(value, scaling.least), scaling.largest)
    assert abs(sent - within) <= scaling.step * scaling.si / 2 * (1 + 1e-9)


@given(st.integers(-128, 127))
def test_signed_numbers_are_twos_complements(number):
    scaling = Scaling(1, signed=True)
    assert scaling.encode(number) == number.to_bytes(1, "big", signed=True)
    assert scaling.decode(scaling.encode(number)) == number
    assert (scaling.least, scaling.largest) == (-128, 127)


def test_a_wrong_number_of_bytes_and_no_number_are_refused():
    scaling = PARAMETERS[0x0C].scaling
    with pytest.raises(DiagnosisError, match="got 1 bytes, expected 2"):
        scaling.decode(b"\0")
    with pytest.raises(DiagnosisError, match="got nan, expected a number"):
        scaling.encode(math.nan)


def test_nothing_shows_without_a_minus():
    assert Scaling(1, 0.04, -0.04, decimals=1).show(b"\0") == "0.0"
