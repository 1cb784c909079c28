"""A scan tool asks once who answers the same; everybody shows what they show when asked alone."""

from dataclasses import replace
from pathlib import Path

import pytest

from grader.possible import set_values
from sim.action import action_from_json
from sim.circuitfile import read_circuit
from sim.diagnosis.generic import parameter_data
from sim.faults import parse_faults, with_faults
from sim.instruments import dialogue, scanning
from sim.instruments.sameanswers import like, to_the_byte
from sim.observe import Fleet, observe
from sim.situation import Situation

CIRCUIT = Path(__file__).parents[3] / "lessons" / "circuits" / "coolant-pump-full.circuit.yaml"
RUNNING = {"key": "run", "engine": "idling 850 rpm"}
FAULTS = ("F2=open", "M1=dead", "R4=open")


def cars() -> list:
    """Give cars with charges that differ by less than a byte of their voltage, and faulty ones."""
    sound = read_circuit(CIRCUIT)
    near = [set_values(sound, {"B1.charge": charge}) for charge in (0.8, 0.8001)]
    return [*near, *(with_faults(sound, parse_faults(sound, fault)) for fault in FAULTS)]


def seen(circuits: list, *does: dict) -> tuple[tuple[str, ...], tuple]:
    """Give what the last action shows on cars, and what their units carry then."""
    fleet, situation = Fleet.of(circuits), Situation()
    memory, words = fleet.fresh_memory(situation), ()
    for do in ({"set": RUNNING}, *does):
        found = observe(fleet, situation, memory, action_from_json(do))
        situation, memory, words = found.situation, found.memory, found.outcome.words
    return words, memory.units


def unit_and_line() -> tuple[str, str]:
    """Give a unit that answers live data, and the name of a line of it."""
    words, units = seen(cars()[:1], {"scan": "codes"})
    assert words
    name = next(unit.name for unit in units[0] if len(unit.values) > 1)
    return name, "coolant temperature"


@pytest.mark.parametrize("task", ["live data", "maker data", "graph", "clear"])
def test_every_car_shows_and_carries_what_it_does_alone(task):
    name, line = unit_and_line()
    do = {"scan": task, "unit": name} | ({"what": line, "over": "1 min"} if task == "graph" else {})
    words, units = seen(cars(), do)
    alone = [seen([car], do) for car in cars()]
    assert words == tuple(said for (said,), _units in alone)
    assert units == tuple(carried for _said, (carried,) in alone)


def test_cars_that_differ_by_less_than_a_byte_are_asked_once(monkeypatch):
    name, _line = unit_and_line()
    asked = []
    one_by_one = scanning._asked  # noqa: SLF001 -- counted, and then done as ever
    monkeypatch.setattr(
        scanning,
        "_asked",
        lambda view, units, request: asked.append(units) or one_by_one(view, units, request),
    )
    words, units = seen(cars()[:2], {"scan": "live data", "unit": name})
    assert len(asked) == 1
    assert words[0] == words[1]
    assert len(units) == 2


def carried(value: float) -> tuple:
    _words, units = seen(cars()[:1], {"scan": "codes"})
    return tuple(
        replace(unit, values=dict.fromkeys(unit.values, value)) if unit.values else unit
        for unit in units[0]
    )


def test_a_key_says_what_the_bytes_say():
    one, near, far = carried(20.0), carried(20.0001), carried(60.0)
    same = [
        [parameter_data(unit, number) for unit in units for number in unit.values]
        for units in (one, near, far)
    ]
    assert same[0] == same[1] != same[2]
    assert to_the_byte(one) == to_the_byte(near) != to_the_byte(far)


def test_a_request_that_changes_what_a_unit_keeps_is_made_of_each():
    one, near = carried(20.0), carried(20.0001)
    heard = tuple(replace(unit, last_heard=7.0) for unit in one)
    changed = tuple(replace(unit, values={}) for unit in one)
    assert like(near, one, heard) == tuple(replace(unit, last_heard=7.0) for unit in near)
    assert like(near, one, changed) is None


def test_a_graph_asks_for_its_line_alone_once_it_is_found(monkeypatch):
    name, line = unit_and_line()
    asked = []
    one_by_one = dialogue.ask
    monkeypatch.setattr(
        dialogue,
        "ask",
        lambda bus, unit, request: asked.append(request) or one_by_one(bus, unit, request),
    )
    (live,), _units = seen(cars()[:1], {"scan": "live data", "unit": name})
    whole, asked[:] = list(asked), []
    (words,), _units = seen(
        cars()[:1], {"scan": "graph", "unit": name, "what": line, "over": "10 s"}
    )
    assert asked[: len(whole)] == whole
    (again,) = set(asked[len(whole) :])
    assert len(asked) == len(whole) + scanning.POINTS - 1
    assert len(again) == 2
    shown = next(one for one in live.split("; ") if line in one).partition(line)[2].strip()
    moments = words.removeprefix(f"{name}: ").split(", ")
    degrees = [float(moment.removesuffix(" °C")) for moment in moments]
    assert moments[0] == shown  # the engine then warms up
    assert degrees == sorted(degrees)
    assert len(degrees) == scanning.POINTS


def test_a_line_that_is_not_there_is_looked_for_at_every_moment():
    name, _line = unit_and_line()
    (words,), _units = seen(
        cars()[:1], {"scan": "graph", "unit": name, "what": "moon", "over": "10 s"}
    )
    assert words == f"{name}: {', '.join(['no moon'] * scanning.POINTS)}"
