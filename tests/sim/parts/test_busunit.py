"""Control unit on a CAN pair: supply, sleep, its pins unpowered. Levels: tests/sim/bus.

What does not load the bus: data sheets of transceivers, "ideal passive when unpowered" (from
memory). 100 mA into a short: ISO 11898-2 allows 115 mA at most (from memory).
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.parts.family import Trigger


def standing(elements: tuple, *, dominant: bool = False, asleep: bool = False) -> tuple:
    """Give the elements with a dominant bit sent, or fallen asleep."""
    on = {Trigger.DOMINANT: dominant, Trigger.ASLEEP: asleep}
    return tuple(
        replace(one, conductance=one.other) if on.get(one.trigger) else one for one in elements
    )


def unit(lab: SimpleNamespace, volts: float, *more: object, **stands: bool) -> SimpleNamespace:
    answer = lab.solve(
        lab.source("battery", "P1.30", "body", volts, 0.01),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        lab.resistor("pair", "P1.CANH", "P1.CANL", 60.0),
        *standing(lab.elements("bus unit"), **stands),
        *more,
    )
    assert answer.status == 0
    assert max(answer.residuals()) < 1e-9
    return answer


@pytest.mark.parametrize("volts", [8.0, 12.0, 16.0])
def test_levels_do_not_follow_the_battery(lab: SimpleNamespace, volts: float) -> None:
    sends = unit(lab, volts, dominant=True).volts
    assert (sends["P1.CANH"], sends["P1.CANL"]) == pytest.approx((3.5, 1.5), abs=0.1)
    rests = unit(lab, volts).volts
    assert (rests["P1.CANH"], rests["P1.CANL"]) == pytest.approx((2.5, 2.5), abs=0.05)


def test_it_lets_go_below_the_volts_it_works_from(lab: SimpleNamespace) -> None:
    """6 V: ISO 16750-2 code A."""
    held = unit(lab, 5.0, lab.resistor("probe", "P1.CANH", "body", 10e6)).volts
    assert abs(held["P1.CANH"]) < 1e-3
    assert abs(unit(lab, 5.0, dominant=True).volts["P1.CANH"]) < 1e-3


# Volts at terminal 30 that ISO 16750-2 has a unit meet, and whether one of code A sends by them.
SUPPLIES = [
    (6.1, True),  # code A, 6 V to 16 V, works throughout: its least, and the drop of its joint
    (16.0, True),
    (8.0, True),  # starting profile, level I: 8 V for 15 ms
    (9.5, True),  # its least while the engine turns, 10.5 V with 2 V of ripple
    (18.0, True),  # slow overvoltage, 400 ms
    (26.0, True),  # jump start from 24 V, 60 s
    (3.0, False),
    (0.0, False),
]


@pytest.mark.parametrize(("volts", "sends"), SUPPLIES)
def test_it_sends_by_what_standard_supplies_it_meets(
    lab: SimpleNamespace, volts: float, *, sends: bool
) -> None:
    """ISO 16750-2:2012, 4.2, 4.3 and 4.6.3; a receiver reads dominant from 0.9 V (TCAN1469-Q1)."""
    pins = unit(lab, volts, dominant=True).volts
    across = pins["P1.CANH"] - pins["P1.CANL"]
    assert 1.5 <= across <= 3.0 if sends else abs(across) < 0.5


def test_asleep_it_holds_the_lines_at_ground_and_takes_next_to_nothing(
    lab: SimpleNamespace,
) -> None:
    asleep = unit(lab, 12.0, lab.source("other", "P1.CANH", "body", 2.5, 100e3), asleep=True)
    assert 0.1 < asleep.volts["P1.CANH"] < 1.0  # 12.5 kohm or so to ground
    assert -asleep.current["battery"] == pytest.approx(0.002, abs=2e-4)


def test_awake_it_takes_its_current_and_what_its_regulator_does(lab: SimpleNamespace) -> None:
    assert -unit(lab, 12.0).current["battery"] == pytest.approx(0.3 + 0.1, abs=0.01)


@pytest.mark.parametrize("volts", [-5.0, 2.5, 12.0])
def test_without_supply_nothing_flows_through_its_lines(lab: SimpleNamespace, volts: float) -> None:
    answer = lab.solve(
        lab.source("line", "P1.CANH", "body", volts, 1.0),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        lab.resistor("dead feed", "P1.30", "body", 100.0),
        *standing(lab.elements("bus unit"), dominant=True),
    )
    assert abs(answer.current["line"]) < 1e-8


def test_a_short_takes_no_more_than_the_regulator_gives(lab: SimpleNamespace) -> None:
    grounded = lab.resistor("short", "P1.CANH", "body", 0.1)
    shorted = unit(lab, 14.0, grounded, dominant=True)
    assert 0.05 < shorted.current["short"] < 0.115


@pytest.mark.parametrize(
    ("terminator", "pair", "ohms"),
    [
        ("none", "CAN{}", math.inf),
        ("first pair", "CAN{}", 120.0),
        ("second pair", "CAN{}", math.inf),
        ("second pair", "CAN{}2", 120.0),
        ("both pairs", "CAN{}2", 120.0),
    ],
)
def test_terminators_of_a_gateway(
    lab: SimpleNamespace, terminator: str, pair: str, ohms: float
) -> None:
    high, low = (f"P1.{pair.format(line)}" for line in "HL")
    answer = lab.solve(
        lab.source("ohmmeter", high, "body", 0.2),
        lab.resistor("low", low, "body", 1e-4),
        *lab.elements("bus unit", type="gateway", terminator=terminator),
    )
    assert -answer.current["ohmmeter"] / 0.2 == pytest.approx(1 / ohms, rel=0.01, abs=1e-8)


def test_crossed_lines_come_out_at_each_others_terminals(lab: SimpleNamespace) -> None:
    crossed = lab.elements("bus unit", faults=(("lines crossed", None, None),))
    answer = lab.solve(
        lab.source("battery", "P1.30", "body", 12.0, 0.01),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        lab.resistor("pair", "P1.CANH", "P1.CANL", 60.0),
        *standing(crossed, dominant=True),
    )
    assert answer.volts["P1.CANL"] - answer.volts["P1.CANH"] == pytest.approx(2.0, abs=0.1)


def test_a_socket_is_empty_until_a_scan_tool_is_plugged_in(lab: SimpleNamespace) -> None:
    for plugged, amps in ((False, 0.0), (True, 0.1)):
        elements = tuple(
            replace(e, conductance=e.other) if plugged and e.trigger is Trigger.TESTER else e
            for e in lab.elements("diagnostic socket")
        )
        answer = lab.solve(
            lab.source("battery", "P1.16", "body", 12.0, 0.01),
            lab.resistor("ground", "P1.4", "body", 1e-4),
            lab.resistor("high", "P1.6", "body", 1e5),
            lab.resistor("low", "P1.14", "body", 1e5),
            *elements,
        )
        assert -answer.current["battery"] == pytest.approx(amps, abs=0.01)
