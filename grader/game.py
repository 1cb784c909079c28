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
from sim.access import lead_minutes, probe_points
from sim.action import Action
from sim.instruments.registry import VERBS
from sim.situation import Situation

Floats = npt.NDArray[np.float64]
LEADS_ON = frozenset(verb for verb, one in VERBS.items() if one.leads)


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


def complaint_confirmed(prepared: Prepared) -> Situation:
    """Return the bench once the complaint has been confirmed."""
    case = prepared.case
    watching = [Action("watch", effect) for effect, _answer in case.confirm.sees]
    actions = [*case.confirm.doing, *watching]
    return play(prepared.healthy, prepared.start, prepared.healthy_memory(), actions)[0]


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
        self.start = complaint_confirmed(prepared)
        self.value = self.policy.value(self.policy.everything).upper

    def with_chances(self, chances: Floats) -> Board:
        """Return the same board under other likelihoods, summing to 1."""
        more = self.readings[len(self.prepared.space.choices) :]
        return Board(self.prepared, more, chances)

    def places_in(self, bits: int) -> npt.NDArray[np.bool_]:
        """Return a set of places as a bool array."""
        return np.array([bits >> k & 1 for k in range(len(self.places))], dtype=bool)

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
    leads : two str
        Points that the red and the black lead rest on; empty in the air.
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
    leads: tuple[str, str] = ("", "")

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

    def prices(self, mask: npt.NDArray[np.bool_]) -> Floats:
        """Return the expected minutes of every reading, in the eyes of a belief (bool array).

        Leads are counted as if they had to be put on anew.
        """
        board = self.board
        return np.asarray(board.minutes + board.touches @ self._ways(mask), dtype=np.float64)

    def _ways(self, mask: npt.NDArray[np.bool_] | None = None) -> Floats:
        """Return the minutes of the way to every place from here: as they are, or as expected.

        The first way to a place counts, for a belief, only as far as the cause may lie elsewhere.
        """
        board, first = self.board, self.board.reach
        if mask is not None:
            chances = board.chances[mask]
            first = first * (1.0 - (chances @ board.home[mask]) / chances.sum())
        opened, here = board.places_in(self.opened), board.places_in(self.here)
        return np.asarray(np.where(opened, board.again, first) * ~here, dtype=np.float64)

    def _as_leads_rest(self, reading: int) -> tuple[float, npt.NDArray[np.bool_]]:
        """Return a reading's minutes without ways, and the places it touches, as the leads lie.

        A lead that rests where it is wanted costs nothing and calls no hand there.
        """
        board, choice = self.board, self.board.readings[reading].choice
        wanted = (choice.action.red, choice.action.black)
        if choice.action.verb not in LEADS_ON or self.leads == ("", ""):
            return choice.minutes, board.touches[reading]
        set_up = [action for action in choice.prepare if action.verb != "set"]
        points = probe_points(board.prepared.case.circuit, {one.target for one in set_up})
        rests = [
            points[point]
            for point, now in zip(wanted, self.leads, strict=True)
            if now == point and point in points
        ]
        moved = {points[p].place for p in wanted if p in points and points[p] not in rests}
        touched = board.touches[reading]
        if not set_up:
            touched = touched & np.array([place in moved for place in board.places], dtype=bool)
        return choice.minutes - sum(map(lead_minutes, rests)), touched

    def take(self, reading: int) -> int:
        """Take a reading; return the suspects that fit what it showed, as bits."""
        board, taken = self.board, self.board.readings[reading]
        minutes, places = self._as_leads_rest(reading)
        spent = minutes + float(places @ self._ways())
        expected = minutes + float(places @ self._ways(board.mask(self.possible)))
        before = self._value()
        touched = sum(1 << int(place) for place in np.flatnonzero(places))
        opened, here = self.opened | touched, touched or self.here
        parts = [group & self.possible for group in taken.groups if group & self.possible]
        quality = board.policy.quality_of_split(self.possible, parts, expected, opened, here)
        self._count(quality, before, free=self._free(taken.choice, spent))
        self.spent += spent
        self.opened, self.here = opened, here
        if taken.choice.action.verb in LEADS_ON:
            self.leads = (taken.choice.action.red, taken.choice.action.black)
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
        """Minutes spent beyond the right repair: the way to where it goes is on every path.

        Where one has been to confirm the complaint, no way was paid in the game.
        """
        board = self.board
        paid = [
            bool(self.opened >> k & 1) and place not in board.start.reached
            for k, place in enumerate(board.places)
        ]
        return self.spent - float(board.reach @ (board.home[self.truth] & paid))

    @property
    def share(self) -> float:
        """Share of the efficiency that the path keeps, 0 to 1, as on the sheet."""
        start = self.board.policy.value(self.board.policy.everything)
        return share_kept(start.upper, charged_of(self.charged, start))
