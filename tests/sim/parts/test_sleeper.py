"""Sleeping unit. Run-down times by arithmetic: 60 Ah to one half in 62.5 days at 20 mA."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES
from sim.parts.family import Trigger
from sim.quantity import parse


def draw(lab: SimpleNamespace, *faults: tuple, sleeping: bool, **values: object) -> float:
    elements = [
        replace(e, conductance=e.other) if sleeping and e.trigger is Trigger.ASLEEP else e
        for e in lab.elements("sleeping unit", faults=faults, **values)
    ]
    answer = lab.solve(
        lab.source("supply", "P1.30", "body", 12.0),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        *elements,
    )
    return answer.current["P1.30"]


def test_awake_and_asleep_current(lab: SimpleNamespace) -> None:
    rated = {"awake": 0.5, "asleep": 0.020}
    assert draw(lab, sleeping=False, **rated) == pytest.approx(0.5, rel=1e-3)
    assert draw(lab, sleeping=True, **rated) == pytest.approx(0.020, rel=1e-3)
    days = parse("60 Ah", "charge") / 2 / draw(lab, sleeping=True, **rated) / 86400
    assert days == pytest.approx(62.5, rel=1e-3)


@pytest.mark.parametrize(
    ("fault", "awake", "asleep"),
    [
        (("never falls asleep", None, None), 0.4, 0.4),
        (("high asleep current", None, 0.05), 0.4, 0.05),
        (("dead", None, None), 0.0, 0.0),
        (("open", "31", None), 0.0, 0.0),
    ],
)
def test_its_faults(lab: SimpleNamespace, fault: tuple, awake: float, asleep: float) -> None:
    assert draw(lab, fault, sleeping=False) == pytest.approx(awake, rel=1e-3, abs=1e-9)
    assert draw(lab, fault, sleeping=True) == pytest.approx(asleep, rel=1e-3, abs=1e-9)


def test_never_falling_asleep_is_a_suspect_of_its_own(lab: SimpleNamespace) -> None:
    ways = {way.name: way for way in FAMILIES["sleeping unit"].ways(lab.part("sleeping unit"))}
    assert ways["never falls asleep"].likelihood > 0
    lowest, highest = 0.003, 0.4
    assert lowest < ways["high asleep current"].severities[0] < highest


def test_a_wake_pin_only_where_it_has_one(lab: SimpleNamespace) -> None:
    family = FAMILIES["sleeping unit"]
    assert family.pins(lab.part("sleeping unit")) == ("30", "31")
    part = lab.part("sleeping unit", wake_pin=True)
    assert family.pins(part) == ("30", "31", "wake")
    assert {e.name for e in family.elements(part, 20.0)} >= {"P1.wake", "P1 wake"}
