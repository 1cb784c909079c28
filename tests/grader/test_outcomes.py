"""Plain readings under every suspect: what is told apart, and that it holds for every student."""

import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

import grader.outcomes
from grader.bands import Split, band_of, split
from grader.outcomes import TestSpace, confirmed, explore, problem_of
from grader.policy import Policy
from grader.possible import set_values
from grader.suspects import Lineup, corner_circuits, line_up, play
from grader.told import healthy_number
from sim.display import shown
from sim.faults import with_faults
from sim.observe import Fleet, observe
from sim.solver.steady import LEAK, Solver
from tests.grader.foggy import foggy, prepared

VANS = 3  # a suspect, somewhere between the corners


def test_every_reading_kept_tells_something():
    space = prepared().space
    assert len(space.choices) == len(space.splits) > 100
    for parts in space.splits:
        assert len(parts.groups) >= 2
        assert set(parts.member.tolist()) == set(range(len(parts.groups)))


def test_of_readings_that_tell_the_same_at_the_same_places_one_is_kept():
    seen = set()
    for choice, parts in zip(prepared().space.choices, prepared().space.splits, strict=True):
        first: dict[int, int] = {}
        split = tuple(first.setdefault(int(g), len(first)) for g in parts.member)
        assert (split, frozenset(choice.places)) not in seen
        seen.add((split, frozenset(choice.places)))


def test_the_cheapest_is_kept_then_the_one_with_fewer_leads_then_the_first(monkeypatch):
    choice = next(c for c in prepared().space.choices if c.action.verb == "listen")
    dear, cheap = replace(choice, minutes=9.0), replace(choice, minutes=0.1, leads=2)
    fewer, same = replace(cheap, leads=1, name="fewer"), replace(cheap, leads=1, name="same")
    elsewhere = replace(choice, places=("fuse panel",))
    listed = (dear, cheap, fewer, same, elsewhere)
    monkeypatch.setattr(grader.outcomes, "plain_choices", lambda _lineup: listed)
    space = explore(prepared().lineup, prepared().healthy)
    assert space.choices == (fewer, elsewhere)


def test_one_policy_serves_every_student():
    """Vans drawn between the corners: each suspect shows what the policy says it shows."""
    rng = random.Random(20)  # noqa: S311 -- not for secrets
    lineup = prepared().lineup
    circuits = [
        with_faults(
            set_values(foggy().circuit, {n: rng.uniform(*s) for n, s in foggy().varies.items()}),
            suspect.faults,
        )
        for suspect in lineup.suspects
        for _van in range(VANS)
    ]
    fleet, healthy = Fleet.of(circuits, lineup.fleet.solver), prepared().healthy
    ours, theirs = confirmed(lineup, fleet), confirmed(lineup, healthy)
    for choice, parts in zip(prepared().space.choices, prepared().space.splits, strict=True):
        one = play(fleet, *ours, choice.prepare)[:2]
        two = play(healthy, *theirs, choice.prepare)[:2]
        seen = observe(fleet, *one, choice.action)
        number = healthy_number(observe(healthy, *two, choice.action).outcome)
        for lane in range(len(circuits)):
            reading = shown(choice.action, seen.situation, seen.outcome, lane)
            group = parts.group_of(band_of(choice.action, reading, number))
            assert group == parts.member[lane // VANS], (choice.name, reading)


def test_the_bench_starts_with_what_the_complaint_has_blown():
    lineup = prepared().lineup
    situation, memory = confirmed(lineup, lineup.fleet)
    assert dict(situation.controls)["heater switch"] == "on"
    assert situation.clock == 300.0
    names = lineup.fleet.solver.network.fuse_names
    blown = memory.blown.reshape(len(lineup.suspects), lineup.corners, -1)
    for suspect, rows in zip(lineup.suspects, blown, strict=True):
        short = any(f.way == "short to ground" for f in suspect.faults)
        open_too = any(f.point == "F7" for f in suspect.faults)
        assert rows[:, names.index("F7")].all() == (short and not open_too)


def test_the_problem_is_the_case_in_minutes():
    problem = prepared().policy().problem
    case = foggy()
    assert [s.name for s in problem.suspects] == [s.name for s in prepared().lineup.suspects]
    assert sum(s.weight for s in problem.suspects) == pytest.approx(1.0)
    places = {p.name: (p.minutes, p.again) for p in problem.places}
    assert places["tailgate inside"] == (9.0, 1.0)
    for unit in problem.units:
        assert unit.minutes == case.minutes_of(case.unit(unit.name))
        assert unit.places == case.unit(unit.name).places
    for test, choice in zip(problem.tests, prepared().space.choices, strict=True):
        assert (test.minutes, test.places) == (choice.minutes, choice.places)


def retake(lineup: Lineup, healthy: Fleet) -> list[Split | None]:
    """Take the readings of the usual test space on other suspects."""
    ours, theirs = confirmed(lineup, lineup.fleet), confirmed(lineup, healthy)
    found = []
    for choice in prepared().space.choices:
        one = play(lineup.fleet, *ours, choice.prepare)[:2]
        two = play(healthy, *theirs, choice.prepare)[:2]
        seen = observe(lineup.fleet, *one, choice.action).outcome
        number = healthy_number(observe(healthy, *two, choice.action).outcome)
        found.append(split(choice.action, seen, lineup.corners, number))
    return found


def first_step(lineup: Lineup, splits: Sequence[Split | None]) -> str:
    """Name the best first step where these readings split the suspects so."""
    pairs = [
        (choice, parts)
        for choice, parts in zip(prepared().space.choices, splits, strict=True)
        if parts is not None
    ]
    space = TestSpace(*(tuple(side) for side in zip(*pairs, strict=True)))
    policy = Policy(problem_of(lineup, space, lineup.likelihoods))
    best = policy.best(policy.everything)
    assert best.kind == "test"
    return space.choices[best.index].name


LISTEN = "listen to K3 (switching heater switch on)"


def test_the_best_path_begins_like_a_technician():
    assert first_step(prepared().lineup, prepared().space.splits) == LISTEN


def test_ten_times_the_leak_changes_no_reading():
    lineup = line_up(foggy(), Solver.of(foggy().circuit, leak=10 * LEAK))
    healthy = Fleet.of(corner_circuits(foggy()), lineup.fleet.solver)
    for ours, theirs in zip(retake(lineup, healthy), prepared().space.splits, strict=True):
        assert ours.groups == theirs.groups
        assert np.array_equal(ours.member, theirs.member)


def scaled(factor: float) -> tuple[Lineup, Fleet]:
    """Give the suspects, at two corners, with every listed resistance larger or smaller."""
    usual = prepared().lineup
    corners = [corner_circuits(foggy())[which] for which in (0, -1)]
    suspects = tuple(
        replace(
            suspect,
            faults=tuple(
                replace(fault, severity=fault.severity * factor)
                if fault.severity is not None and fault.way != "line open"
                else fault
                for fault in suspect.faults
            ),
        )
        for suspect in usual.suspects
    )
    circuits = [with_faults(c, s.faults) for s in suspects for c in corners]
    fleet = Fleet.of(circuits, usual.fleet.solver)
    healthy = Fleet.of(corners, usual.fleet.solver)
    return replace(usual, suspects=suspects, fleet=fleet, corners=2), healthy


@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_severities_a_third_off_do_not_change_the_first_step(factor):
    lineup, healthy = scaled(factor)
    assert first_step(lineup, retake(lineup, healthy)) == LISTEN
