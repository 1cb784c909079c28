"""What cases say of a person: log regret, the interval of few cases, when a grade holds."""

import math

import numpy as np
import pytest

from grader.skill import ENOUGH, FLOOR, LUCK, Standing, kept, log_regret, spread
from sim.language import speaking


def test_a_path_that_gives_nothing_away_keeps_all_of_it():
    assert log_regret(0.0, 3.0) == pytest.approx(-math.log(FLOOR))
    assert kept(log_regret(0.0, 3.0)) == 1.0
    assert kept(log_regret(0.75, 3.0)) == 1.0  # a quarter of V is tolerated
    assert kept(log_regret(3.75, 3.0)) == pytest.approx(0.5)  # V beyond that


def test_one_case_says_little_and_ten_say_more():
    one, ten = Standing.of([(0.0, 3.0)]), Standing.of([(0.0, 3.0)] * ENOUGH)
    assert (one.share, one.high) == (1.0, 1.0)
    assert 0.5 < one.low < 0.8
    assert ten.low > one.low
    assert not one.is_enough
    assert ten.is_enough
    assert one.words().startswith("One case says little")
    assert "asks for 10 cases" in one.words()
    assert ten.words() == f"10 cases: keeps 100 % of the efficiency ({100 * ten.low:.0f} to 100 %)"
    few = Standing.of([(0.0, 3.0), (6.0, 3.0)])
    assert few.words().endswith("; no grade yet, it asks for 10")


def test_the_spread_is_that_of_everybody_for_one_case_and_the_persons_own_for_many():
    chance = np.random.default_rng(0)
    assert spread([1.0]) == pytest.approx(LUCK)
    assert spread(chance.normal(0.0, 0.3, 4000).tolist()) == pytest.approx(0.3, rel=0.05)


def test_the_interval_holds_a_persons_mean_four_times_in_five():
    """Normal log regrets; the bounds are turned back into log regrets where they can be."""
    chance = np.random.default_rng(1)
    for count in (1, 3, 10):
        inside = []
        for _time in range(800):
            mean = chance.uniform(-2.0, -1.0)  # where nothing is cut off at 0 or 100 %
            found = chance.normal(mean, LUCK, count)
            cases = [((math.exp(-x) - FLOOR) * 3.0, 3.0) for x in found.tolist()]
            standing = Standing.of([(max(given, -0.7), value) for given, value in cases])
            inside.append(standing.low <= kept(mean) <= standing.high)
        assert np.mean(inside) == pytest.approx(0.8, abs=0.05)


def test_it_is_said_in_german():
    with speaking("de"):
        assert Standing.of([(0.0, 3.0)]).words().startswith("Ein Fall sagt wenig")
