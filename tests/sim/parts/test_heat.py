"""Heat of joints: monotone, closed form, and what a hand, a nose and an eye make of it."""

import math

import pytest

from sim.parts.heat import (
    AT_WATTS,
    BROWNS,
    HOT,
    MELTS,
    SMELLS,
    TIME_CONSTANT,
    WARM,
    heat_at,
    joint_heat,
    joint_rise,
    rise_after,
)


def test_what_a_hand_calls_hot() -> None:
    assert joint_heat(AT_WATTS).hand == "hot"
    assert joint_heat(AT_WATTS / 4).hand != "hot"


def test_natural_convection() -> None:
    """P grows as dT^(5/4) (McAdams, Heat Transmission; exponent from memory)."""
    ratio = joint_rise(20.0) / joint_rise(10.0)
    assert ratio == pytest.approx(2 ** (4 / 5), rel=1e-12)
    assert joint_rise(0.0) == 0.0


def test_a_sound_joint_stays_cool_and_a_bad_one_at_30_watts_smells_and_browns() -> None:
    """3 mohm at 13 A are 0.5 W; 0.4 ohm at 9 A are 32 W."""
    sound, bad = joint_heat(13.0**2 * 0.003), joint_heat(9.0**2 * 0.4)
    assert (sound.hand, sound.nose, sound.eyes) == ("", "", "")
    assert bad.hand == "hot"
    assert bad.nose
    assert bad.eyes in {"browned", "melted"}


def test_it_takes_a_minute() -> None:
    assert rise_after(10.0, 0.0) == 0.0
    assert rise_after(10.0, TIME_CONSTANT) == pytest.approx(joint_rise(10.0) * (1 - math.exp(-1)))
    assert rise_after(10.0, math.inf) == joint_rise(10.0)
    assert joint_heat(10.0, 0.0, ambient=35.0).temperature == 35.0


@pytest.mark.parametrize(
    ("celsius", "hand", "nose", "eyes"),
    [
        (WARM - 1, "", "", ""),
        (WARM, "warm", "", ""),
        (HOT, "hot", "", ""),
        (SMELLS, "hot", "smells of hot plastic", ""),
        (BROWNS, "hot", "smells of hot plastic", "browned"),
        (MELTS, "hot", "smells of hot plastic", "melted"),
    ],
)
def test_what_is_noticed(celsius: float, hand: str, nose: str, eyes: str) -> None:
    """Thresholds: common practice, no source; polyamide 66 melts at 260 degC (from memory)."""
    found = heat_at(celsius)
    assert (found.hand, found.nose, found.eyes) == (hand, nose, eyes)
