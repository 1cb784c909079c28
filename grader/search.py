"""Branch and bound over states: which first action is best, and what the best policy costs.

Depth first. In each state the action with the least bound is improved, by searching the states that
it leads to, until no action can beat the best policy known (or the state is known to be too dear
for whoever asked). What is learned of a state is kept and serves every path that leads to it. A
state is closed when its bounds meet but for rounding; nothing is ever closed with slack.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from grader.lookarrays import ArrayLooker
from grader.outlook import CompiledLooker, Outlook, action_number
from grader.states import UNKNOWN, States, grow_states, make_states
from grader.tables import WORD, Tables
from sim.compiled import compiles

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: Bounds closer than this, relative, have met: what sums of a few thousand terms lose to rounding.
ROUNDING = 1e-11
#: How many of the most promising actions are tried in a state, for a better policy.
WIDTH = 3
#: How many actions are looked behind at once in the search.
BATCH = 16
#: How much further than the next best action one is raised at a time, relative.
STRIDE = 0.01
#: The same where looks are counted and the bound at the top matters, not its proof to the end.
SHORT_STRIDE = 0.0005
_ROOM = 4096
_SEEN_BYTES = 1 << 28  # labels of outlooks kept; more than that is looked at once more
_SLIP = 1e-14  # a cutoff is set so much higher that the sum surely reaches the limit


class Expanded:
    """A state whose actions are being compared."""

    __slots__ = ("children", "outlook")

    def __init__(self, outlook: Outlook) -> None:
        self.outlook = outlook
        self.children: dict[int, list[int]] = {}

    def least(self) -> int:
        """Give the action with the least bound, the first of equals."""
        return int(self.outlook.bound.argmin())


class Search:
    """Searches the states of one problem; keeps what it has learned.

    Parameters
    ----------
    tables : Tables
        The problem.
    plain : bool, optional
        Whether to look at states in whole arrays; False: by compiled code. The bits are the same.
        By default compiled, if anything can be compiled here.

    Attributes
    ----------
    looks : int
        States looked at so far: the work done, counted.
    given_up : int
        How often a state was left open for want of looks.
    """

    def __init__(self, tables: Tables, *, plain: bool | None = None) -> None:
        self.tables = tables
        self.plain = not compiles() if plain is None else plain
        self.looker = ArrayLooker(tables) if self.plain else CompiledLooker(tables)
        self.all_tests: NDArray[np.int64] = np.arange(tables.minutes.size, dtype=np.int64)
        words = (tables.weight.size + WORD - 1) // WORD
        self.states: States = make_states(words, _ROOM)
        self._expanded: dict[int, Expanded] = {}
        self._seen: dict[int, Outlook] = {}
        self._seen_bytes = 0
        self._left: float = np.inf
        self.looks, self.given_up = 0, 0
        self._sparing = False  # whether it may end, for want of looks, before all is proven

    def enter(self, suspects: NDArray[np.int64], opened: int, here: int) -> int:
        """Give the row of a state.

        Parameters
        ----------
        suspects : array of int
            Rows of the suspects left, at least one, ascending.
        opened, here : int
            Places as bits.
        """
        self._make_room(1)
        return self.looker.enter(self.states, suspects, opened | here, here)

    def close(self, row: int, nodes: int | None, *, straight: bool = False) -> None:
        """Close a state, or do what can be done by looking at `nodes` more states.

        With `straight` the looks go into the proof alone, as if there were enough of them.
        """
        self._left = np.inf if nodes is None else max(0, nodes)
        if self._open(row):
            self._sparing = nodes is not None and not straight
            if self._sparing:  # what is searched to the end finds the best one by itself
                self._try_others(row, self.all_tests, self._left // 2, set())
            self._search(row, self.all_tests, np.inf)
            self._sparing = False
            self.given_up += self._open(row)
        self._forget()

    def known(self, row: int) -> tuple[float, float, int]:
        """Give lower and upper bound of a state, minutes times weight, and its best known action.

        After `close` of the state, or of one whose best known policy leads to it. The action is a
        test, -2 - unit, or -1 where nothing is left to do.
        """
        states = self.states
        return float(states.lower[row]), float(states.upper[row]), int(states.action[row])

    def near(self, row: int, limit: float) -> list[int]:
        """List the actions of an open or closed state that may cost at most `limit`, unproven."""
        outlook = self.looker.look(self.states, row, self.all_tests)
        below = np.flatnonzero(outlook.bound <= limit)
        return [int(action_number(outlook, action)) for action in below.tolist()]

    def within(self, rows: list[int], step: float, limit: float, nodes: int | None) -> bool:
        """Prove that a step and the states behind it cost at most `limit`.

        Parameters
        ----------
        rows : list of int
            States behind the step.
        step, limit : float
            Minutes times weight.
        nodes : int or None
            How many states may be looked at.

        Returns
        -------
        bool
            False where it costs more, or where `nodes` were too few to tell.
        """
        self._left = np.inf if nodes is None else nodes
        proven = False
        while True:
            lower = step + sum(max(0.0, float(self.states.lower[row])) for row in rows)
            proven = step + sum(float(self.states.upper[row]) for row in rows) <= limit
            still_open = [row for row in rows if self._open(row)]
            if proven or lower >= limit or not still_open or self._left <= 0:
                break
            row = still_open[0]
            others = lower - max(0.0, float(self.states.lower[row]))
            self._search(row, self.all_tests, limit - others + _SLIP * limit)
        self._forget()
        return proven

    def _open(self, row: int) -> bool:
        lower, upper = self.states.lower[row], self.states.upper[row]
        return bool(lower < upper * (1.0 - ROUNDING) or lower == UNKNOWN)

    def _make_room(self, more: int) -> None:
        needed = int(self.states.used[0]) + more
        size = self.states.lower.size
        if needed > size:
            self.states = grow_states(self.states, max(needed, 2 * size), keys=not self.plain)

    def _expand(self, row: int, candidates: NDArray[np.int64]) -> Expanded:
        found = self._expanded.get(row)
        if found is None:
            outlook = self._seen.pop(row, None)
            found = Expanded(self._look(row, candidates) if outlook is None else outlook)
            self._expanded[row] = found
        return found

    def _look(self, row: int, candidates: NDArray[np.int64]) -> Outlook:
        self._left -= 1
        self.looks += 1
        return self.looker.look(self.states, row, candidates)

    def _forget(self) -> None:
        """Forget what only the search under way needs."""
        self._expanded.clear()
        self._seen.clear()
        self._seen_bytes = 0

    def _refine(
        self, row: int, expanded: Expanded, chosen: NDArray[np.int64], limit: float
    ) -> None:
        """Raise the bounds of chosen actions by looking at the states behind them.

        An action is left as soon as it is known to cost `limit`.
        """
        outlook = expanded.outlook
        self._make_room(chosen.size * outlook.first.size)
        states = self.states
        for action in chosen.tolist():
            children = self.looker.children(states, row, outlook, action)
            if self._sparing:
                children = _smallest_first(outlook, action, children)
            bound = float(outlook.step[action])
            for child in children:
                if states.lower[child] == UNKNOWN and bound < limit and self._left > 0:
                    self._keep(child, self._look(child, outlook.tests))
                bound += max(0.0, float(states.lower[child]))
            outlook.bound[action] = max(float(outlook.bound[action]), bound)
            expanded.children[action] = children

    def _keep(self, row: int, outlook: Outlook) -> None:
        """Keep an outlook until its state is searched, if it will be and there is room."""
        if not self._open(row):
            return
        if self._seen_bytes > _SEEN_BYTES:
            self._seen.clear()
            self._seen_bytes = 0
        self._seen[row] = outlook
        self._seen_bytes += outlook.labels.nbytes

    def _promising(self, expanded: Expanded, most: int, limit: float) -> NDArray[np.int64]:
        """Give up to `most` actions below the limit not looked behind yet, least bounds first."""
        bound = expanded.outlook.bound
        order = np.argsort(bound, kind="stable")
        order = order[bound[order] < limit][: most + len(expanded.children)]
        fresh = [action for action in order.tolist() if action not in expanded.children]
        return np.array(fresh[:most], dtype=np.int64)

    def _dive(self, row: int, candidates: NDArray[np.int64]) -> float:
        """Find a first policy: always the action that promises the least."""
        if self.states.upper[row] < np.inf:
            return float(self.states.upper[row])
        expanded = self._expand(row, candidates)
        outlook = expanded.outlook
        if self.states.upper[row] < np.inf:
            return float(self.states.upper[row])
        action = expanded.least()
        if action not in expanded.children:
            self._refine(row, expanded, np.array([action]), np.inf)
        cost = float(outlook.step[action])
        for child in expanded.children[action]:
            cost += self._dive(child, outlook.tests)
        self._note_policy(row, outlook, action, cost)
        return cost

    def _try_others(
        self, row: int, candidates: NDArray[np.int64], spare: float, tried: set[int]
    ) -> float:
        """Find a better policy: what it does in each of its states is compared with other actions.

        Each is followed by a first policy, so that what it really leads to counts, not what it
        promises. Ends when no more than `spare` looks are left.
        """
        self._dive(row, candidates)
        if row in tried or self._left <= spare or not self._open(row):
            return float(self.states.upper[row])
        tried.add(row)
        expanded = self._expand(row, candidates)
        outlook = expanded.outlook
        for action in np.argsort(outlook.bound, kind="stable")[:WIDTH].tolist():
            if outlook.bound[action] >= self.states.upper[row]:
                break
            if action not in expanded.children:
                self._refine(row, expanded, np.array([action]), np.inf)
            parts = [self._dive(child, outlook.tests) for child in expanded.children[action]]
            self._note_policy(row, outlook, action, float(outlook.step[action]) + sum(parts))
        best = self.states.action[row]
        for action, children in expanded.children.items():
            if action_number(outlook, action) == best:
                parts = [self._try_others(child, outlook.tests, spare, tried) for child in children]
                self._note_policy(row, outlook, action, float(outlook.step[action]) + sum(parts))
                break
        return float(self.states.upper[row])

    def _note_policy(self, row: int, outlook: Outlook, action: int, cost: float) -> None:
        if cost < self.states.upper[row]:
            self.states.upper[row] = cost
            # a policy of the same cost may add up to less by its last bits than what was proven
            self.states.lower[row] = min(self.states.lower[row], cost)
            self.states.action[row] = action_number(outlook, action)

    def _search(self, row: int, candidates: NDArray[np.int64], cutoff: float) -> None:
        """Raise the lower bound of a state to its value or to the cutoff."""
        self._dive(row, candidates)
        expanded = self._expand(row, candidates)
        bound = expanded.outlook.bound
        while True:
            action = expanded.least()
            upper = float(self.states.upper[row])
            limit = min(cutoff, upper * (1.0 - ROUNDING))
            lower = min(float(bound[action]), upper)
            if lower >= upper * (1.0 - ROUNDING):
                lower = upper
            self.states.lower[row] = max(self.states.lower[row], lower)
            if self.states.lower[row] >= limit or self._left <= 0:
                break
            if action not in expanded.children:
                self._refine(row, expanded, self._promising(expanded, BATCH, limit), limit)
            else:
                self._improve(row, expanded, action, self._goal(expanded, action, limit))
        if not self._open(row):
            self._expanded.pop(row, None)

    def _goal(self, expanded: Expanded, action: int, limit: float) -> float:
        """How far to raise the least action before the next one deserves a look."""
        bound = expanded.outlook.bound
        least = float(bound[action])
        bound[action] = np.inf
        second = float(bound.min())
        bound[action] = least
        stride = SHORT_STRIDE if self._sparing else STRIDE
        return min(limit, max(second, least) * (1.0 + stride))

    def _improve(self, row: int, expanded: Expanded, action: int, limit: float) -> None:
        """Search an open state behind an action: the dearest; the smallest where looks count."""
        outlook = expanded.outlook
        children = expanded.children[action]
        states = self.states
        still_open = [child for child in children if self._open(child)]
        if still_open:
            child = still_open[0]
            if not self._sparing:
                child = max(still_open, key=lambda child: float(states.lower[child]))
            others = float(outlook.step[action])
            others += sum(max(0.0, float(states.lower[c])) for c in children if c != child)
            self._search(child, outlook.tests, limit - others + _SLIP * limit)
        states = self.states
        lower = upper = float(outlook.step[action])
        for child in children:
            lower += max(0.0, float(states.lower[child]))
            upper += float(states.upper[child])
        outlook.bound[action] = max(float(outlook.bound[action]), lower)
        self._note_policy(row, outlook, action, upper)


def _smallest_first(outlook: Outlook, action: int, children: list[int]) -> list[int]:
    """Sort the states behind an action by how many suspects are left in them."""
    if len(children) == 1:
        return children
    left = np.bincount(outlook.labels[action][outlook.number])
    return [children[part] for part in np.argsort(left, kind="stable").tolist()]
