"""The bench: what is refused changes nothing, what is broken stays broken."""

from dataclasses import replace

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.errors import ActionError, SolveError
from sim.situation import Situation
from tests.sim.van import CHAFED, OFF, ON, Hands, healthy, solver, van


def standing(hands: Hands) -> tuple:
    memory = hands.bench.memory
    return hands.bench.situation, memory.closed.tolist(), memory.blown.tolist()


@pytest.mark.parametrize(
    ("do", "says"),
    [
        ({"set": {"key": "sideways"}}, "position of key 'sideways' unknown"),
        ({"set": {"wiper": "on"}}, "control 'wiper' unknown"),
        ({"look": "roof"}, "place 'roof' unknown"),
        ({"watch": "relay clicks"}, "'relay clicks' is heard, not watched; listen to K3"),
        ({"watch": "it flies"}, "effect to watch"),
        ({"clamp": "wire 99"}, "wire 'wire 99' unknown"),
        ({"feel": "wire 8"}, "part 'wire 8' unknown"),
        ({"unplug": "F9"}, "cannot unplug F9: it is a blade fuse, in place"),
        ({"plug": "S4"}, "cannot plug S4: it is a switch, in place"),
        ({"pull": "C41"}, "cannot pull C41"),
        ({"pull": "F7"}, "cannot pull F7: it is a blade fuse, already apart"),
        ({"insert": "K3"}, "cannot insert K3"),
        ({"renew": "K3"}, "cannot renew K3"),
        ({"listen": "F7", "set": {"key": "run"}}, "cannot listen F7"),
        ({"swap": ["K3", "F9"]}, "like parts are K3 and K5; for others, try a known-good one"),
        ({"swap": ["K3", "Z1"]}, "like parts are K3 and K5; for others, try a known-good one"),
        ({"bridge": ["B1.+", "B1.-"]}, "already on"),
        ({"measure": "volts", "red": "F9.1", "black": "body"}, "pull it first"),
        ({"measure": "volts", "red": "body", "black": "nowhere"}, "no such point"),
    ],
    ids=str,
)
def test_what_cannot_be_done_changes_nothing(do, says):
    hands = Hands()
    hands.do(set=ON)
    hands.do(pull="F7")
    hands.do(bridge=["F7.1", "F7.2"])
    before = standing(hands)
    with pytest.raises(ActionError, match=says) as caught:
        hands.do(**do)
    assert "\n" not in str(caught.value)
    assert standing(hands) == before


def test_where_no_parts_are_alike_it_is_said_what_can_be_done_instead():
    parts = healthy().parts
    blank = replace(parts["K5"], values={**parts["K5"].values, "like": ""})
    hands = Hands(circuit=replace(healthy(), parts={**parts, "K5": blank}))
    with pytest.raises(ActionError) as caught:
        hands.do(swap=["K3", "K5"])
    assert str(caught.value) == (
        "cannot swap K3 and K5: no two parts here are alike; try a known-good one instead "
        "(in a circuit file `like: NAME` of a relay says which other relay is its like)"
    )
    hands.do(**{"try": "K3"})  # as it says


def test_trying_out_changes_nothing():
    hands = Hands(CHAFED)
    before = standing(hands)
    seen = hands.bench.try_out(action_from_json({"set": ON}))
    assert seen.memory.blown.any()
    assert standing(hands) == before


def test_a_circuit_that_never_comes_to_rest_is_refused_and_changes_nothing():
    # a buzzer: the normally closed horn relay takes its coil's feed behind its own contact
    parts = dict(healthy().parts)
    parts["wire 15"] = replace(
        parts["wire 15"], values={**parts["wire 15"].values, "from": "K5.87"}
    )
    buzzer = van("K5=wrong part", replace(healthy(), parts=parts))
    hands = Hands()
    hands.bench = Bench(buzzer)
    before = standing(hands)
    with pytest.raises(SolveError, match="no steady state"):
        hands.do(set={"horn button": "pressed"})
    assert standing(hands) == before


def test_mending_takes_the_fault_and_what_it_blew():
    hands = Hands(CHAFED)
    hands.do(set=ON)
    assert hands.clamp("wire 8") == 0.0
    hands.bench.mend(healthy())
    hands.do(set=ON)
    assert 11.0 <= hands.clamp("wire 8") <= 16.0
    assert hands.words(look="fuse panel") == "nothing out of the ordinary"


def test_mending_the_vehicle_mends_no_instrument():
    hands = Hands()
    assert "the meter's fuse has blown" in hands.step(measure="amps", red="B1.+", black="B1.-").harm
    before = hands.bench.memory.blown.copy()
    hands.bench.mend(healthy())
    assert (hands.bench.memory.blown == before).all()


def test_what_blows_by_itself_is_nobodys_harm():
    hands = Hands("wire 7=short to ground:0.1 ohm")  # live with the key off
    step = hands.step(look="fuse panel")
    assert step.reading.words == "F7: the strip in the window is melted through"
    assert step.harm == ()


def test_a_van_is_handed_over_as_its_controls_stand():
    keyed = Situation(controls=tuple(ON.items()))
    hands = Hands()
    hands.bench = Bench(van(CHAFED), solver(), keyed)
    assert hands.step(look="fuse panel").harm == ()
    assert hands.words(listen="K3", set={"heater switch": "off"}) == "clicks"


def test_leads_leave_points_that_are_covered_again():
    hands = Hands()
    hands.do(set=OFF)
    for back in ("insert", "renew"):
        hands.do(pull="F7")
        hands.do(measure="ohms", red="F7.1", black="F7.2")
        hands.do(**{back: "F7"})
        assert (hands.bench.situation.red, hands.bench.situation.black) == ("", "")


def test_swapping_twice_is_no_swap():
    hands = Hands()
    hands.do(swap=["K3", "K5"])
    assert hands.bench.situation.swapped == (("K3", "K5"),)
    hands.do(swap=["K5", "K3"])
    assert hands.bench.situation.swapped == ()
