"""A line of data by its name: found once, read again by its request alone, and what if that fails.

Parameters and their bytes: SAE J1979 (05 coolant temperature, A - 40 degC; 42 supply voltage, mV).
The sample engine's sensor is open, which reads -40 degC.
"""

from collections.abc import Iterator

import pytest

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.sample import brakes_unit, engine_unit, sample_units, silent
from sim.instruments.dialogue import SilentError, again, find

COOLANT, SPEED = bytes.fromhex("0105"), bytes.fromhex("010D")
USED, SUPPLY = bytes.fromhex("222001"), bytes.fromhex("222101")
NOBODY_HAS = bytes.fromhex("22FFFF")


@pytest.fixture
def bus() -> Iterator[DiagnosticBus]:
    with DiagnosticBus(sample_units()) as found:
        yield found


@pytest.mark.parametrize(
    ("unit", "what", "line", "request_"),
    [
        ("engine control", "coolant temperature", "-40 °C", COOLANT),
        ("engine control", "coolant temperature, used", "80 °C", USED),  # the maker's own
        ("body", "supply voltage", "14.050 V", SUPPLY),  # it refuses service 01
        ("engine control", "cooling", "no cooling", b""),  # a name is whole
        ("body", "moonlight", "no moonlight", b""),
    ],
)
def test_a_line_is_found_in_live_data_or_else_in_the_makers_own(
    bus: DiagnosticBus, unit: str, what: str, line: str, request_: bytes
) -> None:
    assert find(bus, unit, what) == (line, request_)


@pytest.mark.parametrize(
    ("unit", "what", "request_"),
    [
        ("engine control", "coolant temperature", COOLANT),
        ("engine control", "coolant temperature, used", USED),
        ("body", "supply voltage", SUPPLY),
    ],
)
def test_a_line_that_was_found_costs_one_request(
    bus: DiagnosticBus, unit: str, what: str, request_: bytes
) -> None:
    found = find(bus, unit, what)
    before = len(bus.frames)
    assert again(bus, unit, what, request_) == found
    length = bytes((len(request_),))  # ISO 15765-2, single frame: its length, then the request
    sent, *answers = bus.frames[before:]
    assert sent.data.startswith(length + request_)
    assert len(answers) == 1


@pytest.mark.parametrize(
    "request_",
    [
        pytest.param(NOBODY_HAS, id="refused"),
        pytest.param(SPEED, id="of another line of live data"),
        pytest.param(USED, id="of another line of the maker's own"),
    ],
)
def test_where_the_request_does_not_get_it_the_line_is_looked_for_anew(
    bus: DiagnosticBus, request_: bytes
) -> None:
    found = again(bus, "engine control", "coolant temperature", request_)
    assert found == ("-40 °C", COOLANT)
    assert again(bus, "engine control", "moonlight", request_) == ("no moonlight", b"")


def test_of_a_silent_unit_no_line_is_made_up() -> None:
    with DiagnosticBus((silent(engine_unit()), brakes_unit())) as bus:
        with pytest.raises(SilentError):
            find(bus, "engine control", "coolant temperature")
        with pytest.raises(SilentError):
            again(bus, "engine control", "coolant temperature", COOLANT)
