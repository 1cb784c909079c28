"""The least expected minutes of a policy problem, from any state, and the policy that takes them.

V is what the best policy takes on average from a state; Q the same when a given action comes first.
`Q - V` is the regret of a step, whatever its outcome happened to be. Both are conditional: minutes
per case in which one of the suspects left is the cause.

A state is a set of suspects left, the places reached so far (`opened`) and the places where the
hands are (`here`, always counted as opened), each as the bits of one number: bit k is the k-th
suspect, or the k-th place, of the problem.
"""

from __future__ import annotations

import math
from copy import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING

from grader.numbering import Numbering
from grader.search import ROUNDING, Search
from grader.states import NO_ACTION
from grader.tables import make_tables

if TYPE_CHECKING:
    from collections.abc import Sequence

    from grader.problem import Problem

#: Actions this close to the best, minutes, count as equally good where one is to be shown.
TIE_MINUTES = 0.1
#: Name and version of the result of `solve_problem`.
FORMAT, VERSION = "policy", 1


@dataclass(frozen=True, slots=True)
class Bounds:
    """What is proven of a number of minutes; both are equal where it is exact."""

    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class Choice:
    """A first action.

    `kind` is "test", "replace" or "done" (nothing is left to be told apart); `index` and `name`
    are those of the test or unit, None when done; `quality` is its Q in minutes.
    """

    kind: str
    index: int | None
    name: str | None
    quality: Bounds


