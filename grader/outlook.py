"""What can be done in a state and what it costs at least: one look ahead, compiled.

`look` bounds a state and all its actions by the pair dual; `enter_children` gives the states that
an action leads to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from grader.bounds import pair_dual
from grader.partition import merge_classes, tests_worth_taking
from grader.split import make_split, total_of
from grader.states import UNKNOWN, States, find_state, make_key, read_suspects
from grader.tables import Tables
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Outlook(NamedTuple):
    """A state with its actions: first its T tests worth taking, then its U units."""

    weight: float  #: of all that is left
    suspects: NDArray[np.int64]  #: (S,) rows of the suspects left
    number: NDArray[np.int64]  #: (S,) class of each
    first: NDArray[np.int64]  #: (N,) one suspect of each class
    tests: NDArray[np.int64]  #: (T,) tests, ascending
    labels: NDArray[np.uint8]  #: (T, N) part in which a test puts a class
    units: NDArray[np.int64]  #: (U,) units that hold suspects
    step: NDArray[np.float64]  #: (T + U,) price of each action, minutes times weight paying it
    bound: NDArray[np.float64]  #: (T + U,) lower bound on its quality, minutes times weight


@compiled
def look(tables: Tables, states: States, row: int, candidates: NDArray[np.int64]) -> Outlook:
    """Bound a state by itself and note the bound; it must hold suspects of two units.

    Parameters
    ----------
    tables : Tables
    states : States
    row : int
        The state.
    candidates : array of int
        Tests, ascending, among which are all those worth taking.

    Returns
    -------
    Outlook
    """
    key = states.key[row]
    opened, here = key[key.size - 2], key[key.size - 1]
    suspects = read_suspects(tables, key)
    first, weight, number = merge_classes(tables, suspects)
    tests, labels = tests_worth_taking(tables, first, candidates, opened)
    split, units = make_split(tables, first, weight, tests, labels, (opened, here))
    everything = total_of(weight)
    step = np.empty(tests.size + units.size, np.float64)
    step[: tests.size] = split.price * everything
    held = np.zeros(units.size, np.float64)
    for index in range(weight.size):
        held[split.unit[index]] += weight[index]
    step[tests.size :] = split.repair * (everything - held)
    bound = step.copy()
    outlook = Outlook(everything, suspects, number, first, tests, labels, units, step, bound)
    if tests.size == 0:
        close_without_tests(states, row, outlook, split.repair, held)
    else:
        lower, bound[: tests.size], bound[tests.size :] = pair_dual(split)
        states.lower[row] = max(states.lower[row], min(lower, states.upper[row]))
        if first.size == 2:  # noqa: PLR2004 - a pair: every action is the last one
            close_pair(states, row, outlook)
    return outlook


@compiled
def close_pair(states: States, row: int, outlook: Outlook) -> None:
    """Close a state of two classes."""
    best = int(np.argmin(outlook.step))
    states.lower[row] = outlook.step[best]
    states.upper[row] = outlook.step[best]
    states.action[row] = action_number(outlook, best)


@compiled
def close_without_tests(
    states: States,
    row: int,
    outlook: Outlook,
    repair: NDArray[np.float64],
    held: NDArray[np.float64],
) -> None:
    """Close a state in which units can only be replaced one after the other.

    Of two neighbours in the order, a before b costs repair(a) P(b), b before a repair(b) P(a);
    so the best order is by likelihood per minute of wrong repair, largest first.
    """
    order = np.argsort(repair / held, kind="mergesort")
    left = outlook.weight
    cost = 0.0
    for index in range(order.size - 1):
        left -= held[order[index]]
        cost += repair[order[index]] * max(0.0, left)
    states.lower[row] = cost
    states.upper[row] = cost
    states.action[row] = action_number(outlook, order[0])


@compiled
def action_number(outlook: Outlook, action: int) -> int:
    """Name an action independently of the outlook: its test, or -2 - unit."""
    if action < outlook.tests.size:
        return int(outlook.tests[action])
    return -2 - int(outlook.units[action - outlook.tests.size])


@compiled
def enter_state(
    tables: Tables, states: States, suspects: NDArray[np.int64], opened: int, here: int
) -> int:
    """Give the row of a state; where one unit holds all that is left, its value is 0."""
    row = find_state(states, make_key(tables, suspects, opened, here))
    if states.lower[row] == UNKNOWN:
        unit = tables.unit[suspects[0]]
        for suspect in suspects:
            if tables.unit[suspect] != unit:
                return row
        states.lower[row] = 0.0
        states.upper[row] = 0.0
    return row


@compiled
def enter_children(
    tables: Tables, states: States, outlook: Outlook, places: tuple[int, int], action: int
) -> NDArray[np.int64]:
    """Give the rows of the states that an action leads to.

    `places` are opened and here before the action.
    """
    opened, here = places
    tests = outlook.tests.size
    part = np.zeros(outlook.number.size, np.int64)
    parts = 1
    if action < tests:
        touched = tables.touches[outlook.tests[action]]
        if touched != 0:
            opened, here = opened | touched, touched
        for index in range(part.size):
            part[index] = outlook.labels[action, outlook.number[index]]
            parts = max(parts, part[index] + 1)
    else:
        for index in range(part.size):
            if tables.unit[outlook.suspects[index]] == outlook.units[action - tests]:
                part[index] = -1
    rows = np.empty(parts, np.int64)
    for index in range(parts):
        rows[index] = enter_state(tables, states, outlook.suspects[part == index], opened, here)
    return rows


class CompiledLooker:
    """Looks at states by compiled code.

    Parameters
    ----------
    tables : Tables
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables

    def enter(self, states: States, suspects: NDArray[np.int64], opened: int, here: int) -> int:
        """Give the row of a state."""
        return int(enter_state(self.tables, states, suspects, opened | here, here))

    def look(self, states: States, row: int, candidates: NDArray[np.int64]) -> Outlook:
        """Bound a state by itself; see `look`."""
        return look(self.tables, states, row, candidates)

    def children(self, states: States, row: int, outlook: Outlook, action: int) -> list[int]:
        """Give the rows of the states that an action of a state leads to."""
        key = states.key[row]
        places = (int(key[-2]), int(key[-1]))
        rows: list[int] = enter_children(self.tables, states, outlook, places, action).tolist()
        return rows
