"""A known-good part proves the part, not the harness, and the old one comes back."""

import pytest

from sim.circuitfile import read_circuit
from sim.errors import ActionError
from tests.sim.conftest import CIRCUITS
from tests.sim.instruments.rig import Rig
from tests.sim.van import ON, Hands


def heats(hands: Hands) -> bool:
    return hands.clamp("wire 8") > 11.0


@pytest.mark.parametrize("fault", ["K3=coil open", "K3=contact open", "S4=contact open"])
def test_a_fault_inside_is_gone_while_the_good_one_is_tried(fault):
    part = fault.partition("=")[0]
    hands = Hands(fault)
    hands.do(set=ON)
    assert not heats(hands)
    hands.do(**{"try": part})
    assert heats(hands)
    hands.do(**{"try": part})
    assert not heats(hands)
    hands.do(**{"try": part})
    hands.do(untry=part)
    assert not heats(hands)


@pytest.mark.parametrize("fault", ["K3.87=open", "K3.86=open", "wire 8=open", "X7=open", "F7=open"])
def test_a_fault_of_the_harness_stays(fault):
    hands = Hands(fault)
    hands.do(set=ON)
    hands.do(**{"try": "K3"})
    assert not heats(hands)


def test_trying_plugs_it_in_and_nothing_is_taken_apart_meanwhile():
    hands = Hands("K3=coil open")
    hands.do(set=ON)
    hands.do(pull="K3")
    hands.do(**{"try": "K3"})
    assert heats(hands)
    for do in ({"pull": "K3"}, {"swap": ["K3", "K5"]}):
        with pytest.raises(ActionError, match="a known-good K3 is on its plug; untry it first"):
            hands.do(**do)


@pytest.mark.parametrize(
    ("do", "says"),
    [
        ({"try": "F7"}, "renew it instead"),
        ({"try": "C41"}, "does not come off its plug"),
        ({"try": "X7"}, "does not come off its plug"),
        ({"try": "wire 8"}, "part 'wire 8' unknown"),
        ({"try": "Z9"}, "part 'Z9' unknown"),
        ({"untry": "K3"}, "no known-good K3"),
    ],
)
def test_what_cannot_be_tried_is_refused_in_one_line(do, says):
    with pytest.raises(ActionError, match=says) as caught:
        Hands().do(**do)
    assert "\n" not in str(caught.value)


def test_an_exchanged_part_goes_back_first():
    hands = Hands()
    hands.do(swap=["K3", "K5"])
    with pytest.raises(ActionError, match="swap back first"):
        hands.do(**{"try": "K3"})


@pytest.mark.parametrize(("circuit", "part"), [("starter", "M1"), ("night-draw", "G1")])
def test_what_is_bolted_to_the_engine_is_not_tried_in_a_minute(circuit, part):
    rig = Rig(read_circuit(CIRCUITS / f"{circuit}.circuit.yaml"))
    with pytest.raises(ActionError, match=f"cannot try {part}: .* bolted"):
        rig.do(**{"try": part})
