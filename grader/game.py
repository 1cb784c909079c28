"""A case played on its policy problem: the regret of the bench, some hundred times faster.

A player takes readings, each whole (set up, read, put back), and has units repaired, until the
right one has been. A step's regret is the judge's,

    regret = max(0, minutes + sum over what it could have shown of P V(after) - V(before)),

and what is free of it is what `grader.fairness` lets pass. The vehicle is handed over with the
complaint confirmed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from grader.bands import Split
from grader.casefile import Case
from grader.choices import Choice
from grader.efficiency import charged_of, share_kept
from grader.fairness import Allowance
from grader.outcomes import problem_of
from grader.policy import Bounds, Policy
from grader.prepared import Prepared
from grader.suspects import play
from sim.action import Action
from sim.situation import Situation

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """A whole reading a player may take: the choice, and the suspects behind each outcome."""

    choice: Choice
    labels: tuple[str, ...]
    groups: tuple[int, ...]
    member: tuple[int, ...]

    @classmethod
    def of(cls, choice: Choice, parts: Split) -> Reading:
        """Make a reading of how it splits the suspects."""
        member = tuple(int(group) for group in parts.member)
        groups = [0] * len(parts.groups)
        for suspect, group in enumerate(member):
            groups[group] |= 1 << suspect
        labels = tuple(" or ".join(names) for names in parts.groups)
        return cls(choice, labels, tuple(groups), member)


def live_settings(case: Case) -> tuple[Action, ...]:
    """Return what sets the controls as the customer had them."""
    settings = [setting for action in case.shows[0].doing for setting in action.settings]
    return (Action("set", settings=tuple(settings)),)


class Board:
    """What all plays of a case share: readings, prices, likelihoods, and the policy's memory.

    Parameters
    ----------
    prepared : Prepared
    more : sequence of Reading
        Readings beyond the plain ones of the test space, that somebody takes by habit.
    chances : array, optional
        Other likelihoods of the suspects, summing to 1.
    """

    def __init__(
        self, prepared: Prepared, more: Sequence[Reading] = (), chances: Floats | None = None
    ) -> None:
        self.prepared, space = prepared, prepared.space
        plain = map(Reading.of, space.choices, space.splits)
        self.readings: tuple[Reading, ...] = (*plain, *more)
        self.policy: Policy = prepared.policy()
        self.chances: Floats = np.asarray(prepared.likelihoods(), dtype=np.float64)
        if chances is not None:
            self.chances = chances
            self.policy = Policy(problem_of(prepared.lineup, space, chances))
        suspects = prepared.lineup.suspects
        self.units = tuple(dict.fromkeys(suspect.unit.name for suspect in suspects))
        self.unit_of = tuple(self.units.index(suspect.unit.name) for suspect in suspects)
        self.places = tuple(place.name for place in self.policy.problem.places)
        self.reach: Floats = np.array([p.minutes for p in self.policy.problem.places])
        self.again: Floats = np.array([p.again for p in self.policy.problem.places])
        self.home = np.array([[p in s.unit.places for p in self.places] for s in suspects])
        self.minutes: Floats = np.array([r.choice.minutes for r in self.readings])
        self.touches = np.array(
            [[p in r.choice.places for p in self.places] for r in self.readings], dtype=bool
        )
        self.member = np.array([r.member for r in self.readings], dtype=np.int64)
        self.live = live_settings(prepared.case)
        self.start = self._handed_over()
        self.value = self.policy.value(self.policy.everything).upper

    def _handed_over(self) -> Situation:
        """Return the bench once the complaint has been confirmed."""
        case = self.prepared.case
        watching = [Action("watch", effect) for effect, _answer in case.confirm.sees]
        actions = [*case.confirm.doing, *watching]
        memory = self.prepared.memories()[1]
        return play(self.prepared.healthy, self.prepared.start, memory, actions)[0]

    def with_chances(self, chances: Floats) -> Board:
        """Return the same board under other likelihoods, summing to 1."""
        more = self.readings[len(self.prepared.space.choices) :]
        return Board(self.prepared, more, chances)

    def mask(self, suspects: int) -> npt.NDArray[np.bool_]:
        """Return a set of suspects as a bool array."""
        return np.array([suspects >> k & 1 for k in range(len(self.chances))], dtype=bool)

    def weight(self, suspects: int) -> float:
        """Return the probability of a set of suspects."""
        return float(self.chances[self.mask(suspects)].sum())

    def unit_bits(self, unit: int) -> int:
        """Return the suspects of a unit, as bits."""
        return sum(1 << k for k, held in enumerate(self.unit_of) if held == unit)

    def price_of_wrong(self, unit: int) -> float:
        """Return what a unit costs in minutes where it is not the cause."""
        case = self.prepared.case
        return case.minutes_of(case.unit(self.units[unit]))


@dataclass(slots=True)
class Game:
    """One play on one cause.

    Attributes
    ----------
    board : Board
    truth : int
        Number of the suspect that is the cause.
    possible : int
        Suspects that the evidence leaves, for the ideal observer, as bits.
    opened, here : int
        Places reached, and where the hands are, as bits.
    charged : float
        Regret that counts so far, before the path's tolerance, minutes.
    drift : float
        Sum of Q - V without floors; cost less drift is V on average over all causes.
    spent : float
        Minutes so far, wrong repairs included.
    moves : list
        Readings by number, and ~unit for a repair.
    mended : bool
    """

    board: Board
    truth: int
    possible: int = 0
    opened: int = 0
    here: int = 0
    charged: float = 0.0
    drift: float = 0.0
    spent: float = 0.0
    moves: list[int] = field(default_factory=list)
    mended: bool = False
    allowance: Allowance | None = None

    def __post_init__(self) -> None:
        """Take over the vehicle, the complaint confirmed."""
        board = self.board
        self.possible = board.policy.everything
        names, start = board.places, board.start
        self.opened = sum(1 << names.index(place) for place in start.reached)
        self.here = sum(1 << names.index(place) for place in start.here)
        case = board.prepared.case
        self.allowance = Allowance(case)
        self.allowance.confirmed = {effect for effect, _answer in case.confirm.sees}

    def way(self, reading: int) -> float:
        """Return the minutes of the ways that a reading takes from here."""
        board, total = self.board, 0.0
        for place in np.flatnonzero(board.touches[reading]):
            if not self.here >> int(place) & 1:
                came = self.opened >> int(place) & 1
                total += float(board.again[place] if came else board.reach[place])
        return total

    def prices(self, mask: npt.NDArray[np.bool_]) -> Floats:
        """Return the expected minutes of every reading, in the eyes of a belief (bool array)."""
        board = self.board
        chances = board.chances[mask]
        away = 1.0 - (chances @ board.home[mask]) / chances.sum()
        opened = np.array([self.opened >> k & 1 for k in range(len(board.places))], dtype=bool)
        here = np.array([self.here >> k & 1 for k in range(len(board.places))], dtype=bool)
        ways = np.where(opened, board.again, board.reach * away) * ~here
        return np.asarray(board.minutes + board.touches @ ways, dtype=np.float64)

    def take(self, reading: int) -> int:
        """Take a reading; return the suspects that fit what it showed, as bits."""
        board, taken = self.board, self.board.readings[reading]
        spent = taken.choice.minutes + self.way(reading)
        expected = float(self.prices(board.mask(self.possible))[reading])
        before = self._value()
        touched = sum(1 << int(place) for place in np.flatnonzero(board.touches[reading]))
        opened, here = self.opened | touched, touched or self.here
        parts = [group & self.possible for group in taken.groups if group & self.possible]
        quality = board.policy.quality_of_split(self.possible, parts, expected, opened, here)
        self._count(quality, before, free=self._free(taken.choice, spent))
        self.spent += spent
        self.opened, self.here = opened, here
        group = taken.groups[taken.member[self.truth]]
        self.possible &= group
        self.moves.append(reading)
        return group

    def call(self, unit: int) -> bool:
        """Have a unit repaired; return whether it held the cause."""
        board, mask = self.board, self.board.unit_bits(unit)
        outside, right = self.possible & ~mask, board.unit_of[self.truth] == unit
        before, price = self._value(), board.price_of_wrong(unit)
        quality = Bounds(0.0, 0.0)
        if outside:
            share = board.weight(outside) / board.weight(self.possible)
            behind = board.policy.value(outside, self.opened, self.here)
            low, high = (share * (price + bound) for bound in (behind.lower, behind.upper))
            quality = Bounds(low, high)
        self._count(quality, before, free="")
        self.moves.append(~unit)
        if self.allowance is not None:
            self.allowance.repaired()
        self.mended = right
        if not right:
            self.spent += price
            self.possible = outside or self.possible
        return right

    def _value(self) -> Bounds:
        return self.board.policy.value(self.possible, self.opened, self.here)

    def _count(self, quality: Bounds, before: Bounds, *, free: str) -> None:
        self.drift += (quality.lower + quality.upper - before.lower - before.upper) / 2
        if not free:
            self.charged += max(0.0, quality.lower - before.upper)

    def _free(self, choice: Choice, minutes: float) -> str:
        """Return why a reading is free of regret, empty if it is not."""
        case, board = self.board.prepared.case, self.board
        held = {unit for k, unit in enumerate(board.unit_of) if self.possible >> k & 1}
        price = case.unit(board.units[min(held)]).cheapest.price if len(held) == 1 else None
        actions = (*choice.prepare, choice.action)
        if self.allowance is None:
            return ""
        return self.allowance.use(actions, board.start, minutes, price)

    @property
    def excess(self) -> float:
        """Minutes spent beyond the right repair: the way to where it goes is on every path."""
        places = [k for k in range(len(self.board.places)) if self.opened >> k & 1]
        return self.spent - sum(
            float(self.board.reach[place]) for place in places if self.board.home[self.truth, place]
        )

    @property
    def share(self) -> float:
        """Share of the efficiency that the path keeps, 0 to 1, as on the sheet."""
        start = self.board.policy.value(self.board.policy.everything)
        return share_kept(start.upper, charged_of(self.charged, start))
