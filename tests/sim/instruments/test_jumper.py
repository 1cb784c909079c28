"""The fused jumper: it feeds a load, and its fuse opens before anything else does."""

import pytest

from sim.errors import ActionError
from sim.instruments import jumper
from tests.sim.van import Hands


def test_its_fuse_is_one_of_iso_8820():
    """ISO 8820-3: a fuse opens above 1.35 times its rating."""
    assert pytest.approx(15.0 * 1.35) == jumper.FUSE


def test_it_carries_the_heater():
    hands = Hands("K3=coil open")
    hands.do(pull="K3")
    assert hands.step(bridge=["K3.30", "K3.87"]).harm == ()
    assert hands.clamp("wire 8") > 11.0
    hands.do(unbridge=True)
    assert hands.clamp("wire 8") == 0.0


def test_into_a_short_only_its_own_fuse_blows():
    hands = Hands("wire 8=short to ground:0.1 ohm")
    hands.do(pull="K3")
    assert hands.step(bridge=["K3.30", "K3.87"]).harm == ("the jumper's fuse has blown",)
    assert hands.words(look="fuse panel") == "nothing out of the ordinary"


def test_a_smaller_fuse_is_chosen_and_opens_first():
    hands = Hands("K3=coil open")
    hands.do(pull="K3")
    # the heater takes 13 A: 10 A times 1.35 hold it, 7.5 A do not
    assert hands.step(bridge=["K3.30", "K3.87"], fuse="10 A").harm == ()
    assert hands.clamp("wire 8") > 11.0
    hands.do(unbridge=True)
    assert hands.bench.situation.jumper_fuse == jumper.RATING
    step = hands.step(bridge=["K3.30", "K3.87"], fuse="7.5 A")
    assert step.harm == ("the jumper's fuse has blown",)


@pytest.mark.parametrize("fuse", ["30 A", "6 A", "wire", 15])
def test_no_other_fuse_fits(fuse):
    with pytest.raises(ActionError, match=r"there are 3 A, 5 A, 7\.5 A, 10 A, 15 A, 20 A"):
        Hands().do(bridge=["K3.30", "K3.87"], fuse=fuse)
