"""Motors and limiters: worked examples, closed forms, and the step that cannot swing for ever."""

import math
from types import SimpleNamespace

import pytest

from sim.parts.family import Element, Law
from sim.solver.laws import limiter_current, motor_current


def motor(ohms: float, start: float, b: float, q: float = 0.0) -> Element:
    return Element("motor", "a", "body", 1 / ohms, law=Law.MOTOR, shape=(start, b, q))


def test_back_emf_worked_example() -> None:
    """OpenStax College Physics 2e, back EMF: 48.0 V, 0.400 ohm; 120 A at start, 20 A at 40 V."""
    viscous = 20.0 / 40.0
    amps, slope = motor_current(48.0, 1 / 0.4, 0.0, viscous, 0.0)
    assert amps == pytest.approx(20.0)
    assert slope == pytest.approx(viscous / (1 + 0.4 * viscous))
    stalled, _slope = motor_current(48.0, 1 / 0.4, 1e6, viscous, 0.0)
    assert stalled == pytest.approx(120.0)


@pytest.mark.parametrize("volts", [-14.0, -0.3, 0.0, 0.5, 3.0, 12.0, 15.0])
def test_a_motor_carries_its_load_whichever_way_it_turns(volts: float) -> None:
    ohms, start, b, q = 0.5, 1.2, 0.05, 0.09
    amps, _slope = motor_current(volts, 1 / ohms, start, b, q)
    back = abs(volts) - ohms * abs(amps)
    if abs(amps) <= start:
        assert back == pytest.approx(0.0, abs=1e-12)
    else:
        assert abs(amps) == pytest.approx(start + b * back + q * back**2)
    assert math.copysign(1.0, amps) == math.copysign(1.0, volts)


@pytest.mark.parametrize("law", ["motor", "limiter"])
def test_slope_is_the_derivative(law: str) -> None:
    for volts in (-13.0, -2.0, -0.2, 0.2, 2.0, 13.0):
        if law == "motor":
            low, high = (motor_current(volts + d, 2.0, 1.0, 0.1, 0.02) for d in (-1e-6, 1e-6))
            slope = motor_current(volts, 2.0, 1.0, 0.1, 0.02)[1]
        else:
            low, high = (limiter_current(volts + d, 2.0, 3.0, 5.0, 1e-3) for d in (-1e-6, 1e-6))
            slope = limiter_current(volts, 2.0, 3.0, 5.0, 1e-3)[1]
        assert (high[0] - low[0]) / 2e-6 == pytest.approx(slope, rel=1e-6)


def test_a_limiter_in_a_circuit_gives_what_it_may_and_no_more(lab: SimpleNamespace) -> None:
    """Closed form: 14 V behind 10 mohm, at most 50 A, into 0.4 ohm and into 0.2 ohm."""
    for ohms, volts in (
        (0.4, 14.0 * 100.01 / (100.01 + 2.5)),
        (0.2, (50.0 + 0.01 * 14.0) / (5.0 + 0.01)),
    ):
        element = Element(
            "source", "a", "body", 100.0, 14.0, law=Law.LIMITER, shape=(50.0, 0.0, 0.01)
        )
        answer = lab.solve(element, lab.resistor("load", "a", "body", ohms))
        assert answer.status == 0
        assert answer.volts["a"] == pytest.approx(volts, rel=1e-9)


@pytest.mark.parametrize("feed", [0.01, 1.0, 30.0, 1e4])
def test_a_motor_settles_behind_any_feed(lab: SimpleNamespace, feed: float) -> None:
    answer = lab.solve(
        lab.source("battery", "plus", "body", 12.6, 0.01),
        lab.resistor("feed", "plus", "a", feed),
        motor(0.3, 2.0, 0.01, 0.08),
    )
    assert answer.status == 0
    kirchhoff, law = answer.residuals()
    assert kirchhoff < 1e-9
    assert law < 1e-9


def test_a_zener_is_two_diodes_of_which_one_has_an_emf(lab: SimpleNamespace) -> None:
    """The reverse diode conducts only beyond its own voltage."""
    shape = (1e-9, 0.0437, 0.0)
    answer = lab.solve(
        lab.source("battery", "plus", "body", 12.0),
        lab.resistor("feed", "plus", "a", 1000.0),
        Element("forward", "body", "a", 1.0, law=Law.DIODE, shape=shape),
        Element("reverse", "a", "body", 1.0, 4.5, law=Law.DIODE, shape=shape),
    )
    assert answer.status == 0
    through = (12.0 - answer.volts["a"]) / 1000.0
    assert answer.volts["a"] == pytest.approx(4.5 + 0.0437 * math.log1p(through / 1e-9), abs=1e-6)
