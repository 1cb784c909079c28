"""A reading that shares what others have worked out shows what it shows alone, bit for bit."""

from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from sim.action import action_from_json
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults
from sim.observe import Fleet, observe, observe_together
from sim.shared import MOST_KEPT, Shared
from sim.situation import Situation
from tests.sim.van import ON, healthy

CIRCUITS = Path(__file__).parents[2] / "lessons" / "circuits"

#: Meters that find a fuse's strip warm, blow it, overload outputs, fall behind and start again.
PUMP = (
    {"measure": "volts", "red": "A1.8", "black": "body"},
    {"measure": "volts", "red": "M1.30", "black": "body"},
    {"measure": "volts", "red": "M1.30", "black": "M1.31"},
    {"lamp": True, "red": "A1.8", "black": "body"},
    {"measure": "ohms", "red": "M1.30", "black": "body"},
    {"measure": "amps", "red": "M1.30", "black": "body"},
    {"measure": "volts", "red": "A1.8", "black": "body"},
    {"clamp": "wire 13"},
    {"watch": "the pump hums"},
    {"feel": "M1"},
    {"look": "engine bay"},
    {"wait": "1 min"},
    {"wait": "5 min"},
    {"measure": "volts", "red": "A1.8", "black": "body", "while": {"heater": "on"}},
    {"bridge": ["B1.+", "M1.30"]},
    {"scan": "codes"},
    {"measure": "volts", "red": "M1.30", "black": "body"},
)
VAN = (
    {"measure": "volts", "red": "C41.1b", "black": "body"},
    {"lamp": True, "red": "C41.1b", "black": "body"},
    {"measure": "volts", "red": "E9.1", "black": "E9.2"},
    {"measure": "amps", "red": "C41.1b", "black": "body"},
    {"measure": "volts", "red": "C41.1a", "black": "body"},
    {"renew": "F7"},
    {"watch": "switch lamp lights"},
    {"clamp": "wire 8"},
    {"clamp": "wire 9"},
)
#: A breaker that comes and goes meanwhile.
WINDOW = (
    {"measure": "volts", "red": "F6.2", "black": "body"},
    {"lamp": True, "red": "F6.2", "black": "body"},
    {"lamp": True, "red": "K6.87", "black": "body"},
    {"led": True, "red": "F6.2", "black": "body"},
    {"measure": "amps", "red": "F6.1", "black": "F6.2"},
    {"measure": "volts", "red": "F6.2", "black": "body", "while": {"passenger's switch": "down"}},
    {"clamp": "wire 1"},
    {"watch": "window moves"},
    {"wait": "37 s"},
    {"scope": {"A": {"clamp": "wire 1"}}, "time": "20 s"},
)


