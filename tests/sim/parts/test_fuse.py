"""Blade fuses: cold resistance by rating, and when the strip opens."""

from types import SimpleNamespace

import pytest

from sim.parts.fuse import strip_resistance

# Typical cold resistance of a maker's standard blade fuses, mohm (ATOF 287 data sheet).
COLD = {3: 31.1, 5: 17.85, 7.5: 10.91, 10: 7.70, 15: 4.80, 20: 3.38, 25: 2.52, 30: 1.97, 40: 1.44}


@pytest.mark.parametrize(("rating", "milliohms"), COLD.items())
def test_cold_resistance(rating: float, milliohms: float) -> None:
    assert strip_resistance(rating) == pytest.approx(milliohms * 1e-3, rel=1e-6)


def test_resistance_falls_with_rating() -> None:
    ohms = [strip_resistance(rating) for rating in (3, 4, 5, 6, 7.5, 10, 20, 30, 40, 60, 100)]
    assert ohms == sorted(ohms, reverse=True)


def test_millivolt_drop_method() -> None:
    """15 A: 0.1 mV is 22 mA, 1.0 mV is 218 mA (trade bulletin, MACS Service Reports, June 2017).

    That is for the smaller pattern, of 4.58 mohm; ours is within the spread of "typical", 20 %.
    """
    assert 0.1e-3 / strip_resistance(15.0) == pytest.approx(22e-3, rel=0.2)
    assert 1.0e-3 / strip_resistance(15.0) == pytest.approx(218e-3, rel=0.2)


def through(lab: SimpleNamespace, rating: float, share: float, kind: str = "blade fuse") -> object:
    """Drive a share of its rating through a fuse, from 120 V so that its own drop hardly counts."""
    fuse = lab.elements(kind, name="F1", rating=rating)
    load = lab.resistor("load", "F1.2", "body", 120.0 / (rating * share))
    return lab.solve(lab.source("e", "F1.1", "body", 120.0), *fuse, load)


@pytest.mark.parametrize("rating", [5.0, 7.5, 15.0, 30.0])
@pytest.mark.parametrize(
    ("share", "blows"), [(1.0, False), (1.3, False), (1.4, True), (2.0, True), (6.0, True)]
)
def test_a_fuse_holds_its_rating_and_opens_above_135_percent(
    lab: SimpleNamespace, rating: float, share: float, *, blows: bool
) -> None:
    """ISO 8820-3 type C: 100 h at 100 %, 0.75 s to 600 s at 135 %, sooner above."""
    answer = through(lab, rating, share)
    assert answer.blown["F1"] is blows
    assert (answer.current["load"] == pytest.approx(0.0, abs=1e-9)) is blows


def test_a_fusible_link_follows_the_same_rule(lab: SimpleNamespace) -> None:
    assert through(lab, 100.0, 1.4, "fusible link").blown["F1"]
    assert not through(lab, 100.0, 1.3, "fusible link").blown["F1"]


def test_across_a_blown_fuse_stands_the_whole_supply(lab: SimpleNamespace) -> None:
    answer = through(lab, 10.0, 2.0)
    assert answer.drop["F1"] == pytest.approx(120.0, rel=1e-9)


def test_of_two_fuses_in_series_the_smaller_blows(lab: SimpleNamespace) -> None:
    big = lab.elements("blade fuse", name="F1", rating=30.0)
    small = lab.elements("blade fuse", name="F2", rating=10.0)
    strap, short = (
        lab.resistor("strap", "F1.2", "F2.1", 1e-3),
        lab.resistor("r", "F2.2", "body", 0.1),
    )
    answer = lab.solve(lab.source("e", "F1.1", "body", 12.0), *big, strap, *small, short)
    assert (answer.blown["F1"], answer.blown["F2"]) == (False, True)


def test_a_fuse_does_not_mind_the_direction(lab: SimpleNamespace) -> None:
    fuse = lab.elements("blade fuse", name="F1", rating=10.0)
    answer = lab.solve(
        lab.source("e", "F1.1", "body", -12.0), *fuse, lab.resistor("r", "F1.2", "body", 0.5)
    )
    assert answer.blown["F1"]
