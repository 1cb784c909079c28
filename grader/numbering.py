"""From the bits of a problem's own order to the rows of the tables, with every question checked."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from grader.errors import ProblemError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from grader.problem import Problem
    from grader.tables import Order


class Numbering:
    """Suspects and places of one problem as bits, and what tests and units do to them.

    Parameters
    ----------
    problem : Problem
    order : Order
        Where the rows of the tables stand in the problem.
    """

    def __init__(self, problem: Problem, order: Order) -> None:
        self.problem = problem
        self.order = order
        self.everything = (1 << len(problem.suspects)) - 1
        self.everywhere = (1 << len(problem.places)) - 1
        self._row_of_suspect = {suspect: row for row, suspect in enumerate(order.suspects)}
        self._row_of_place = {place: row for row, place in enumerate(order.places)}
        bits = {place.name: 1 << index for index, place in enumerate(problem.places)}
        self._touches = [sum(bits[name] for name in test.places) for test in problem.tests]
        homes = {unit.name: unit.places for unit in problem.units}
        self._at_home = [
            sum(
                1 << index
                for index, suspect in enumerate(problem.suspects)
                if place.name in homes.get(suspect.unit or "", ())
            )
            for place in problem.places
        ]
        heaviest = max(suspect.weight for suspect in problem.suspects)
        self._weights = [suspect.weight / heaviest for suspect in problem.suspects]

    def suspect_rows(self, suspects: int) -> NDArray[np.int64]:
        """Give the rows of suspects, ascending.

        Raises
        ------
        ProblemError
            For no suspects, or for bits beyond the last.
        """
        if not 0 < suspects <= self.everything:
            count = len(self.problem.suspects)
            raise ProblemError(
                f"suspects: got {suspects}, must be bits of {count} suspects, at least one set"
            )
        rows = [self._row_of_suspect[suspect] for suspect in bits_of(suspects)]
        return np.array(sorted(rows), dtype=np.int64)

    def place_rows(self, places: int) -> int:
        """Give places as bits of the tables' order."""
        if not 0 <= places <= self.everywhere:
            count = len(self.problem.places)
            raise ProblemError(f"places: got {places}, must be bits of {count} places")
        return sum(1 << self._row_of_place[place] for place in bits_of(places))

    def weight(self, suspects: int) -> float:
        """Give the likelihood of suspects, the likeliest suspect of all counting 1."""
        if not 0 < suspects <= self.everything:
            self.suspect_rows(suspects)
        return math.fsum(self._weights[suspect] for suspect in bits_of(suspects))

    def split(self, suspects: int, index: int) -> dict[str, int]:
        """Give what is left after each outcome of a test, in the order of the tables."""
        self.check_index("test", index)
        outcomes = self.problem.tests[index].outcomes
        parts: dict[str, int] = {}
        for suspect in sorted(bits_of(suspects), key=self._row_of_suspect.__getitem__):
            parts[outcomes[suspect]] = parts.get(outcomes[suspect], 0) | 1 << suspect
        return parts

    def places_after(self, index: int, opened: int, here: int) -> tuple[int, int]:
        """Give opened and here after a test."""
        self.check_index("test", index)
        touched = self._touches[index]
        return (opened | here | touched, touched) if touched else (opened | here, here)

    def price_of_test(self, suspects: int, index: int, opened: int, here: int) -> float:
        """Give the expected minutes of a test in a state, coming to its places included."""
        self.check_index("test", index)
        minutes = self.problem.tests[index].minutes
        whole = self.weight(suspects)
        for place in bits_of(self._touches[index] & ~here):
            data = self.problem.places[place]
            if opened >> place & 1:
                minutes += data.again
            elif away := suspects & ~self._at_home[place]:
                minutes += data.minutes * self.weight(away) / whole
        return minutes

    def outside(self, suspects: int, index: int) -> int:
        """Give what is left once a unit has been replaced in vain."""
        self.check_index("unit", index)
        name = self.problem.units[index].name
        rest = [s for s in bits_of(suspects) if self.problem.suspects[s].unit != name]
        return sum(1 << suspect for suspect in rest)

    def check_parts(self, suspects: int, parts: Sequence[int]) -> None:
        """Refuse parts that overlap, are empty, or are not all of the suspects."""
        left = suspects
        for part in parts:
            if part <= 0 or part & ~left:
                raise ProblemError(
                    f"parts: {part} is empty, overlaps another part or holds suspects that are not"
                    f" left; parts must split {suspects}"
                )
            left &= ~part
        if left:
            raise ProblemError(f"parts: {left} is in none of them; parts must split {suspects}")

    def check_index(self, kind: str, index: int) -> None:
        """Refuse the index of a test or unit that the problem does not have."""
        count = len(self.problem.tests if kind == "test" else self.problem.units)
        if not 0 <= index < count:
            raise ProblemError(f"{kind}: got index {index}, the problem has {count}, from 0")


def bits_of(number: int) -> list[int]:
    """List the bits that are set, ascending."""
    found = []
    while number:
        low = number & -number
        found.append(low.bit_length() - 1)
        number ^= low
    return found
