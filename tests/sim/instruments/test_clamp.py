"""The current clamp: a tenth of an ampere, without opening the circuit."""

import pytest

from sim.errors import ActionError
from sim.instruments.clamp import DRIFT, FARTHEST, show_clamp
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


def test_around_a_bundle_it_shows_the_sum():
    hands = Hands()
    hands.do(set=ON)
    one = hands.clamp("wire 8")
    # the feed of the panel, along the same current: twice; out and back cancel
    assert float(hands.do(clamp=["wire 8", "wire 7"]).value) == pytest.approx(2 * one, abs=0.1)
    with_horn = hands.do(clamp=["wire 7", "wire 14"])
    assert float(with_horn.value) == one


def test_wires_that_never_meet_are_no_bundle():
    with pytest.raises(ActionError, match="run nowhere side by side"):
        Hands().do(clamp=["wire 8", "wire 12"])
    with pytest.raises(ActionError, match="goes through the jaws once"):
        Hands().do(clamp=["wire 8", "wire 8"])


def test_its_zero_drifts_until_it_is_zeroed():
    hands = Hands()
    hands.do(zero="off")
    assert hands.clamp("wire 8") == 2.0
    hands.do(zero="clamp")
    hands.do(clamp="wire 8")  # walks there
    since = hands.bench.situation.clock - hands.bench.situation.clamp_zeroed
    hands.do(wait="5 min")
    shown = hands.clamp("wire 8")
    clock = hands.bench.situation.clock - hands.bench.situation.clamp_zeroed
    assert clock > since + 300.0
    assert shown == pytest.approx(DRIFT * clock, abs=0.051)
    hands.do(wait="1 h")
    assert hands.clamp("wire 8") == FARTHEST
    hands.do(zero="clamp")
    assert hands.clamp("wire 8") <= 0.1


def test_direct_current_is_nothing_on_ac():
    hands = Hands()
    hands.do(set=ON)
    assert hands.do(clamp="wire 8", of="AC").value == "0.0"


@pytest.mark.parametrize("around", [[], ["wire 8", ""], {"a": 1}, 8])
def test_what_is_no_wire_is_refused_in_one_line(around):
    with pytest.raises(ActionError, match="a name, or a list of names") as caught:
        Hands().do(clamp=around)
    assert "\n" not in str(caught.value)
