"""Cautions come from what is known at the bench; they are breached by what goes against them."""

from dataclasses import replace
from functools import cache

import pytest

from sim import care
from sim import cautions as rules
from sim.action import action_from_json
from sim.cautions import Caution, cautions
from sim.circuit import Circuit, Control
from sim.circuitfile import read_circuit
from sim.diagnosis.vehicle import FAMILIES_WITH_UNIT
from sim.parts import FAMILIES
from sim.situation import Situation
from tests.sim.conftest import CIRCUITS
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
    ("controls", "breached"),
    [
        ({"light switch": "head"}, True),
        ({"light switch": "side", "dip switch": "main"}, True),
        ({"dip switch": "main"}, False),  # chooses, and feeds nothing by itself
        ({}, False),
    ],
)
def test_on_a_vehicle_drawn_without_a_key_its_switches_tell(controls, breached):
    circuit = read_circuit(CIRCUITS / "headlamps.circuit.yaml")
    do = action_from_json(leads("ohms", "E1.1", "E1.2"))
    found = cautions(circuit, Situation(controls=tuple(controls.items())), do)
    assert found == (Caution(rules.OHMS_LIVE, breached=breached),)


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


def flagged(flag: str):
    horn = healthy().parts["H1"]
    parts = {**healthy().parts, "H1": replace(horn, values={**horn.values, flag: True})}
    return replace(healthy(), parts=parts)


@pytest.mark.parametrize(
    ("do", "text"),
    [
        ({"load": "320 A", "red": "B1.+", "black": "B1.-"}, care.HYDROGEN),
        ({"load": "320 A", "red": "B1.+", "black": "B1.-"}, care.LOAD_HEAT),
        ({"conductance": "640 A", "red": "B1.+", "black": "B1.-"}, care.HYDROGEN),
        ({"set": {"key": "crank"}}, care.CRANKING),
        ({"smell": "engine bay"}, care.NOSE),
        ({"led": True, "red": "B1.+", "black": "B1.-"}, care.RINGS),
    ],
    ids=str,
)
def test_what_an_instrument_does_has_its_caution(do, text):
    found = given(do, DEAD)
    assert text in [caution.text for caution in found]
    assert not any(caution.breached for caution in found)


def test_a_lead_left_in_an_amps_jack_is_warned_of():
    left = Situation(jack="10 A")
    assert Caution(rules.AMPS_ACROSS, breached=False) in given(
        leads("amps", "F7.1b", "F7.2b"), left
    )
    assert Caution(care.JACK, breached=True) in given(leads("volts", "F7.1b", "body"), left)
    assert given(leads("volts", "F7.1b", "body"), DEAD) == ()


@pytest.mark.parametrize(
    ("point", "on_it"),
    [("H1.1", True), ("H1.2", True), ("K5.87", True), ("K5.30", False), ("E9.1", False)],
)
def test_a_restraint_is_known_by_its_wires(point, on_it):
    do = action_from_json({"lamp": True, "red": point, "black": "body"})
    texts = [c.text for c in cautions(flagged("restraint"), DEAD, do) if c.breached]
    assert texts == ([care.RESTRAINT] if on_it else [])


def test_orange_wiring_is_nobodys_to_unplug_or_measure():
    circuit = flagged("high voltage")
    for do in ({"unplug": "H1"}, leads("volts", "H1.1", "body"), {"touch": "H1"}):
        found = cautions(circuit, DEAD, action_from_json(do))
        assert Caution(care.HIGH_VOLTAGE, breached=True) in found


@cache
def shipped(name: str) -> Circuit:
    return read_circuit(CIRCUITS / f"{name}.circuit.yaml")


def texts(name: str, do: dict, situation: Situation = DEAD) -> list[str]:
    """Give the cautions that an action on a shipped vehicle goes against."""
    found = cautions(shipped(name), situation, action_from_json(do))
    return [caution.text for caution in found if caution.breached]


@pytest.mark.parametrize(
    ("point", "forbidden"),
    [
        ("A1.10", True),  # switches to ground
        ("A1.4", True),  # input with its pull-up
        ("A1.18", True),  # sensor ground
        ("M1.C", True),  # command
        ("R4.1", True),  # sensor
        ("A1.30", False),  # its supply is proven under load
        ("A1.31", False),
        ("A1.15", False),
        ("M1.30", False),
        ("F1.2", False),
        ("C3.1a", False),
    ],
)
def test_no_lamp_and_no_load_on_modules_and_sensors(point: str, *, forbidden: bool):
    leads = {"red": point, "black": "body"}
    for do in ({"lamp": True, **leads}, {"load": "55 W", **leads}):
        assert texts("coolant-pump-off", do) == [care.LAMP_ON_MODULE] * forbidden
    for do in ({"led": True, **leads}, {"measure": "volts", **leads}):
        assert texts("coolant-pump-off", do) == []


