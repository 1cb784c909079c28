"""What every instrument owes the house; a new one joins by its line in `SAMPLES`."""

import json
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from sim.access import price
from sim.action import action_from_json
from sim.bench import Bench
from sim.cautions import cautions
from sim.circuit import Circuit
from sim.display import shown
from sim.errors import ActionError
from sim.faults import possible_faults, with_faults
from sim.handling import handled
from sim.instruments.load import CLIP
from sim.instruments.registry import INSTRUMENTS, VERBS
from sim.instruments.verb import Outcome
from sim.network import METER, METER_FUSE, METER_LAMP, RED
from sim.observe import Fleet, observe
from sim.parts.family import Trigger
from sim.situation import Situation
from sim.view import View
from tests.sim.van import ON, healthy, solver

FEED = {"red": "C41.1b", "black": "X7.ring"}
POSTS = {"red": "B1.+", "black": "B1.-"}
#: One way or more to use every verb on the shipped van, on the bench as `READY` leaves it.
SAMPLES = {
    "set": ({"set": ON},),
    "unplug": ({"unplug": "E9"},),
    "plug": ({"plug": "C41"},),
    "pull": ({"pull": "K5"},),
    "insert": ({"insert": "F12"},),
    "renew": ({"renew": "F7"},),
    "swap": ({"swap": ["K3", "K5"]},),
    "wait": ({"wait": "300 s"},),
    "measure": (
        {"measure": "volts", **FEED},
        {"measure": "volts", **FEED, "while": {"key": "run", "heater switch": "on"}},
        {"measure": "AC volts", **FEED},
        {"measure": "hertz", **FEED},
        {"measure": "duty", **FEED},
        {"measure": "ohms", **FEED},
        {"measure": "continuity", **FEED},
        {"measure": "diode", **FEED},
        {"measure": "amps", "red": "C41.1a", "black": "C41.1b"},
        {"measure": "milliamps", "red": "F12.1", "black": "F12.2"},
        {"measure": "milliamps", "red": "F12.1", "black": "F12.2", "while": {"key": "run"}},
    ),
    "scan": ({"scan": "codes"}, {"scan": "clear"}),
    "zero": ({"zero": "leads"}, {"zero": "clamp"}, {"zero": "off"}),
    "jack": ({"jack": "10 A"}, {"jack": "with the function"}),
    "lamp": ({"lamp": True, **FEED},),
    "led": ({"led": True, **FEED},),
    "listen": ({"listen": "K3", "set": ON},),
    "bridge": (
        {"bridge": ["C41.1a", "C41.1b"]},
        {"bridge": ["C41.1a", "C41.1b"], "fuse": "20 A"},
    ),
    "unbridge": ({"unbridge": True},),
    "feel": ({"feel": "E9"},),
    "touch": ({"touch": "X7"}, {"touch": "K3", "while": ON}),
    "look": ({"look": "fuse panel"},),
    "watch": ({"watch": "rear window clears"},),
    "clamp": (
        {"clamp": "wire 8"},
        {"clamp": ["wire 8", "wire 7"]},
        {"clamp": "wire 8", "of": "AC"},
    ),
    "load": ({"load": "55 W", **POSTS}, {"load": "320 A", **POSTS}),
    "conductance": ({"conductance": "640 A", **POSTS},),
    "temperature": ({"temperature": "C41"},),
    "smell": ({"smell": "fuse panel"},),
    "try": ({"try": "K3"},),
    "untry": ({"untry": "S4"},),
    "shake": ({"shake": "C41"}, {"shake": "everything"}),
    "warm": ({"warm": "wire 8"},),
    "wet": ({"wet": "C41"},),
    "leave": ({"leave": "X7"},),
    "scope": (
        {"scope": {"A": ["C41.1a", "body"]}, "time": "100 ms"},
        {
            "scope": {"A": ["B1.+", "B1.-"], "B": {"clamp": "wire 8"}},
            "time": "2 s",
            "trigger": {"channel": "B", "level": "5 A", "slope": "rising"},
            "while": {"key": "crank"},
        },
    ),
}
READY = Situation(apart=("C41", "F12"), tried=("S4",), stressed=(("X7", Trigger.VIBRATION),))
BRIDGED = replace(READY, bridge=("B1.+", "F9.1b"))
EVERY = [do for samples in SAMPLES.values() for do in samples]
LEADS = [do for do in EVERY if "red" in do]
NUMBERS = [do for do in EVERY if VERBS[next(iter(do))].scale(action_from_json(do))]


def ready(do: dict) -> Situation:
    return BRIDGED if "unbridge" in do else READY


