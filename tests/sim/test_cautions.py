"""Cautions come from what is known at the bench; they are breached by what goes against them."""

import pytest

from sim import cautions as rules
from sim.action import action_from_json
from sim.cautions import Caution, cautions
from sim.situation import Situation
from tests.sim.van import ON, healthy, van

LIVE, DEAD = Situation(controls=tuple(ON.items())), Situation()
KEYED = Situation(controls=(("key", "accessory"),))


def given(do: dict, situation: Situation) -> tuple[Caution, ...]:
    return cautions(healthy(), situation, action_from_json(do))


def leads(function: str, red: str, black: str) -> dict:
    return {"measure": function, "red": red, "black": black}


@pytest.mark.parametrize("function", ["ohms", "continuity", "diode"])
def test_the_meters_own_source_wants_a_dead_circuit(function):
    do = leads(function, "E9.1", "E9.2")
    assert given(do, LIVE) == (Caution(rules.OHMS_LIVE, breached=True),)
    assert given(do, KEYED) == (Caution(rules.OHMS_LIVE, breached=True),)
    assert given(do, DEAD) == (Caution(rules.OHMS_LIVE, breached=False),)


@pytest.mark.parametrize(
    ("red", "black", "breached"),
    [
        ("B1.+", "B1.-", True),
        ("B1.-", "B1.+", True),
        ("30", "body", True),
        ("15", "31", True),
        ("F7.1b", "F7.2b", False),
        ("30", "F7.1b", False),
        ("X7.ring", "body", False),
    ],
)
def test_an_ammeter_across_the_supply_is_a_breach(red, black, breached):
    found = given(leads("amps", red, black), DEAD)
    assert Caution(rules.AMPS_ACROSS, breached) in found


@pytest.mark.parametrize(
    ("do", "situation", "texts"),
    [
        (leads("volts", "F7.1b", "body"), LIVE, []),
        (leads("volts", "B1.+", "B1.-"), DEAD, [rules.RINGS]),
        ({"lamp": True, "red": "30", "black": "body"}, DEAD, [rules.RINGS]),
        ({"feel": "C41"}, LIVE, [rules.HOT_JOINT]),
        ({"feel": "C41"}, DEAD, []),
        ({"bridge": ["B1.+", "F7.2b"]}, DEAD, [rules.RINGS, rules.FUSED]),
        ({"renew": "F7"}, DEAD, [rules.SAME_RATING]),
        ({"pull": "F7"}, LIVE, [rules.LIVE_PLUG]),
        ({"unplug": "C41"}, LIVE, [rules.LIVE_PLUG]),
        ({"unplug": "C41"}, DEAD, []),
        ({"plug": "C41"}, LIVE, []),
        ({"look": "fuse panel"}, LIVE, []),
        ({"set": ON}, DEAD, []),
        ({"wait": "1 min"}, LIVE, []),
    ],
    ids=str,
)
def test_each_action_has_the_cautions_that_go_with_it(do, situation, texts):
    found = given(do, situation)
    assert [caution.text for caution in found] == texts
    assert not any(caution.breached for caution in found)


@pytest.mark.parametrize("fault", ["C41.1=high resistance:2 ohm", "F7=open", "K3=wrong part"])
def test_a_caution_says_nothing_of_the_hidden_cause(fault):
    for do in (
        {"feel": "C41"},
        {"pull": "F7"},
        {"renew": "F7"},
        leads("ohms", "E9.1", "E9.2"),
        leads("amps", "F7.1b", "F7.2b"),
    ):
        action = action_from_json(do)
        assert cautions(van(fault), LIVE, action) == cautions(healthy(), LIVE, action)
