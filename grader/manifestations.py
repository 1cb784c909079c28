"""Readings that are not certain: an intermittent fault, a meter near the edge of a band.

A test may show one of several things under one suspect, each with a chance. Such a suspect is
expanded into one for every way its doubtful tests may fall, a *manifestation*, with the product of
their chances: then every outcome is certain again, and the policy of `grader.policy` is the best
one by expectation. A likelihood ratio of readings is a ratio of sums of manifestations, so that ::

    P(s | readings)  is proportional to  likelihood(s) * sum over manifestations of s that would
                                         show all readings of their chances

Assumptions: given the cause, what one test shows does not depend on what another shows; and a
test taken again shows the same (what comes and goes does so with its conditions, which are part of
the test, and a meter's error stays the meter's). So nothing is learned from reading twice.
Manifestations multiply; many doubtful tests under one suspect are refused, not sampled.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from grader.errors import ProblemError
from grader.problem import MOST_SUSPECTS, Problem, Suspect, Test

#: Chances of one suspect may miss 1 by so much.
SLIP = 1e-9


@dataclass(frozen=True, slots=True)
class DoubtfulTest:
    """A test whose outcome is not certain: for each suspect, label -> chance."""

    name: str
    minutes: float
    chances: tuple[Mapping[str, float], ...]
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Expansion:
    """A certain problem made of an uncertain one.

    Attributes
    ----------
    problem : Problem
        Its suspects are manifestations.
    owner : tuple of int
        Suspect of each manifestation.
    """

    problem: Problem
    owner: tuple[int, ...]

    def posterior(self, readings: Mapping[int, str]) -> tuple[float, ...]:
        """Return the probability of each suspect after readings (index of test -> label).

        Raises
        ------
        ProblemError
            No suspect would show these readings.
        """
        left = self.left(readings)
        parts: list[list[float]] = [[] for _ in range(max(self.owner) + 1)]
        for row in range(len(self.owner)):
            if left >> row & 1:
                parts[self.owner[row]].append(self.problem.suspects[row].weight)
        sums = [math.fsum(part) for part in parts]
        whole = math.fsum(sums)
        if whole == 0.0:
            raise ProblemError(f"readings {dict(readings)}: no suspect shows them; check the last")
        return tuple(part / whole for part in sums)

    def left(self, readings: Mapping[int, str]) -> int:
        """Return the manifestations that would show all readings, as bits."""
        return sum(
            1 << row
            for row in range(len(self.owner))
            if all(self.problem.tests[t].outcomes[row] == label for t, label in readings.items())
        )


def expand(problem: Problem, doubtful: Sequence[DoubtfulTest]) -> Expansion:
    """Make every outcome certain.

    Parameters
    ----------
    problem : Problem
        Its own tests are certain.
    doubtful : sequence of DoubtfulTest
        They stand behind the problem's own tests.

    Raises
    ------
    ProblemError
        Chances that are no chances, or more manifestations than a problem may have suspects.
    """
    for test in doubtful:
        _check(test, len(problem.suspects))
    rows: list[tuple[int, tuple[str, ...], float]] = []
    for index, suspect in enumerate(problem.suspects):
        ways = [[(o, p) for o, p in t.chances[index].items() if p > 0.0] for t in doubtful]
        count = math.prod(len(way) for way in ways)
        if len(rows) + count > MOST_SUSPECTS:
            raise ProblemError(
                f"suspect {suspect.name!r}: {count} manifestations are too many with the"
                f" {len(rows)} before, allowed {MOST_SUSPECTS}; pool what these tests show"
            )
        for shown in itertools.product(*ways):
            chance = math.prod(p for _, p in shown)
            rows.append((index, tuple(o for o, _ in shown), suspect.weight * chance))
    return Expansion(_certain(problem, doubtful, rows), tuple(index for index, _, _ in rows))


def _certain(
    problem: Problem,
    doubtful: Sequence[DoubtfulTest],
    rows: Sequence[tuple[int, tuple[str, ...], float]],
) -> Problem:
    suspects = tuple(
        Suspect(f"{problem.suspects[index].name} #{number}", weight, problem.suspects[index].unit)
        for number, (index, _, weight) in enumerate(rows)
    )
    tests = tuple(
        replace(test, outcomes=tuple(test.outcomes[index] for index, _, _ in rows))
        for test in problem.tests
    )
    more = tuple(
        Test(test.name, test.minutes, tuple(shown[at] for _, shown, _ in rows), test.places)
        for at, test in enumerate(doubtful)
    )
    return replace(problem, suspects=suspects, tests=tests + more)


def _check(test: DoubtfulTest, suspects: int) -> None:
    where = f"test {test.name!r}"
    if len(test.chances) != suspects:
        raise ProblemError(
            f"{where}: chances for {len(test.chances)} suspects, must be for {suspects}: one each"
        )
    for index, chances in enumerate(test.chances):
        total = math.fsum(chances.values())
        if any(not p >= 0.0 for p in chances.values()) or not abs(total - 1.0) <= SLIP:
            raise ProblemError(
                f"{where}: chances {dict(chances)} of suspect {index} must not be negative and"
                " must add up to 1"
            )
