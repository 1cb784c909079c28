"""The current clamp: a tenth of an ampere, without opening the circuit."""

import pytest

from sim.instruments.clamp import show_clamp
from tests.sim.van import ON, Hands


@pytest.mark.parametrize(
    ("amps", "shown"),
    [(13.04, "13.0"), (13.06, "13.1"), (-0.26, "-0.3"), (-0.04, "0.0"), (0.0, "0.0")],
)
def test_a_clamp_shows_tenths_and_no_minus_before_nothing(amps, shown):
    reading = show_clamp(amps)
    assert (reading.value, reading.unit) == (shown, "A")


def test_a_clamp_sees_the_same_current_all_along_a_path_and_changes_nothing():
    hands = Hands()
    hands.do(set=ON)
    before = hands.volts("E9.1b", "E9.2b")
    assert {hands.clamp(f"wire {n}") for n in (6, 7, 8, 9, 10)} == {hands.clamp("wire 8")}
    # 160 W at 12 V: 0.9 ohm
    assert hands.clamp("wire 8") == pytest.approx(before / 0.9, abs=0.06)
    # the battery has given 13 A for half an hour meanwhile
    assert hands.volts("E9.1b", "E9.2b") == pytest.approx(before, abs=0.06)
