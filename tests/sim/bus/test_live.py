"""What a meter shows of a bus: ohms asleep, averages live.

60, 120 and 40 ohm: 120 ohm at each end of a pair (ISO 11898-2; TI TCAN332 SLLSEQ7), in parallel.
"""

from collections.abc import Callable

import pytest

from sim.bench import Bench
from sim.bus.message import dominant_share, frame_bits
from tests.sim.bus.conftest import two_wires

PINS = ("X9.6", "X9.14")


@pytest.mark.parametrize(
    ("fault", "drive", "body"),
    [
        ("", 60.0, 60.0),
        ("A1=terminator open", 120.0, 60.0),
        ("A6=terminator open", 60.0, 120.0),
        ("C1.1=open", 120.0, 60.0),  # the unit with the terminator is cut off
        ("wire 49=short to wire 50:0.5 ohm", 60.0, 0.5),
    ],
)
def test_ohms_of_a_sleeping_bus_are_those_of_that_pair(
    car: Callable, fault: str, drive: float, body: float
) -> None:
    asleep = car(fault).asleep()
    assert asleep.measure("ohms", *PINS) == pytest.approx(drive, abs=1.0)
    assert asleep.measure("ohms", "A4.CANH", "A4.CANL") == pytest.approx(body, abs=1.0)


def test_a_terminator_too_many_leaves_40_ohm(car: Callable) -> None:
    asleep = car()
    asleep.bench = Bench(two_wires().changed("A4", terminator="first pair"))
    asleep.asleep()
    assert asleep.measure("ohms", "A4.CANH", "A4.CANL") == pytest.approx(40.0, abs=1.0)


def test_ohms_of_a_live_bus_are_wrong(car: Callable) -> None:
    assert not 40.0 < car().measure("ohms", *PINS) < 80.0


def test_a_busy_pair_reads_its_average(car: Callable) -> None:
    """Mean by closed form: 2.5 V and 1 V for the share of time in which a bit is dominant."""
    live = car()
    units = [live.bench.circuit.parts[name] for name in ("A1", "A2", "A3")]
    share = 0.0
    for part in units:
        identifier = int(str(part.values["identifier"]), 16)
        seconds = frame_bits(identifier) / part.number("bit rate")
        share += dominant_share(identifier) * seconds / part.number("period")
    assert 0.05 < share < 0.3
    assert live.measure("volts", "X9.6", "X9.4") == pytest.approx(2.5 + share, abs=0.03)
    assert live.measure("volts", "X9.14", "X9.4") == pytest.approx(2.5 - share, abs=0.03)


def test_a_sleeping_bus_is_at_ground(car: Callable) -> None:
    asleep = car().asleep()
    assert abs(asleep.measure("volts", "X9.6", "X9.4")) < 0.1
    assert abs(asleep.measure("volts", "X9.14", "X9.4")) < 0.1


def test_the_key_wakes_the_bus(car: Callable) -> None:
    woken = car().asleep()
    woken.do({"set": {"key": "run"}})
    assert woken.measure("volts", "X9.6", "X9.4") > 2.5


@pytest.mark.parametrize(
    ("fault", "high", "low"),
    [
        ("A5=stuck dominant", 3.5, 1.5),
        ("wire 49=short to supply:0.5 ohm", 12.4, 12.4),
        ("wire 49=short to wire 50:0.5 ohm", 2.5, 2.5),
    ],
)
def test_volts_of_a_pair_that_is_down(car: Callable, fault: str, high: float, low: float) -> None:
    down = car(fault)
    assert down.measure("volts", "A4.CANH", "body") == pytest.approx(high, abs=0.2)
    assert down.measure("volts", "A4.CANL", "body") == pytest.approx(low, abs=0.2)


@pytest.mark.parametrize(
    ("fault", "shown"),
    [
        ("", "yes yes yes yes yes"),
        ("F3=open", "yes no no yes yes"),
        ("C5.3=open", "yes yes yes yes no"),
        ("A5=stuck dominant", "no no yes no no"),
    ],
)
def test_what_the_driver_sees_depends_on_who_is_heard(
    car: Callable, fault: str, shown: str
) -> None:
    driven = car(fault)
    effects = list(driven.bench.circuit.effects)[:5]
    assert " ".join(driven.words({"watch": effect}) for effect in effects) == shown
