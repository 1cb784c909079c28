"""The test lamp is a load: it finds the joint that a meter does not."""

import pytest

from sim.instruments.lamp import POWER, SHAPE, VOLTAGE, glow
from tests.sim.van import ON, Hands


def test_the_filament_takes_its_power_at_its_voltage():
    cold, k, beta = SHAPE
    assert VOLTAGE**2 / (cold + k * VOLTAGE**beta) == pytest.approx(POWER)


@pytest.mark.parametrize(
    ("share", "seen"),
    [
        (0.0, "dark"),
        (0.049, "dark"),
        (0.05, "dim"),
        (0.59, "dim"),
        (0.6, "bright"),
        (1.2, "bright"),
    ],
)
def test_an_eye_tells_three_kinds(share, seen):
    assert glow(share) == seen


@pytest.mark.parametrize(
    ("ohms", "seen"), [("1 ohm", "bright"), ("30 ohm", "dim"), ("1 kohm", "dark")]
)
def test_a_bad_joint_dims_the_lamp_but_not_the_meter(ohms, seen):
    hands = Hands(f"wire 6=high resistance:{ohms}")
    hands.do(pull="F7")
    hands.do(set=ON)
    assert hands.volts("F7.1") > 12.0
    assert hands.words(lamp=True, red="F7.1", black="body") == seen


def test_a_lamp_across_the_battery_harms_nothing():
    step = Hands().step(lamp=True, red="B1.+", black="B1.-")
    assert (step.reading.words, step.harm) == ("bright", ())