@cache
def fleet() -> Fleet:
    faults = [faults for faults, _likelihood in possible_faults(healthy())]
    return Fleet.of([healthy(), *(with_faults(healthy(), f) for f in faults[::6])], solver())


def restrained() -> Circuit:
    """Give the van with its horn taken for a restraint."""
    horn = healthy().parts["H1"]
    parts = {**healthy().parts, "H1": replace(horn, values={**horn.values, "restraint": True})}
    return replace(healthy(), parts=parts)


def of_number(do: dict, value: float):
    """Give what one number shows."""
    also = tuple(
        (name, np.array([value])) for name in ("minimum", "maximum", "amps", "volts", "siemens")
    )
    kept = also if "while" in do or "load" in do or "conductance" in do else ()
    words = ("good",) if "conductance" in do else None
    outcome = Outcome(np.array([value]), np.array([False]), words, ((),), np.array([]), kept)
    return shown(action_from_json(do), Situation(), outcome)


def test_every_verb_has_joined():
    assert set(SAMPLES) == set(VERBS)
    assert len({instrument.name for instrument in INSTRUMENTS}) == len(INSTRUMENTS)


@pytest.mark.parametrize("do", EVERY, ids=str)
def test_its_json_reads_back_the_same(do):
    action = action_from_json(json.loads(json.dumps(do)))
    assert action.to_json() == do
    assert action_from_json(action.to_json()) == action
    assert VERBS[action.verb].says(action)


@pytest.mark.parametrize("do", [d for d in EVERY if "set" not in d or "listen" in d], ids=str)
def test_it_takes_time(do):
    assert price(healthy(), ready(do), action_from_json(do)).minutes > 0.0


@pytest.mark.parametrize("do", EVERY, ids=str)
def test_its_cautions_do_not_hang_on_what_is_hidden(do):
    action = action_from_json(do)
    for variant in fleet().circuits:
        assert cautions(variant, ready(do), action) == cautions(healthy(), ready(do), action)


def _misnamed(do: dict) -> dict:
    """Give the action with its first name turned into one that is not there."""
    wrong = dict(do)
    verb = next(iter(do))
    if "red" in do:
        return {**wrong, "red": "Z9.1"}
    if verb == "set":
        return {"set": {"sail": "up"}}
    if verb == "scope":
        return {"scope": {"A": ["Z9.1", "body"]}, "time": "1 s"}
    if isinstance(do[verb], list):
        return {**wrong, verb: ["Z9.1", do[verb][1]]}
    return {**wrong, verb: "Z9"}


NAMED = [do for do in EVERY if not {"wait", "unbridge"} & set(do)]


@pytest.mark.parametrize("do", NAMED, ids=str)
def test_what_is_not_there_is_refused_in_one_clear_line(do):
    wrong, situation = _misnamed(do), ready(do)
    memory = fleet().fresh_memory(situation)
    with pytest.raises(ActionError) as caught:
        observe(fleet(), situation, memory, action_from_json(wrong))
    text = str(caught.value)
    assert "\n" not in text
    assert "Z9" in text or "sail" in text


@pytest.mark.parametrize("do", [do for do in LEADS if "while" not in do], ids=str)
def test_what_lies_between_the_leads_is_in_the_circuit(do):
    series = do.get("measure") in ("amps", "milliamps")
    ends = ("F12.1", "F12.2") if series else ("B1.+", "B1.-")
    action = action_from_json({**do, "red": ends[0], "black": ends[1]})
    bench = Bench(healthy(), solver(), READY)
    bench.do(action_from_json({"set": ON}))
    situation = bench.situation
    after = handled(healthy(), situation, action, price(healthy(), situation, action))
    view = View(bench.fleet, situation, after, bench.memory, action, leads=True)
    VERBS[action.verb].read(view)
    network, solution = view.network, view.solution
    names = (METER, METER_LAMP, METER_FUSE)
    carried = sum(solution.current[0, network.element(name)] for name in names)
    assert abs(carried) > 1e-7
    # Kirchhoff at the red lead: what the instrument carries comes through the lead
    drop = solution.volts[0, network.node(after.red)] - solution.volts[0, network.node(RED)]
    lead = CLIP if "load" in do else solver().lead
    assert drop / lead == pytest.approx(carried, rel=1e-6, abs=1e-9)


#: Where a display ends below its full scale.
LEAST_OVER = {"diode": 2.0, "temperature": 500.0}


