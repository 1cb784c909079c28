"""The plain readings: each can be taken, costs what it says, and is one a technician explains."""

from collections import Counter
from functools import cache
from types import SimpleNamespace

import pytest

from grader.casefile import read_case
from grader.choices import Choice, plain_choices, relevant_parts
from grader.outcomes import confirmed
from grader.suspects import play
from lessons.catalogue import CIRCUITS, case_path
from sim.access import probe_points, wire_places
from sim.action import action_from_json
from sim.cautions import cautions
from sim.circuit import BODY
from sim.observe import observe
from sim.parts import FAMILIES
from sim.situation import Situation
from sim.solver.steady import Solver
from tests.grader.foggy import foggy, prepared

BACK = {"pull": "insert", "unplug": "plug"}


@cache
def choices() -> tuple[Choice, ...]:
    return plain_choices(prepared().lineup)


def test_there_are_many_and_each_has_its_own_name():
    names = Counter(c.name for c in choices())
    twice = {name for name, count in names.items() if count > 1}
    circuit, network = foggy().circuit, prepared().lineup.fleet.solver.network
    relevant = relevant_parts(prepared().lineup, network)
    live, dead = "key run, heater switch on", "key off, heater switch off"
    for point in probe_points(circuit):  # as it stands: each point by each instrument
        if point.partition(".")[0] in relevant:
            ways = [f"volts at {point} ({live})", f"test lamp at {point} ({live})"]
            ways += [f"volts at {point} ({dead})", f"ohms {point} to body ({dead})"]
            assert names.keys() >= set(ways)
    apart = {a.target for c in choices() for a in c.prepare if a.verb in ("pull", "unplug")}
    families = {name: FAMILIES[circuit.parts[name].kind] for name in relevant}
    assert apart == {name for name, f in families.items() if f.removable or f.separable}
    # a wire can be clamped at either end, the relay's wires at one place
    assert all(name.startswith("clamp on wire") for name in twice)


def minutes_without_ways(situation: Situation, choice: Choice) -> float:
    """Do a choice and undo it on the healthy van; add up what it takes where hands already are."""
    fleet = prepared().healthy
    memory = fleet.fresh_memory()
    actions = [*choice.prepare, choice.action]
    for action in reversed(choice.prepare):
        if action.verb in BACK:
            actions.append(action_from_json({BACK[action.verb]: action.target}))
        elif action.verb == "swap":
            actions.append(action)
    everywhere = tuple(foggy().circuit.places)
    total = 0.0
    for action in actions:
        there = Situation(
            **{
                **{name: getattr(situation, name) for name in Situation.__slots__},
                "here": everywhere,
                "reached": everywhere,
            }
        )
        seen = observe(fleet, there, memory, action)
        total += seen.price.minutes
        situation, memory = seen.situation, seen.memory
    assert situation.apart == ()
    assert situation.swapped == ()
    return total


@pytest.mark.parametrize("part", range(4))
def test_every_choice_can_be_taken_and_undone_and_costs_what_it_says(part):
    start, _memory = confirmed(prepared().lineup, prepared().healthy)
    for choice in choices()[part::16]:
        assert minutes_without_ways(start, choice) == pytest.approx(choice.minutes), choice.name


def test_every_choice_names_the_places_it_touches():
    start, memory = confirmed(prepared().lineup, prepared().healthy)
    start = Situation(controls=start.controls)
    for choice in choices()[::13]:
        situation, _memory, _seen = play(
            prepared().healthy, start, memory, [*choice.prepare, choice.action]
        )
        other = set(situation.reached) - set(choice.places)
        if choice.action.verb == "clamp":  # a wire has two ends, the nearer is taken
            assert other <= set(wire_places(foggy().circuit, choice.action.target))
        else:
            assert set(situation.reached) == set(choice.places), choice.name


def test_volts_have_one_lead_on_the_body_or_cross_at_most_two_joints():
    network = prepared().lineup.fleet.solver.network
    joints = {frozenset((e.a, e.b)): int(e.joint) for e in network.elements}
    loads = (" grid", " coil", " lamp", " chafe", " diode", " welded", " short")
    for choice in choices():
        action = choice.action
        if action.verb != "measure" or BODY in (action.red, action.black):
            continue
        # the shortest way by joints, never through a load or the body (Dijkstra, small numbers)
        best, queue = {action.red: 0}, [action.red]
        while queue:
            at = queue.pop(0)
            for element in network.elements:
                ends = (element.a, element.b)
                if at not in ends or BODY in ends or element.name.endswith(loads):
                    continue
                if element.name == "B1":
                    continue
                other = ends[1] if at == ends[0] else ends[0]
                cost = best[at] + joints[frozenset(ends)]
                if cost < best.get(other, 99):
                    best[other] = cost
                    queue.append(other)
        assert best[action.black] <= 2, choice.name


def test_ohms_are_taken_dead_and_nothing_else_by_habit():
    for choice in choices():
        settings = dict(s for a in choice.prepare for s in a.settings)
        if choice.action.target == "ohms":
            assert settings == {"key": "off", "heater switch": "off"}
        verbs = {action.verb for action in choice.prepare}
        assert verbs <= {"set", "wait", "pull", "unplug", "swap"}
        assert len(verbs - {"set", "wait"}) <= 1
        assert choice.action.target not in ("amps", "diode", "continuity")


def test_a_window_that_takes_five_minutes_is_no_reading_of_the_yardstick():
    watched = {c.action.target for c in choices() if c.action.verb == "watch"}
    assert watched == {"switch lamp lights", "horn sounds"}


def test_leads_are_counted():
    for choice in choices():
        action = choice.action
        points = [p for p in (action.red, action.black) if p and p != BODY]
        assert choice.leads == (len(points) if action.verb in ("measure", "lamp") else 0)
        known = probe_points(foggy().circuit, foggy().circuit.parts)
        assert all(point in known for point in points)


def everything(case: str) -> tuple[Choice, ...]:
    """Give the readings of a shipped case in which every part is in question."""
    read = read_case(case_path(case), CIRCUITS)
    fleet = SimpleNamespace(solver=Solver.of(read.circuit))
    suspects = [SimpleNamespace(parts=frozenset(read.circuit.parts))]
    return plain_choices(SimpleNamespace(case=read, fleet=fleet, suspects=suspects))


@pytest.mark.parametrize("name", ["foggy-window", "cold-at-the-lights"])
def test_no_reading_of_the_yardstick_goes_against_a_caution(name):
    """The best path is never one that loses marks for safe work."""
    case = read_case(case_path(name), CIRCUITS)
    seen = set()
    for choice in everything(name):
        controls, apart = dict(case.start), []
        for action in choice.prepare:
            controls |= dict(action.settings)
            apart += [action.target] * (action.verb in BACK)
        stands = Situation(controls=tuple(controls.items()), apart=tuple(apart))
        breached = [c for c in cautions(case.circuit, stands, choice.action) if c.breached]
        assert breached == [], choice.name
        seen.add(choice.action.verb)
    assert seen >= {"lamp", "measure", "clamp", "look", "feel"}


def test_a_lamp_is_held_to_supplies_and_not_to_a_modules_inputs_and_outputs():
    found = everything("cold-at-the-lights")
    names = {c.name.partition(" (")[0] for c in found if all(a.verb == "set" for a in c.prepare)}
    assert {"test lamp at A1.30", "volts at A1.4", "volts at M1.C"} <= names
    assert names.isdisjoint({"test lamp at A1.4", "test lamp at M1.C", "test lamp at R4.1"})
