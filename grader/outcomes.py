"""Every plain reading under every suspect: solved, banded, merged -> a policy problem.

The bench starts as the complaint leaves it: confirmed once, so that what the fault blows has blown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grader.bands import Split, split
from grader.choices import Choice, plain_choices
from grader.problem import Place, Problem, Suspect, Test, Unit
from grader.suspects import Lineup, play, start_situation
from sim.action import Action
from sim.observe import Fleet, Outcome, observe
from sim.situation import Memory, Situation


@dataclass(frozen=True, slots=True)
class TestSpace:
    """The plain readings that tell something, and how each splits the suspects."""

    __test__ = False  # not a class of tests for pytest

    choices: tuple[Choice, ...]
    splits: tuple[Split, ...]


def confirmed(lineup: Lineup, fleet: Fleet) -> tuple[Situation, Memory]:
    """Return how the bench and every variant stand once the complaint has been confirmed."""
    situation = start_situation(lineup.case)
    memory = fleet.fresh_memory(situation)
    situation, memory, _seen = play(fleet, situation, memory, lineup.case.confirm.doing)
    return situation, memory


def healthy_number(outcome: Outcome) -> float:
    """Return the least that healthy vehicles show, 0 if they show words."""
    return 0.0 if outcome.numbers is None else float(np.abs(outcome.numbers).min())


def explore(lineup: Lineup, healthy: Fleet) -> TestSpace:
    """Take every plain reading on every suspect and keep those that split them.

    Of readings with the same split and the same places the cheapest is kept, then the one with
    fewer leads, then the first.
    """
    start = (confirmed(lineup, lineup.fleet), confirmed(lineup, healthy))
    prepared: dict[tuple[Action, ...], tuple[tuple[Situation, Memory], ...]] = {}
    best: dict[tuple[object, ...], tuple[float, int, int]] = {}
    found: list[tuple[Choice, Split]] = []
    for choice in plain_choices(lineup):
        if choice.prepare not in prepared:
            prepared = {
                choice.prepare: tuple(
                    play(fleet, *state, choice.prepare)[:2]
                    for fleet, state in zip((lineup.fleet, healthy), start, strict=True)
                )
            }
        ours, theirs = prepared[choice.prepare]
        seen = observe(lineup.fleet, *ours, choice.action)
        if any(seen.outcome.harm) or len(seen.outcome.unsolved):
            continue
        number = healthy_number(observe(healthy, *theirs, choice.action).outcome)
        parts = split(choice.action, seen.outcome, lineup.corners, number)
        if parts is None or len(parts.groups) < 2:  # noqa: PLR2004 -- one group tells nothing
            continue
        key = (_canonical(parts.member), frozenset(choice.places))
        rank = (choice.minutes, choice.leads, len(found))
        if key not in best or rank < best[key]:
            best[key] = rank
        found.append((choice, parts))
    kept = sorted(index for _minutes, _leads, index in best.values())
    return TestSpace(tuple(found[i][0] for i in kept), tuple(found[i][1] for i in kept))


def _canonical(member: np.ndarray) -> tuple[int, ...]:
    first: dict[int, int] = {}
    return tuple(first.setdefault(int(group), len(first)) for group in member)


def problem_of(lineup: Lineup, space: TestSpace, likelihoods: np.ndarray) -> Problem:
    """Return the policy problem of a case."""
    case = lineup.case
    units = tuple(dict.fromkeys(suspect.unit.name for suspect in lineup.suspects))
    return Problem(
        suspects=tuple(
            Suspect(s.name, float(p), s.unit.name)
            for s, p in zip(lineup.suspects, likelihoods, strict=True)
        ),
        tests=tuple(
            Test(f"{number}: {choice.name}", choice.minutes, parts.labels(), choice.places)
            for number, (choice, parts) in enumerate(zip(space.choices, space.splits, strict=True))
        ),
        places=tuple(
            Place(place.name, place.reach_minutes, place.again_minutes)
            for place in case.circuit.places.values()
        ),
        units=tuple(
            Unit(name, case.minutes_of(case.unit(name)), case.unit(name).places) for name in units
        ),
    )
