"""The thermometer shows ambient, and what a part's own power adds to it in time."""

import math

import pytest

from sim.instruments.thermometer import CONTACT_RISE, TAU, show_temperature
from tests.sim.van import OFF, ON, Hands


def degrees(hands: Hands, part: str) -> float:
    return float(hands.do(temperature=part).value)


def test_what_carries_nothing_is_at_the_ambient_temperature():
    hands = Hands()
    for part in ("C41", "E9", "K3", "F7", "X7"):
        assert degrees(hands, part) == hands.bench.circuit.temperature


def test_a_bad_joint_is_hot_and_a_good_one_is_not():
    bad, good = Hands("C41.1=high resistance:0.4 ohm"), Hands()
    for hands in (bad, good):
        hands.do(set=ON)
        hands.do(wait="5 min")
    assert degrees(bad, "C41") > 100.0
    assert degrees(good, "C41") < 40.0


def test_the_joint_that_a_hand_calls_hot_is_at_sixty_degrees():
    """2.5 W in a joint: 13 A through 14.8 mohm, 3 of them its own."""
    hands = Hands("C41.1=high resistance:11.8 mohm")
    hands.do(set=ON)
    hands.do(wait="10 min")
    assert degrees(hands, "C41") == pytest.approx(20.0 + CONTACT_RISE, abs=3.0)


def test_heat_comes_and_goes_with_one_time_constant():
    hands = Hands()
    hands.do(look="rear of van")
    hands.do(set=ON)
    first = degrees(hands, "E9") - 20.0
    seconds = hands.bench.situation.rested
    hands.do(wait="10 min")
    settled = degrees(hands, "E9") - 20.0
    assert first / settled == pytest.approx(1 - math.exp(-seconds / TAU), abs=0.01)
    hands.do(set=OFF)
    assert degrees(hands, "E9") == 20.0


def test_outside_its_range_it_shows_no_number():
    assert show_temperature(-41.0).value == "OL"
    assert show_temperature(500.0).value == "OL"
    assert show_temperature(-0.04).value == "0.0"
    assert show_temperature(499.94).value == "499.9"
