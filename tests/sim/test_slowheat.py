"""Joints and loads warm up and cool down by the clock, in one go as in many."""

import math

import numpy as np
import pytest

from sim.effects import NOTHING
from sim.parts.heat import LOSS, TIME_CONSTANT
from tests.sim.van import OFF, ON, Hands

BAD = "C41.1=high resistance:0.4 ohm"


def rise(hands: Hands, name: str) -> float:
    bench = hands.bench
    return float(bench.fleet.slow.warmth.joint(bench.memory, name)[0])


def test_minutes_in_one_go_and_in_many_make_the_same_heat():
    """The exponential is solved in closed form: steps do not matter while nothing changes.

    The battery runs down meanwhile, by less than 1 in 200.
    """
    once, many = Hands(BAD), Hands(BAD)
    for hands in (once, many):
        hands.do(set=ON)
    once.do(wait="5 min")
    for _ in range(30):
        many.do(wait="10 s")
    assert many.bench.memory.risen == pytest.approx(once.bench.memory.risen, rel=5e-3, abs=1e-6)
    assert many.bench.memory.hottest == pytest.approx(once.bench.memory.hottest, rel=5e-3, abs=1e-6)


def test_a_joint_rises_by_what_the_power_in_it_asks_for_and_cools_by_the_clock():
    hands = Hands(BAD)
    hands.do(set=ON)
    amps = abs(float(hands.do(clamp="wire 8").value))
    hands.do(wait="30 min")
    hot = rise(hands, "C41")
    watts = amps**2 * (0.4 + 0.003)
    assert hot == pytest.approx((watts / LOSS) ** 0.8, rel=0.03)
    hands.do(set=OFF)
    hands.do(wait="2 min")
    assert rise(hands, "C41") == pytest.approx(hot * math.exp(-120.0 / TIME_CONSTANT), rel=1e-3)


def test_what_has_browned_stays_so_and_what_has_not_been_hot_has_not():
    hands = Hands(BAD)
    hands.do(set=ON)
    hands.do(wait="10 min")
    hands.do(set=OFF)
    hands.do(wait="60 min")
    bench = hands.bench
    parts = bench.fleet.slow.warmth.parts
    hot = [parts[n] for n in np.flatnonzero(bench.memory.hottest[0] > 100.0)]
    assert hot == ["C41"]
    assert rise(hands, "C41") == pytest.approx(0.0, abs=1e-6)


def test_eyes_find_what_has_melted_and_what_the_circuit_says_stands_in_its_place():
    """At F7 the file says nothing of this fault; of C41 it does, browning and all."""
    for fault, place, before, after in (
        ("F7.2=high resistance:0.4 ohm", "fuse panel", NOTHING, "F7: melted"),
        (BAD, "tailgate hinge", *2 * ("C41: broken strands and a browned terminal in the boot",)),
    ):
        hands = Hands(fault)
        assert hands.words(look=place) == before
        hands.do(set=ON)
        hands.do(wait="10 min")
        hands.do(set=OFF)
        hands.do(wait="60 min")
        assert hands.words(look=place) == after