class Policy:
    """Answers questions about one problem, and remembers what answering taught it.

    Every method raises `ProblemError` where a question names suspects, places, a test or a unit
    that the problem does not have.

    Parameters
    ----------
    problem : Problem
    nodes : int, optional
        How many states may be looked at for one value. None: as many as it takes, and every answer
        is exact. A count, never a clock, so that the same questions in the same order get the same
        answers on every machine. What earlier questions taught may make bounds tighter.
    plain : bool, optional
        See `grader.search.Search`.
    """

    def __init__(
        self, problem: Problem, *, nodes: int | None = None, plain: bool | None = None
    ) -> None:
        tables, order = make_tables(problem)
        self.problem = problem
        self._nodes = nodes
        self._straight = False
        self._numbering = Numbering(problem, order)
        self._search = Search(tables, plain=plain)

    def bounded(self, nodes: int) -> Policy:
        """Give this policy, with all it has learned and learns, but `nodes` looks for one value.

        What can be proven with them is proven, and the value is the same as without a bound; of
        other values there are bounds. Not for `best` and `tree`.
        """
        other = copy(self)
        other._nodes, other._straight = nodes, True  # noqa: SLF001 -- of its own class
        return other

    @property
    def looks(self) -> int:
        """States looked at so far, for any question: a count of the work done."""
        return self._search.looks

    @property
    def given_up(self) -> int:
        """How many values were left as bounds for want of looks."""
        return self._search.given_up

    @property
    def everything(self) -> int:
        """All suspects, as bits."""
        return self._numbering.everything

    def value(self, suspects: int, opened: int = 0, here: int = 0) -> Bounds:
        """Give V of a state in minutes.

        Parameters
        ----------
        suspects : int
            Suspects left, as bits; at least one.
        opened, here : int, optional
            Places reached, and where the hands are, as bits.
        """
        row = self._enter(suspects, opened, here)
        self._search.close(row, self._nodes, straight=self._straight)
        lower, upper, _ = self._search.known(row)
        weight = self._numbering.weight(suspects)
        return Bounds(lower / weight, upper / weight)

    def quality_of_test(self, suspects: int, opened: int, here: int, index: int) -> Bounds:
        """Give Q of taking test `index` of the problem in a state, in minutes."""
        minutes = self.price_of_test(suspects, index, opened, here)
        parts = self._numbering.split(suspects, index).values()
        opened, here = self.places_after(index, opened, here)
        return self.quality_of_split(suspects, list(parts), minutes, opened, here)

    def quality_of_split(
        self, suspects: int, parts: Sequence[int], minutes: float, opened: int, here: int
    ) -> Bounds:
        """Give Q of any action that leaves one of several parts, a listed test or not.

        Parameters
        ----------
        suspects : int
            Suspects left before it.
        parts : sequence of int
            What may be left behind it: together `suspects`, without overlap.
        minutes : float
            What it costs, places included.
        opened, here : int
            Places *after* it.
        """
        self._numbering.check_parts(suspects, parts)
        whole = self._numbering.weight(suspects)
        lower = upper = minutes
        for part in parts:
            share = self._numbering.weight(part) / whole
            behind = self.value(part, opened, here)
            lower += share * behind.lower
            upper += share * behind.upper
        return Bounds(lower, upper)

    def quality_of_replacement(self, suspects: int, opened: int, here: int, index: int) -> Bounds:
        """Give Q of replacing unit `index` of the problem in a state, in minutes.

        Where the unit is the cause nothing is to be paid; where it is not, its minutes are, and
        the work goes on with the rest.
        """
        rest = self._numbering.outside(suspects, index)
        if not rest:
            return Bounds(0.0, 0.0)
        share = self._numbering.weight(rest) / self._numbering.weight(suspects)
        behind = self.value(rest, opened, here)
        minutes = self.problem.units[index].minutes
        return Bounds(share * (minutes + behind.lower), share * (minutes + behind.upper))

    def price_of_test(self, suspects: int, index: int, opened: int = 0, here: int = 0) -> float:
        """Give the expected minutes of a test in a state, coming to its places included.

        The first way to a place counts only as far as the cause lies in a unit that is not
        replaced there.
        """
        return self._numbering.price_of_test(suspects, index, opened, here)

    def places_after(self, index: int, opened: int = 0, here: int = 0) -> tuple[int, int]:
        """Give opened and here after a test."""
        return self._numbering.places_after(index, opened, here)

    def best(
        self, suspects: int, opened: int = 0, here: int = 0, *, slack: float = TIE_MINUTES
    ) -> Choice:
        """Give a first action to show.

        Of all actions proven to cost at most `slack` minutes more than the best known policy, the
        one with the least work of its own is shown (a test's minutes without its places, a unit's
        minutes; fewer minutes, less handling), then the first by name. Tests that another equals
        or betters in every respect are left out. With `slack` 0 only
        what costs the same but for rounding competes. `value` does not depend on what is shown.
        """
        self.value(suspects, opened, here)
        state = (suspects, opened, here)
        action = self._shown(state, slack)
        if action == NO_ACTION:
            return Choice("done", None, None, Bounds(0.0, 0.0))
        kind, index = self._meaning(action)
        if kind == "test":
            quality = self.quality_of_test(*state, index)
            return Choice(kind, index, self.problem.tests[index].name, quality)
        quality = self.quality_of_replacement(*state, index)
        return Choice(kind, index, self.problem.units[index].name, quality)

    def tree(
        self, suspects: int, opened: int = 0, here: int = 0, *, slack: float = 0.0
    ) -> dict[str, object]:
        """Give the best known policy as nested dictionaries that JSON can hold.

        At every step an action is taken as in `best`: with no slack, of those that cost the same;
        with some, it may cost so many minutes more for less work of its own.

        Returns
        -------
        dict
            ``{"test": name, "minutes": price here, "expected": minutes from here on, "outcomes":
            {label: tree}}``, or ``{"replace": unit, "minutes": price if wrong, "expected", "right":
            tree, "wrong": tree}``, or, at the end, ``{"suspects": [names], "expected": 0.0}`` with
            ``"unit"`` where there are units.
        """
        self.value(suspects, opened, here)
        return self._branch((suspects, opened, here), slack)

    def _branch(self, state: tuple[int, int, int], slack: float) -> dict[str, object]:
        suspects, opened, here = state
        action = self._shown(state, slack)
        if action == NO_ACTION:
            return self._leaf(suspects)
        kind, index = self._meaning(action)
        if kind == "replace":
            return self._replacement_branch(state, index, slack)
        price = self.price_of_test(suspects, index, opened, here)
        after = self.places_after(index, opened, here)
        parts = self._numbering.split(suspects, index)
        outcomes = {label: self._branch((part, *after), slack) for label, part in parts.items()}
        expected = price + sum(
            self._share(part, suspects) * _expected(outcomes[label])
            for label, part in parts.items()
        )
        name = self.problem.tests[index].name
        return {"test": name, "minutes": price, "expected": expected, "outcomes": outcomes}

    def _replacement_branch(
        self, state: tuple[int, int, int], index: int, slack: float
    ) -> dict[str, object]:
        suspects, opened, here = state
        unit = self.problem.units[index]
        rest = self._numbering.outside(suspects, index)
        wrong = self._branch((rest, opened, here), slack)
        return {
            "replace": unit.name,
            "minutes": unit.minutes,
            "expected": self._share(rest, suspects) * (unit.minutes + _expected(wrong)),
            "right": self._leaf(suspects & ~rest),
            "wrong": wrong,
        }

    def _leaf(self, suspects: int) -> dict[str, object]:
        left = [s for k, s in enumerate(self.problem.suspects) if suspects >> k & 1]
        leaf: dict[str, object] = {"suspects": [s.name for s in left], "expected": 0.0}
        if self.problem.units:
            leaf["unit"] = left[0].unit
        return leaf

    def _enter(self, suspects: int, opened: int, here: int) -> int:
        rows = self._numbering.suspect_rows(suspects)
        numbering = self._numbering
        return self._search.enter(rows, numbering.place_rows(opened), numbering.place_rows(here))

    def _share(self, part: int, whole: int) -> float:
        return self._numbering.weight(part) / self._numbering.weight(whole)

    def _meaning(self, action: int) -> tuple[str, int]:
        order = self._numbering.order
        if action >= 0:
            return "test", order.tests[action]
        return "replace", order.units[-2 - action]

    def _handling(self, action: int) -> tuple[float, str, str]:
        """Sort key of what is shown: work of its own, name, kind."""
        kind, index = self._meaning(action)
        data = self.problem.tests[index] if kind == "test" else self.problem.units[index]
        return data.minutes, data.name, kind

    def _shown(self, state: tuple[int, int, int], slack: float) -> int:
        """Choose the action to show in a state that has been valued, or lies behind one."""
        row = self._enter(*state)
        _, upper, best = self._search.known(row)
        if upper == math.inf:  # the value before it came from a formula, without a search
            self._search.close(row, self._nodes)
            _, upper, best = self._search.known(row)
        if best == NO_ACTION:
            return NO_ACTION
        limit = upper * (1.0 + 2.0 * ROUNDING) + slack * self._numbering.weight(state[0])
        for action in sorted({best, *self._search.near(row, limit)}, key=self._handling):
            if action == best or self._within(state, action, limit):
                return action
        return best

    def _within(self, state: tuple[int, int, int], action: int, limit: float) -> bool:
        suspects, opened, here = state
        kind, index = self._meaning(action)
        if kind == "test":
            step = self._numbering.weight(suspects) * self.price_of_test(
                suspects, index, opened, here
            )
            parts = list(self._numbering.split(suspects, index).values())
            opened, here = self.places_after(index, opened, here)
        else:
            parts = [self._numbering.outside(suspects, index)]
            step = self._numbering.weight(parts[0]) * self.problem.units[index].minutes
        rows = [self._enter(part, opened, here) for part in parts]
        return self._search.within(rows, step, limit, self._nodes)


def _expected(tree: dict[str, object]) -> float:
    expected = tree["expected"]
    return expected if isinstance(expected, float) else 0.0


def solve_problem(problem: Problem, nodes: int | None = None) -> dict[str, object]:
    """Solve a problem from its start: nothing known, nothing reached.

    Parameters
    ----------
    problem : Problem
    nodes : int, optional
        How many states may be looked at; None: as many as it takes.

    Returns
    -------
    dict
        The "policy" format: ``format``, ``version``, ``value`` (what the policy in ``tree`` takes,
        minutes; equals ``upper``), ``lower``, ``upper``, ``first`` (name of a test,
        ``"replace UNIT"`` or None) and ``tree`` (see `Policy.tree`).
    """
    policy = Policy(problem, nodes=nodes)
    bounds = policy.value(policy.everything)
    tree = policy.tree(policy.everything)
    value = _expected(tree)
    exact = bounds.lower >= bounds.upper
    return {
        "format": FORMAT,
        "version": VERSION,
        "value": value,
        "lower": value if exact else min(bounds.lower, value),
        "upper": value,
        "first": tree.get("test") or (f"replace {tree['replace']}" if "replace" in tree else None),
        "tree": tree,
    }
