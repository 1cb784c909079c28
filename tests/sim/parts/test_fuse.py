"""Blade fuses: cold resistance by rating, and when the strip opens."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.fuse import hot_resistance, strip_resistance
from sim.parts.fuse_curve import SIZES, link_current
from sim.parts.values import check_values

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


# Other sizes


@pytest.mark.parametrize(("rating", "milliohms"), [(7.5, 10.85), (15.0, 4.58)])
def test_cold_resistance_of_the_mini_size(rating: float, milliohms: float) -> None:
    """MINI 297 data sheet."""
    assert strip_resistance(rating, "mini") == pytest.approx(milliohms * 1e-3, rel=1e-6)


def test_millivolt_drop_method_of_the_mini_size() -> None:
    """15 A: 0.1 mV is 22 mA, 1.0 mV is 218 mA (trade bulletin, MACS Service Reports, June 2017)."""
    assert 0.1e-3 / strip_resistance(15.0, "mini") == pytest.approx(22e-3, rel=0.01)
    assert 1.0e-3 / strip_resistance(15.0, "mini") == pytest.approx(218e-3, rel=0.003)


@pytest.mark.parametrize(("rating", "milliohms"), [(30.0, 1.9), (35.0, 1.7), (40.0, 1.4)])
def test_cold_resistance_of_the_maxi_size(rating: float, milliohms: float) -> None:
    """MAXI 299 data sheet, p. 2."""
    assert strip_resistance(rating, "maxi") == pytest.approx(milliohms * 1e-3, rel=1e-6)


@pytest.mark.parametrize("size", SIZES)
def test_resistance_falls_with_rating_in_every_size(size: str) -> None:
    ohms = [strip_resistance(rating, size) for rating in (3, 7.5, 10, 20, 30, 33, 40, 60, 80)]
    assert ohms == sorted(ohms, reverse=True)
    assert len(set(ohms)) == len(ohms)


@pytest.mark.parametrize(("size", "millivolts"), [("standard", 96.0), ("maxi", 75.0)])
def test_drop_of_a_hot_fuse(size: str, millivolts: float) -> None:
    """40 A at 40 A: 96 mV (ATOF 287 data sheet, 6 mm2), 75 mV (MAXI 299 data sheet, 4 mm2)."""
    assert 40.0 * hot_resistance(40.0, 40.0, size) == pytest.approx(millivolts * 1e-3, rel=1e-6)


def test_a_fuse_at_rated_current_is_two_thirds_above_its_cold_resistance() -> None:
    """40 A ATOF: 96 mV over 57.6 mV, 1.67."""
    assert hot_resistance(40.0, 40.0) / strip_resistance(40.0) == pytest.approx(1.67, abs=0.005)
    assert hot_resistance(40.0, 0.0) == strip_resistance(40.0)


def test_a_fuse_of_the_wrong_rating_protects_another_current(lab: SimpleNamespace) -> None:
    def blown(fault: tuple, share: float) -> bool:
        fuse = lab.elements("blade fuse", name="F1", rating=10.0, faults=(fault,))
        load = lab.resistor("load", "F1.2", "body", 120.0 / (10.0 * share))
        return lab.solve(lab.source("e", "F1.1", "body", 120.0), *fuse, load).blown["F1"]

    assert blown(("wrong rating", None, 5.0), 0.8)
    assert not blown(("wrong rating", None, 20.0), 2.5)


def test_a_link_by_its_cross_section_opens_where_the_copper_melts(lab: SimpleNamespace) -> None:
    """Preece (1884): 80 A for 1 mm of diameter."""
    area = 0.785398e-6
    assert link_current(area) == pytest.approx(80.0, rel=1e-4)
    for share, opens in ((0.98, False), (1.02, True)):
        link = lab.elements("fusible link", name="F1", area=area)
        load = lab.resistor("load", "F1.2", "body", 120.0 / (80.0 * share))
        answer = lab.solve(lab.source("e", "F1.1", "body", 120.0), *link, load)
        assert answer.blown["F1"] is opens


def test_a_link_without_rating_and_area_is_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="needs a rating or an area"):
        check_values(lab.part("fusible link"))


# Millivolts across a standard blade fuse for each 100 mA through it: from the cold resistances
# above, as tables of the millivolt method print them.
PER_100_MA = {
    5: 1.79, 7.5: 1.09, 10: 0.770, 15: 0.480, 20: 0.338, 25: 0.252, 30: 0.197, 40: 0.144,
}  # fmt: skip


@pytest.mark.parametrize(("rating", "millivolts"), PER_100_MA.items())
def test_millivolts_that_a_tenth_of_an_ampere_makes(
    lab: SimpleNamespace, rating: float, millivolts: float
) -> None:
    """Solved, between the tops of the fuse: the joints of its holder are not in it."""
    answer = through(lab, rating, 0.1 / rating)
    across = answer.volts["F1.1b"] - answer.volts["F1.2b"]
    assert across == pytest.approx(millivolts * 1e-3, rel=4e-3)
    assert across == pytest.approx(answer.drop["F1"], abs=1e-12)


def test_a_blade_fuse_ends_at_100_amperes(lab: SimpleNamespace) -> None:
    """ISO 8820-3:2015, scope: rated up to 100 A."""
    check_values(lab.part("blade fuse", rating=100.0))
    with pytest.raises(QuantityError, match="F1: got a blade fuse of 125 A, at most 100 A") as said:
        check_values(lab.part("blade fuse", name="F1", rating=125.0))
    assert "\n" not in str(said.value)
