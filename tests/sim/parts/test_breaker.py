"""Circuit breakers: what they carry, what opens them, what an open one lets through."""

from types import SimpleNamespace

import pytest

from sim.parts.breaker import COOLING, HEATER, cycle


def through(lab: SimpleNamespace, amps: float, *faults: tuple, reset: str = "automatic") -> object:
    """Drive a current through a 20 A breaker from 120 V, so that its own drop hardly counts."""
    breaker = lab.elements("circuit breaker", name="F1", rating=20.0, reset=reset, faults=faults)
    load = lab.resistor("load", "F1.2", "body", 120.0 / amps)
    return lab.solve(lab.source("e", "F1.1", "body", 120.0), *breaker, load)


@pytest.mark.parametrize(
    ("amps", "faults", "opens"),
    [
        (20.0, (), False),
        (26.0, (), False),
        (28.0, (), True),
        (60.0, (), True),
        (60.0, (("welded", None, None),), False),
        (15.0, (("opens early", None, 0.5),), True),
        (12.0, (("opens early", None, 0.5),), False),
    ],
)
def test_it_carries_its_rating_and_opens_above_135_percent(
    lab: SimpleNamespace, amps: float, faults: tuple, *, opens: bool
) -> None:
    """SAE J553 (from memory): 135 % of the rating trips it."""
    assert through(lab, amps, *faults).blown["F1"] is opens


def test_drop_at_rated_current(lab: SimpleNamespace) -> None:
    assert through(lab, 20.0).drop["F1"] == pytest.approx(0.1, rel=0.01)


def test_an_open_one_of_the_held_kind_still_shows_voltage_behind_it(lab: SimpleNamespace) -> None:
    """Its heater: 150 ohm in series with a load of 2 ohm, by Ohm's law."""
    held = through(lab, 60.0, reset="held open")
    assert held.current["load"] == pytest.approx(120.0 / (HEATER + 2.0), rel=1e-3)
    assert through(lab, 60.0).current["load"] == pytest.approx(0.0, abs=1e-9)


def test_an_automatic_one_opens_sooner_the_larger_the_current() -> None:
    closed, opened = cycle(20.0, 40.0)
    assert 0.0 < cycle(20.0, 80.0)[0] < closed < 60.0
    assert opened == COOLING