def test_every_kind_that_thinks_is_a_module():
    """So that the list does not end at the parts there were when it was written."""
    thinking = {kind for kind, family in FAMILIES.items() if family.ruled is not None}
    assert thinking | FAMILIES_WITH_UNIT.keys() <= {*care.MODULES}
    assert {*care.MODULES, *care.SENSORS, *care.TURNING} <= FAMILIES.keys()
    moving = {kind for kind, family in FAMILIES.items() if "stall current" in family.parameters}
    assert moving <= {*care.TURNING}


def test_a_plug_taken_off_a_module_is_only_a_plug():
    lamp = {"lamp": True, "red": "A1.8", "black": "body"}
    assert texts("coolant-pump-off", lamp) == [care.LAMP_ON_MODULE]
    assert texts("coolant-pump-off", lamp, Situation(apart=("A1",))) == []


def test_a_jumper_feeds_no_module_and_may_bridge_a_sensor():
    """Bridging a sensor's plug is a classic test: it reads very hot then (common practice)."""
    assert texts("coolant-pump-off", {"bridge": ["B1.+", "A1.8"]}) == [care.LAMP_ON_MODULE]
    assert texts("coolant-pump-off", {"bridge": ["R4.1", "R4.2"]}) == []


@pytest.mark.parametrize(("circuit", "part"), [("coolant-pump-off", "M1"), ("pulsed-fan", "M1")])
def test_fans_and_pumps_start_by_themselves(circuit: str, part: str):
    found = cautions(shipped(circuit), DEAD, action_from_json({"feel": part}))
    assert Caution(care.FANS) in found


def test_a_running_engine_is_read_off_the_controls():
    engine = Control("engine", ("off", "idle 800 rpm"), ("S1",))
    circuit = replace(healthy(), controls={**healthy().controls, "engine": engine})
    start = action_from_json({"set": {"engine": "idle 800 rpm"}})
    assert Caution(care.ENGINE) in cautions(circuit, DEAD, start)
    running = Situation(controls=(("engine", "idle 800 rpm"),))
    feel = action_from_json({"feel": "C41"})
    assert Caution(care.ENGINE) in cautions(circuit, running, feel)
    assert Caution(care.ENGINE) not in cautions(circuit, running, start)


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        (care.CRANKING, ("30 s", "2 min")),  # US Army TM 10-3930-671-24
        (care.HIGH_VOLTAGE, ("Orange", "650 V", "charged")),  # HSE, electric and hybrid vehicles
        (care.LOAD_HEAT, ("15 s", "goggles")),  # a tester's manual; TM 9-2350-287-20-2
        (care.RINGS, ("Rings", "welds")),  # battery-charger manual; US Army SS0713
        (care.HYDROGEN, ("Hydrogen", "every battery", "no spark")),  # TM 9-6140-200-14 p. 4-12
        (care.LAST_CONNECTION, ("Loads off", "last", "off the posts")),  # 29 CFR 1917.157(f)
        (care.LIVE, ("every live circuit",)),  # NEETS Module 1
        (care.OHMS_LIVE, ("key off", "own source")),  # NEETS Module 1
        (care.FANS, ("key off", "unplug")),  # common practice, no source
        (care.RESTRAINT, ("ohmmeter", "test lamp", "air bags")),  # universal in makers' texts
    ],
    ids=lambda value: value[:20] if isinstance(value, str) else "",
)
def test_a_caution_says_what_its_source_does(text: str, facts: tuple[str, ...]):
    assert [fact for fact in facts if fact not in text] == []


def test_every_caution_is_one_sentence_or_two_and_listed_once():
    named = {n: text for n, text in vars(care).items() if n.isupper() and isinstance(text, str)}
    assert {text for name, text in named.items() if name != "BODY"} == set(care.ALL)
    assert len(care.ALL) == len(set(care.ALL))
    assert all(text.endswith(".") and "\n" not in text for text in care.ALL)
