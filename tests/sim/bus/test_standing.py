"""Who is heard follows from the circuit; what faults of a pair do is common practice, no source."""

from collections.abc import Callable

import pytest

from sim.bus.counters import DOMINANT, RECESSIVE

ALL = {"A1", "A2", "A3", "A4", "A5", "A6"}
DRIVE, BODY = {"A1", "A2", "A3"}, {"A3", "A4", "A5", "A6"}


def hearers(standing, lane: int = 0) -> dict[str, set[str]]:
    return {unit: set(standing.hearers(lane, unit)) for unit in sorted(ALL)}


def test_on_a_sound_vehicle_everybody_hears_everybody_through_the_gateway(stands: Callable) -> None:
    _levels, standing = stands("")
    assert hearers(standing) == {unit: ALL - {unit} for unit in ALL}


@pytest.mark.parametrize(
    ("fault", "left"),
    [
        ("C1.1=open", ALL - {"A1"}),  # one line of a stub
        ("C5.3=open", ALL - {"A5"}),
        ("C5.4=open", ALL - {"A5"}),
        ("F3=open", ALL - {"A2"}),  # no supply
        ("A5.31=open", ALL - {"A5"}),  # no ground
        ("A2=never dominant", ALL - {"A2"}),
        ("A1=terminator open", ALL),
        ("A6=terminator open", ALL),
        ("wire 35=short to ground:0.1 ohm", BODY),  # H to ground: that pair is down
        ("wire 36=short to ground:0.1 ohm", ALL),  # L to ground: it goes on, one-sided
        ("wire 49=short to wire 50:0.5 ohm", DRIVE),
        ("A2=H and L shorted", BODY),
        ("A5=stuck dominant", DRIVE),
        ("A3=dead", ALL - {"A3"}),
    ],
)
def test_who_still_talks_to_each_other(stands: Callable, fault: str, left: set[str]) -> None:
    _levels, standing = stands(fault)
    for unit in left:
        near = left & (DRIVE if fault == "A3=dead" and unit in DRIVE else left)
        near = left & BODY if fault == "A3=dead" and unit in BODY else near
        assert near - {unit} <= set(standing.hearers(0, unit)), unit
    for unit in ALL - left:
        assert not standing.hearers(0, unit) & left, unit


def test_a_silent_transmitter_goes_off_the_bus_and_hears_nothing_either(stands: Callable) -> None:
    _levels, standing = stands("A2=never dominant")
    number = [port.unit for port in standing.ports].index("A2")
    assert standing.counted[0].off[number]
    assert not standing.heard(0, "A1", "A2")
    assert not standing.reaches(0, "A1", "A2")


def test_crossed_lines_take_that_unit_off_and_no_other(stands: Callable) -> None:
    """Its bits read the wrong way round at all others, and theirs at its own pins."""
    levels, standing = stands("A5=lines crossed")
    names = [port.unit for port in standing.ports]
    door, rear = names.index("A5"), names.index("A6")
    assert levels.read(levels.bits[door])[0, door] == DOMINANT
    assert levels.read(levels.bits[door])[0, rear] == RECESSIVE
    assert levels.read(levels.bits[rear])[0, door] == RECESSIVE
    assert set(standing.hearers(0, "A6")) == ALL - {"A5", "A6"}
    assert not standing.hearers(0, "A5")


def test_lanes_stand_for_themselves(stands: Callable) -> None:
    _levels, standing = stands("", "A5=stuck dominant", "")
    assert hearers(standing, 0) == hearers(standing, 2)
    assert hearers(standing, 1) != hearers(standing, 0)


def test_a_sleeping_or_unfed_unit_takes_no_part(stands: Callable) -> None:
    _levels, standing = stands("", key="off")
    assert [unit for unit in sorted(ALL) if standing.awake(0, unit)] == ["A3", "A4", "A6"]
    assert set(standing.hearers(0, "A4")) == {"A3", "A6"}
