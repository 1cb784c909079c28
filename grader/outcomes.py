"""Every plain reading under every suspect: solved, banded, merged -> a policy problem.

The bench starts as the complaint leaves it: confirmed once, so that what the fault blows has blown.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from grader.bands import Split, split
from grader.choices import Choice, plain_choices
from grader.problem import Place, Problem, Suspect, Test, Unit
from grader.suspects import Lineup, asks_units, handed_over, play
from grader.told import healthy_number
from sim.action import Action
from sim.observe import Fleet, Outcome, observe_together
from sim.shared import Shared
from sim.situation import Memory, Situation


@dataclass(frozen=True, slots=True)
class TestSpace:
    """The plain readings that tell something, and how each splits the suspects."""

    __test__ = False  # not a class of tests for pytest

    choices: tuple[Choice, ...]
    splits: tuple[Split, ...]


def confirmed(lineup: Lineup, fleet: Fleet, *, scanned: bool = True) -> tuple[Situation, Memory]:
    """Return how the bench and every variant stand once the complaint has been confirmed.

    `scanned` tells whether anybody will ask control units what they carry.
    """
    doing = lineup.case.confirm.doing
    start = handed_over(lineup.case, fleet, scanned=scanned or asks_units(doing))
    situation, memory, _seen = play(fleet, *start, doing)
    return situation, memory


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a test space has been explored.

    Attributes
    ----------
    done, of : int
        Plain readings taken, and how many there are.
    fresh : tuple of (Choice, Split)
        Those since the last report that tell something.
    """

    done: int
    of: int
    fresh: tuple[tuple[Choice, Split], ...]


#: Readings between two reports of progress.
CHUNK = 200


def explore(
    lineup: Lineup,
    healthy: Fleet,
    begun: Sequence[Progress] = (),
    tell: Callable[[Progress], None] | None = None,
) -> TestSpace:
    """Take every plain reading on every suspect and keep those that split them.

    Of readings with the same split and the same places the cheapest is kept, then the one with
    fewer leads, then the first.

    Parameters
    ----------
    begun : sequence of Progress, optional
        What an earlier, stopped run told; it goes on after the last.
    tell : callable, optional
        Is told of every `CHUNK` readings; what it raises stops the work.
    """
    choices = plain_choices(lineup)
    found = [pair for progress in begun for pair in progress.fresh]
    taker = _Taker(lineup, healthy)
    for at in range(begun[-1].done if begun else 0, len(choices), CHUNK):
        chunk = choices[at : at + CHUNK]
        taken = zip(chunk, taker.take(chunk), strict=True)
        fresh = [(choice, parts) for choice, parts in taken if parts is not None]
        found += fresh
        if tell is not None:
            tell(Progress(at + len(chunk), len(choices), tuple(fresh)))
    return _cheapest(found)


class _Taker:
    """Takes plain readings on all suspects and healthy vehicles at once."""

    def __init__(self, lineup: Lineup, healthy: Fleet) -> None:
        self.lineup = lineup
        self.count = len(lineup.fleet.circuits)
        every = (*lineup.fleet.circuits, *healthy.circuits)
        self.fleet = Fleet.of(every, lineup.fleet.solver)
        self.start = confirmed(lineup, self.fleet, scanned=False)  # no plain reading asks them
        self.stands: dict[tuple[Action, ...], tuple[Situation, Memory]] = {(): self.start}
        self.prepared: tuple[Action, ...] = ()
        self.shared = Shared()

    def take(self, choices: Sequence[Choice]) -> Iterator[Split | None]:
        """Give how readings split the suspects; None if one tells nothing or hurts something."""
        for prepare, group in itertools.groupby(choices, lambda choice: choice.prepare):
            if prepare != self.prepared:
                self.prepared, self.shared = prepare, Shared()
            actions = [choice.action for choice in group]
            seen = observe_together(self.fleet, *self._after(prepare), actions, self.shared)
            yield from map(self._split, actions, seen)

    def _after(self, prepare: tuple[Action, ...]) -> tuple[Situation, Memory]:
        """Return how all stands after these actions; many readings begin with the same ones."""
        if prepare not in self.stands:
            before = self._after(prepare[:-1])
            self.stands[prepare] = play(self.fleet, *before, prepare[-1:])[:2]
        return self.stands[prepare]

    def _split(self, action: Action, seen: Outcome) -> Split | None:
        ours, sound = seen.only(slice(self.count)), seen.only(slice(self.count, None))
        if any(ours.harm) or len(ours.unsolved):
            return None
        parts = split(action, ours, self.lineup.corners, healthy_number(sound))
        if parts is None or len(parts.groups) < 2:  # noqa: PLR2004 -- one group tells nothing
            return None
        return parts


def _cheapest(found: Sequence[tuple[Choice, Split]]) -> TestSpace:
    best: dict[tuple[object, ...], tuple[float, int, int]] = {}
    for index, (choice, parts) in enumerate(found):
        key = (_canonical(parts.member), frozenset(choice.places))
        rank = (choice.minutes, choice.leads, index)
        if key not in best or rank < best[key]:
            best[key] = rank
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
