"""`halfsplit check --all`: every shipped case on a line, and what its lesson's mistake costs.

Columns: causes that a student can get; par and V in minutes; the most steps on the best path;
groups of suspects that no reading tells apart, and of those how many would need different repairs;
causes whose own repair holds less than 95 % among what no reading tells from them (none is
allowed); and what is left of the efficiency by somebody who fits the likeliest part first, or who
swaps parts on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from grader.authoring import ambiguity_groups, depth
from grader.besttree import best_tree
from grader.casefile import read_case
from grader.draw import assignable
from grader.efficiency import charged_of, share_kept
from grader.game import Board, Game
from grader.judge import Judge
from grader.prepared import Prepared, prepare
from grader.score import par_minutes
from grader.solvers import parts_swapper, seeded
from grader.workers import SEED
from lessons.catalogue import CIRCUITS

PROVEN = 0.95  # share of its own repair that makes a cause provable; ours
HEAD = (
    f"{'case':<22}{'causes':>7}{'par':>7}{'V':>7}{'steps':>6}{'groups':>7}{'split':>6}"
    f"{'unprov.':>8}{'likeliest part first':>22}{'swaps on':>9}"
)


@dataclass(frozen=True, slots=True)
class Line:
    """What an author wants to know of a case, on one line; minutes, and shares of 1."""

    name: str
    causes: int
    par: float
    value: float
    steps: int
    groups: int
    split: int
    unproven: int
    habit: str
    habit_keeps: float
    swapper_keeps: float

    def text(self) -> str:
        """Return the line as it is printed under `HEAD`."""
        habit = f"{self.habit[:16]} {100 * self.habit_keeps:.0f} %"
        return (
            f"{self.name:<22}{self.causes:>7}{self.par:>7.1f}{self.value:>7.2f}{self.steps:>6}"
            f"{self.groups:>7}{self.split:>6}{self.unproven:>8}{habit:>22}"
            f"{100 * self.swapper_keeps:>7.0f} %"
        )


def overview(cases: Iterable[Path]) -> Iterator[str]:
    """Yield the table, lesson by lesson; each line as soon as it is known."""
    yield HEAD
    lesson = ""
    for path in cases:
        if path.parent.name != lesson:
            lesson = path.parent.name
            yield lesson
        yield line_of(prepare(read_case(path, CIRCUITS))).text()
    yield "kept of the efficiency: by fitting the likeliest part untested, and by swapping parts on"


def line_of(prepared: Prepared) -> Line:
    """Return the line of a case."""
    judge = Judge(prepared, prepared.lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    groups = ambiguity_groups(prepared)
    habit, keeps = habit_part(prepared, judge)
    return Line(
        name=prepared.case.name,
        causes=len(assignable(prepared.lineup)),
        par=par_minutes(prepared, start),
        value=start.upper,
        steps=depth(best_tree(prepared)),
        groups=len(groups),
        split=sum(len(group.units) > 1 for group in groups),
        unproven=len(unproven(prepared)),
        habit=habit,
        habit_keeps=keeps,
        swapper_keeps=swapper_keeps(prepared),
    )


def habit_part(prepared: Prepared, judge: Judge) -> tuple[str, float]:
    """Return the likeliest unit, and what is kept of the efficiency by mending it untested.

    Charged is the expected labour and price where it is the wrong one, and the way on from there,
    less V and its tolerance, as a step of the score would be.
    """
    start = judge.value(judge.possible, judge.situation)
    value = start.upper
    units = judge.units(judge.possible)
    unit = max(units, key=lambda name: judge.weight(judge.unit_mask(name)))
    mask = judge.unit_mask(unit)
    wrong, rest = 1.0 - judge.weight(mask) / judge.weight(judge.possible), judge.possible & ~mask
    later = judge.value(rest, judge.situation).upper if rest else 0.0
    minutes = prepared.case.minutes_of(prepared.case.unit(unit))
    excess = wrong * (minutes + later) - value
    return unit, share_kept(value, charged_of(excess, start))


def swapper_keeps(prepared: Prepared) -> float:
    """Return the expected share of the efficiency kept by somebody who swaps parts on."""
    board, total = Board(prepared), 0.0
    for truth, chance in enumerate(board.chances):
        game = Game(board, truth)
        parts_swapper(game, seeded(SEED))
        total += float(chance) * game.share
    return total


def unproven(prepared: Prepared) -> list[str]:
    """Return the assignable causes that no path can prove."""
    chances, suspects = prepared.likelihoods(), prepared.lineup.suspects
    seen = np.array([parts.member for parts in prepared.space.splits], dtype=np.int64)
    found = []
    for one in assignable(prepared.lineup):
        number = prepared.lineup.index(one.name)
        same = np.flatnonzero((seen == seen[:, [number]]).all(axis=0))
        own = [k for k in same if suspects[k].unit == one.unit]
        if chances[own].sum() < PROVEN * chances[same].sum():
            found.append(one.name)
    return found
