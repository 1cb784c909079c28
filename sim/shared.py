"""What readings of one situation have in common, worked out once.

Two readings that take the same time from the same bench differ in the instrument alone. Until its
leads are on, and again after they are off, all variants of the vehicle do the same; a `Shared`
keeps both. What is kept are arrays that nobody changes in place, so that a reading that shares them
shows the same bits as one taken by itself.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.doing import Doing
from sim.errors import RulesError
from sim.modules.held import alike
from sim.network import Floats
from sim.situation import Memory, Situation
from sim.solver.steady import Solution

MOST_KEPT = 12  # situations with their arrays: some MB each for a large vehicle; ours
OWN = ("wait", "renew")  # verbs of which a vehicle feels more than how the bench stands after


@dataclass(frozen=True, slots=True)
class Stage:
    """How a view stands at one point; see `sim.view.View` for each."""

    seconds: float
    clock: float
    before: Memory
    base: Floats
    rows: Floats
    fitted: Memory
    memory: Memory
    solution: Solution | None
    failed: npt.NDArray[np.bool_]
    restless: tuple[RulesError | None, ...]

    @classmethod
    def of(cls, view: object) -> Stage:
        """Return how a view stands now."""
        found: list[Any] = [getattr(view, name, None) for name in cls.__slots__]
        return cls(*found)

    def same(self, other: Stage) -> bool:
        """Tell whether the vehicles of two stages stand the same, whatever was solved last.

        The very same arrays; only fuses and failures may be other arrays that say the same.
        """
        alike = ("seconds", "clock", "restless")
        very = ("before", "base", "rows", "fitted")
        if any(getattr(self, name) != getattr(other, name) for name in alike):
            return False
        if any(getattr(self, name) is not getattr(other, name) for name in very):
            return False
        mine, theirs = self.memory, other.memory
        rest = (one.name for one in fields(Memory) if one.name != "blown")
        return (
            all(getattr(mine, name) is getattr(theirs, name) for name in rest)
            and bool((mine.blown == theirs.blown).all())
            and bool((self.failed == other.failed).all())
        )


@dataclass(frozen=True, slots=True)
class Still:
    """How vehicles stand with no instrument on, and what it was worked out from.

    `rows` are those that the solving has left.
    """

    rows: Floats
    clock: float
    memory: Memory
    solution: Solution

    def holds(self, rows: Floats, clock: float, memory: Memory) -> bool:
        """Tell whether vehicles that stand like this have this solution, to the bit."""
        mine, other = self.memory, memory
        if rows is not self.rows or clock != self.clock:
            return False
        relays = np.array_equal(mine.closed, other.closed)
        if not (relays and np.array_equal(mine.blown, other.blown)):
            return False
        one, two = mine.modules, other.modules
        return one is two or (one is not None and two is not None and alike(one, two))


@dataclass(frozen=True, slots=True)
class Stood:
    """How vehicles stood before the hands began, while no fuse blew.

    `limits` (V, F) are the currents in A that would have opened each fuse of the vehicle. Work of
    another length differs in these alone; whatever blows no fuse blows none with higher ones.
    """

    limits: Floats
    solution: Solution

    def holds(self, limits: Floats) -> bool:
        """Tell whether vehicles whose fuses have these limits have this solution, to the bit."""
        return bool((limits >= self.limits).all())


@dataclass(frozen=True, slots=True)
class Shared:
    """Stages of one fleet with one memory; give each `observe` from there the same.

    Attributes
    ----------
    begun, ended : dict
        Before the leads are on, and once they are off again, by what the vehicles feel of an
        action; the oldest goes once there are `MOST_KEPT`.
    stood : dict
        Before the hands begin, by what the vehicles feel of the bench.
    """

    begun: dict[Hashable, Stage] = field(default_factory=dict)
    ended: dict[Hashable, Stage] = field(default_factory=dict)
    stood: dict[Hashable, Stood] = field(default_factory=dict)


def keep(stages: dict[Hashable, Stage], key: Hashable, stage: Stage) -> None:
    """Keep a stage, and let the oldest go."""
    if len(stages) >= MOST_KEPT:
        del stages[next(iter(stages))]
    stages[key] = stage


def felt(start: Situation, after: Situation, doing: Doing, *, leads: bool) -> Hashable:
    """Return what vehicles feel of an action before its leads are on, as a key."""
    return (
        electrical(start),
        electrical(after),
        doing if doing.verb in OWN else None,
        leads,
    )


def electrical(situation: Situation) -> Situation:
    """Return a situation without what no circuit feels: leads at rest, hands, minutes."""
    return replace(
        situation,
        red="",
        black="",
        reached=(),
        here=(),
        minutes=0.0,
        changed=0.0,
        leads_zeroed=True,
        clamp_zeroed=math.inf,
        jack="",
    )
