"""Nose and fingers notice what the solved circuit and the faults leave to be noticed."""

import pytest

from sim.effects import NOTHING
from tests.sim.instruments.rig import TWELVE, Rig, circuit
from tests.sim.van import OFF, ON, Hands

HINGE = "tailgate hinge"


def test_a_hot_joint_smells_once_it_is_warm():
    hands = Hands("C41.1=high resistance:0.4 ohm")
    hands.do(look=HINGE)
    hands.do(set=ON)
    assert hands.words(smell=HINGE) == NOTHING
    hands.do(wait="5 min")
    assert hands.words(smell=HINGE) == "hot plastic; something burnt"  # it melts
    assert hands.words(smell="engine bay") == NOTHING
    hands.do(set=OFF)
    hands.do(wait="5 min")
    assert hands.words(smell=HINGE) == "something burnt"


def test_a_load_that_works_does_not_smell():
    hands = Hands()
    hands.do(set=ON)
    hands.do(wait="5 min")
    assert {hands.words(smell=place) for place in hands.bench.circuit.places} == {NOTHING}


def test_an_overcharged_battery_gasses(tmp_path):
    """Two batteries side by side, one lifted by a third: 24 V across a 12 V battery."""
    cell = f"{{kind: battery, cold cranking: 100 A, charge: {100 * TWELVE:.6g} %, at: far end}}"
    wires = ["B2.+, B3.+, red, 10 mm2, 1 m", "B3.-, body, black, 10 mm2, 1 m"]
    rig = Rig(circuit(tmp_path, [f"  B3: {cell}"], wires))
    assert rig.do(smell="far end").words == "rotten eggs"
    assert rig.do(smell="bench").words == NOTHING


@pytest.mark.parametrize(
    ("fault", "part", "found"),
    [
        ("X7=high resistance:0.4 ohm", "X7", "green, crust"),
        ("X7=open", "X7", "loose, missing"),
        ("C41.1=high resistance:0.4 ohm", "C41", "broken"),
        ("", "X7", NOTHING),
        ("F7=open", "F7", NOTHING),
    ],
)
def test_fingers_find_what_can_be_felt(fault, part, found):
    assert Hands(fault).words(touch=part) == found


def test_a_relay_clicks_under_the_finger_and_the_control_goes_back():
    hands = Hands()
    assert hands.words(touch="K3", **{"while": ON}) == "clicks"
    assert hands.words(touch="K5", **{"while": ON}) == NOTHING
    assert not hands.bench.memory.closed.any()
    assert Hands("K3=coil open").words(touch="K3", **{"while": ON}) == NOTHING
    assert Hands("K3.87=open").words(touch="K3", **{"while": ON}) == "clicks"