@pytest.mark.parametrize("do", NUMBERS, ids=str)
def test_a_reading_is_within_half_a_count_of_the_number(do):
    scale = VERBS[next(iter(do))].scale(action_from_json(do))
    for full in scale.ranges:
        for share in (0.11, 0.5, 0.9987):
            value = full * share
            if value >= LEAST_OVER.get(str(do.get("measure", next(iter(do)))), math.inf):
                continue
            reading = of_number(do, value)
            factor = {"m": 1e-3, "k": 1e3, "M": 1e6}.get(reading.unit[0], 1.0)
            decimals = len(reading.value.partition(".")[2])
            count = factor * 10.0**-decimals
            assert abs(float(reading.value) * factor - value) <= count / 2 * (1 + 1e-9)
            assert of_number(do, value + count).value != reading.value


@pytest.mark.parametrize("do", NUMBERS, ids=str)
def test_over_the_range_it_shows_no_number(do):
    assert of_number(do, 1e9).value == "OL"
    end = LEAST_OVER.get(str(do.get("measure", next(iter(do)))))
    if end is not None:
        assert of_number(do, end).value == "OL"
        assert of_number(do, end * 0.99).value != "OL"


@pytest.mark.parametrize("do", EVERY, ids=str)
def test_many_vans_at_once_show_what_each_shows_alone(do):
    action, situation = action_from_json(do), ready(do)
    together = fleet()
    memory = together.fresh_memory(situation)
    seen = observe(together, situation, memory, action)
    for lane in (0, len(together.circuits) // 2, len(together.circuits) - 1):
        alone = Fleet.of([together.circuits[lane]], solver())
        one = observe(alone, situation, alone.fresh_memory(situation), action)
        assert one.situation == seen.situation
        assert one.outcome.harm[0] == seen.outcome.harm[lane]
        mine = shown(action, seen.situation, seen.outcome, lane)
        assert mine == shown(action, one.situation, one.outcome)
        if mine is not None:
            assert type(mine).from_json(json.loads(json.dumps(mine.to_json()))) == mine
            assert mine.text()


@pytest.mark.parametrize("do", EVERY, ids=str)
def test_it_leaves_what_it_is_given_as_it_was(do):
    situation = ready(do)
    memory = fleet().fresh_memory(situation)
    closed, blown, rows = memory.closed.copy(), memory.blown.copy(), fleet().rows.copy()
    observe(fleet(), situation, memory, action_from_json(do))
    assert np.array_equal(memory.closed, closed)
    assert np.array_equal(memory.blown, blown)
    assert np.array_equal(fleet().rows, rows)
    assert memory.damaged == ()


ACROSS = {"red": "B1.+", "black": "B1.-"}
HARMFUL = (
    ({"measure": "amps", **ACROSS}, "the meter's fuse has blown"),
    ({"measure": "milliamps", **ACROSS}, "the meter's 400 mA fuse has blown"),
    ({"bridge": ["B1.+", "B1.-"]}, "the jumper's fuse has blown"),
    ({"bridge": ["B1.+", "H1.1"], "fuse": "3 A"}, "the jumper's fuse has blown"),
    ({"load": "60 A", "red": "F9.2b", "black": "body"}, "F9 has blown"),
)


@pytest.mark.parametrize(("do", "harm"), HARMFUL, ids=str)
def test_harm_is_told_once_and_stays(do, harm):
    bench = Bench(healthy(), solver())
    assert bench.do(action_from_json(do)).harm == (harm,)
    if "bridge" in do:
        bench.do(action_from_json({"unbridge": True}))
    assert bench.do(action_from_json(do)).harm == ()


SOURCES = (
    {"measure": "ohms", "red": "H1.1", "black": "H1.2"},
    {"measure": "continuity", "red": "K5.87", "black": "body"},  # a wire away
    {"measure": "diode", "red": "H1.1", "black": "body"},
    {"lamp": True, "red": "H1.1", "black": "body"},
    {"led": True, "red": "H1.1", "black": "body"},
    {"bridge": ["B1.+", "H1.1"]},
    {"load": "55 W", "red": "H1.1", "black": "body"},
    {"conductance": "640 A", "red": "H1.1", "black": "body"},
)


@pytest.mark.parametrize("do", SOURCES, ids=str)
def test_no_source_of_current_goes_on_a_restraint(do):
    bench = Bench(restrained(), solver())
    action = action_from_json(do)
    texts = {c.text: c.breached for c in cautions(bench.circuit, bench.situation, action)}
    assert any("air bags" in text and breached for text, breached in texts.items())
    harm = bench.do(action).harm
    assert [text for text in harm if text.startswith("H1 may have been fired")]
    assert not [t for t in Bench(healthy(), solver()).do(action).harm if "fired" in t]


def test_volts_on_a_restraint_are_no_harm():
    do = action_from_json({"measure": "volts", "red": "H1.1", "black": "H1.2"})
    assert Bench(restrained(), solver()).do(do).harm == ()
