"""A problem as arrays for the compiled search, in an order that its author cannot influence.

Suspects and tests are sorted (see `suspect_order`, `test_order`), so that the same problem written
in another order runs through the very same arithmetic. Suspects of one unit that no test separates
form a *class*; classes stand next to each other. Without units each class counts as a unit that
cannot be replaced.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from numpy.typing import NDArray

    from grader.problem import Problem, Test

#: Bits of a set of suspects kept in one number of a state's key.
WORD = 60


class Tables(NamedTuple):
    """The arrays; S suspects, T tests that separate something, G places, U units."""

    weight: NDArray[np.float64]  #: (S,) likelihoods, largest 1
    kind: NDArray[np.int64]  #: (S,) class of a suspect, ascending
    unit: NDArray[np.int64]  #: (S,) unit of a suspect
    repair: NDArray[np.float64]  #: (U,) minutes of a wrong replacement; infinite: impossible
    home: NDArray[np.bool_]  #: (U, G) whether a unit's replacement goes to a place anyway
    outcome: NDArray[np.uint8]  #: (T, S) outcomes, numbered from 0 within a test
    minutes: NDArray[np.float64]  #: (T,) minutes of a test at its place
    touches: NDArray[np.int64]  #: (T,) places of a test, as bits
    spot: NDArray[np.int64]  #: (T,) number of that set of places
    spots: NDArray[np.int64]  #: (sets of places,) each set, as bits
    reach: NDArray[np.float64]  #: (G,) minutes to a place for the first time
    again: NDArray[np.float64]  #: (G,) minutes when coming back
    mark: NDArray[np.int64]  #: (G, S) suspects marked alike are alike for all tests at the place
    back: float  #: minutes to come back to every place


class Order(NamedTuple):
    """Where the arrays' suspects, tests and units stand in the problem."""

    suspects: list[int]
    tests: list[int]
    places: list[int]
    units: list[int]


def make_tables(problem: Problem) -> tuple[Tables, Order]:
    """Turn a problem into arrays.

    Parameters
    ----------
    problem : Problem
        Checked when it was made.

    Returns
    -------
    tables : Tables
    order : Order
        Index in the problem of each row of the tables.
    """
    tests = test_order(problem)
    classes = _classes(problem, tests)
    suspects = suspect_order(problem, classes)
    kind = _numbered([classes[s] for s in suspects])
    if problem.units:
        units = sorted(range(len(problem.units)), key=lambda u: problem.units[u].name)
        place_of = {problem.units[u].name: row for row, u in enumerate(units)}
        unit = [place_of[problem.suspects[s].unit or ""] for s in suspects]
        repair = [problem.units[u].minutes for u in units]
    else:
        units, unit = [], list(kind)
        repair = [np.inf] * (max(kind) + 1)
    weight = np.array([problem.suspects[s].weight for s in suspects])
    places = sorted(range(len(problem.places)), key=lambda g: problem.places[g].name)
    bit = {problem.places[g].name: 1 << row for row, g in enumerate(places)}
    touches = [sum(bit[name] for name in problem.tests[t].places) for t in tests]
    spots = sorted(set(touches))
    again = np.array([problem.places[g].again for g in places], dtype=np.float64)
    home = [[problem.places[g].name in problem.units[u].places for g in places] for u in units]
    if not units:
        home = [[False] * len(places) for _ in repair]
    tables = Tables(
        weight=weight / weight.max(),
        kind=np.array(kind, dtype=np.int64),
        unit=np.array(unit, dtype=np.int64),
        repair=np.array(repair, dtype=np.float64),
        home=np.array(home, dtype=np.bool_).reshape(len(repair), len(places)),
        outcome=_outcomes([problem.tests[t] for t in tests], suspects),
        minutes=np.array([problem.tests[t].minutes for t in tests], dtype=np.float64),
        touches=np.array(touches, dtype=np.int64),
        spot=np.array([spots.index(places) for places in touches], dtype=np.int64),
        spots=np.array(spots, dtype=np.int64),
        reach=np.array([problem.places[g].minutes for g in places], dtype=np.float64),
        again=again,
        mark=_marks(problem, places, suspects),
        back=float(again.sum()),
    )
    return tables, Order(suspects, tests, places, units)


def test_order(problem: Problem) -> list[int]:
    """Sort the tests that separate anything: less work first, then by name."""
    telling = [t for t, test in enumerate(problem.tests) if len(set(test.outcomes)) > 1]
    return sorted(telling, key=lambda t: (problem.tests[t].minutes, problem.tests[t].name))


def suspect_order(problem: Problem, classes: list[int]) -> list[int]:
    """Sort the suspects by name, those of one class next to each other."""
    by_name = sorted(range(len(problem.suspects)), key=lambda s: problem.suspects[s].name)
    first: dict[int, int] = {}
    for rank, s in enumerate(by_name):
        first.setdefault(classes[s], rank)
    return sorted(by_name, key=lambda s: first[classes[s]])


def _classes(problem: Problem, tests: list[int]) -> list[int]:
    columns = [
        (suspect.unit, *(problem.tests[t].outcomes[s] for t in tests))
        for s, suspect in enumerate(problem.suspects)
    ]
    return _numbered(columns)


def _numbered(values: Sequence[Hashable]) -> list[int]:
    """Give values numbers by first appearance."""
    numbers: dict[Hashable, int] = {}
    return [numbers.setdefault(value, len(numbers)) for value in values]


def _outcomes(tests: list[Test], suspects: list[int]) -> NDArray[np.uint8]:
    rows = [_numbered([test.outcomes[s] for s in suspects]) for test in tests]
    return np.array(rows, dtype=np.uint8).reshape(len(tests), len(suspects))


def _marks(problem: Problem, places: list[int], suspects: list[int]) -> NDArray[np.int64]:
    rows = []
    for g in places:
        there = [test for test in problem.tests if problem.places[g].name in test.places]
        rows.append(_numbered([tuple(test.outcomes[s] for test in there) for s in suspects]))
    return np.array(rows, dtype=np.int64).reshape(len(problem.places), len(suspects))