def _same(one: object, other: object) -> bool:
    """Compare to the bit, arrays within tuples and dataclasses too."""
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and one.tobytes() == other.tobytes()
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    if is_dataclass(one) and type(one) is type(other):
        return all(_same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return one == other


def _pump() -> Fleet:
    circuit = read_circuit(CIRCUITS / "coolant-pump-last.circuit.yaml")
    faults = [faults for faults, _ in possible_faults(circuit)]
    return Fleet.of([circuit, *(with_faults(circuit, one) for one in faults[::5])])


def _window() -> Fleet:
    circuit = read_circuit(CIRCUITS / "window.circuit.yaml")
    faults = [faults for faults, _ in possible_faults(circuit)]
    return Fleet.of([circuit, *(with_faults(circuit, one) for one in faults[::6])])


@pytest.mark.parametrize(
    ("readings", "settings"),
    [(PUMP, {"key": "run"}), (VAN, ON), (WINDOW, {"key": "run", "passenger's switch": "up"})],
    ids=["with rules", "without rules", "with a breaker"],
)
def test_shared_and_alone_give_the_same_bits(readings, settings):
    if readings is PUMP:
        fleet = _pump()
    elif readings is WINDOW:
        fleet = _window()
    else:
        faults = [faults for faults, _ in possible_faults(healthy())]
        fleet = Fleet.of([healthy(), *(with_faults(healthy(), one) for one in faults[::4])])
    start = observe(fleet, Situation(), fleet.fresh_memory(), action_from_json({"set": settings}))
    shared = Shared()
    for do in (*readings, *readings):
        action = action_from_json(do)
        alone = observe(fleet, start.situation, start.memory, action)
        beside = observe(fleet, start.situation, start.memory, action, shared)
        assert _same(beside, alone), do
    assert 0 < len(shared.ended) <= len(shared.begun) <= MOST_KEPT


def test_what_is_shared_is_worked_out_once():
    fleet, shared = _pump(), Shared()
    situation, memory = Situation(), fleet.fresh_memory()
    for point in ("A1.8", "M1.30", "M1.31"):
        action = action_from_json({"measure": "volts", "red": point, "black": "body"})
        observe(fleet, situation, memory, action, shared)
    ended = {key: (stage.memory, stage.rows) for key, stage in shared.ended.items()}
    for point in ("A1.8", "M1.30", "M1.31"):
        action = action_from_json({"measure": "volts", "red": point, "black": "body"})
        again = observe(fleet, situation, memory, action, shared)
        assert any(again.memory.modules is memory.modules for memory, _rows in ended.values())
    assert shared.ended.keys() == ended.keys()


def test_readings_in_one_go_show_the_bits_of_each_alone():
    fleet = _pump()
    start = observe(
        fleet, Situation(), fleet.fresh_memory(), action_from_json({"set": {"key": "run"}})
    )
    points = ("A1.8", "M1.30", "M1.31", "C3.1a", "C3.1b", "M1.C", "A1.4", "A1.18", "B1.+")
    leads = [{"red": point, "black": "body"} for point in points]
    leads += [{"red": "M1.30", "black": "M1.31"}, {"red": "C3.1a", "black": "C3.1b"}]
    do = [{"measure": "volts", **pair} for pair in leads] + [{"lamp": True, **p} for p in leads]
    do += [{"measure": "ohms", **pair} for pair in leads] + [{"clamp": "wire 13"}, *PUMP[7:13]]
    actions = [action_from_json(one) for one in do]
    seen = list(observe_together(fleet, start.situation, start.memory, actions, Shared()))
    for action, outcome in zip(actions, seen, strict=True):
        alone = observe(fleet, start.situation, start.memory, action).outcome
        assert _same(outcome, alone), action
    assert len({outcome.numbers.tobytes() for outcome in seen[: len(leads)]}) > len(leads) // 2


def test_lamps_in_one_go_tell_of_a_breaker_as_each_alone():
    fleet = _window()
    situation, memory = Situation(), fleet.fresh_memory()
    for do in ({"set": {"key": "run", "passenger's switch": "up"}}, {"wait": "61 s"}):
        seen = observe(fleet, situation, memory, action_from_json(do))
        situation, memory = seen.situation, seen.memory
    points = ("F6.1", "F6.2", "K6.87", "S5.1", "B1.+")
    do = [{"lamp": True, "red": point, "black": "body"} for point in points]
    actions = [action_from_json(one) for one in do]
    found = list(observe_together(fleet, situation, memory, actions, Shared()))
    for action, outcome in zip(actions, found, strict=True):
        assert _same(outcome, observe(fleet, situation, memory, action).outcome), action
    assert any("by turns" in words for words in found[1].words)
    assert not any("by turns" in words for words in found[4].words)


def test_harm_of_readings_in_one_go_is_that_of_each_alone():
    """The horn taken for a restraint: an ohmmeter on its wires may fire it, elsewhere not."""
    horn = healthy().parts["H1"]
    values = {**horn.values, "restraint": True}
    car = replace(healthy(), parts={**healthy().parts, "H1": replace(horn, values=values)})
    fleet = Fleet.of([car, with_faults(car, possible_faults(car)[0][0])])
    situation, memory = Situation(), fleet.fresh_memory()
    points = ("H1.1", "C41.1b", "E9.1", "H1.2")
    do = [{"measure": "ohms", "red": point, "black": "body"} for point in points]
    do += [{"measure": "volts", "red": "H1.1", "black": "body"}]
    actions = [action_from_json(one) for one in do]
    seen = list(observe_together(fleet, situation, memory, actions, Shared()))
    for action, outcome in zip(actions, seen, strict=True):
        assert _same(outcome, observe(fleet, situation, memory, action).outcome), action
    fired = [any("H1 may have been fired" in t for t in one.harm[0]) for one in seen]
    assert fired[0]
    assert not fired[1]
    assert not fired[4]
