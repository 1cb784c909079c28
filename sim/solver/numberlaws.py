"""The curved laws for plain numbers of Python: the same source, with math in place of numpy.

Numpy takes as long for one number as for a hundred, so that one lamp's step costs what a hundred
cost. `sim.solver.newton`, `laws` and `elementary` are written for numbers or arrays; here their
functions are given Python's own minimum, square root and bits of a double to work with, and so give
the same bits. Where numpy would divide by zero these raise ZeroDivisionError instead.
"""

from __future__ import annotations

import functools
import math
import struct
from dataclasses import dataclass
from types import FunctionType, SimpleNamespace
from typing import Any

from sim.solver import elementary, laws, newton

_BY_CONDUCTANCE = (laws.MOTOR, laws.LIMITER)  # laws that divide by it; an open one carries nothing
Line = tuple[bool, float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Bits:
    """A number of which the bits are asked: a double as an integer, or an integer as a double."""

    value: Any

    def view(self, _kind: type) -> Any:  # noqa: ANN401 -- an integer or a float
        """Return the other of both."""
        if isinstance(self.value, float):
            return struct.unpack("<q", struct.pack("<d", self.value))[0]
        wrapped = ((self.value + 2**63) & (2**64 - 1)) - 2**63  # as 64 bits do
        return struct.unpack("<d", struct.pack("<q", wrapped))[0]


def _least(one: float, other: float) -> float:
    return one if one <= other or one != one else other  # noqa: PLR0124 -- what is no number stays


def _most(one: float, other: float) -> float:
    return one if one >= other or one != one else other  # noqa: PLR0124 -- what is no number stays


def _chosen(condition: object, yes: float, no: float) -> float:
    return yes if condition else no


class NumberLaws:
    """What `newton` asks of the laws, in plain numbers."""

    def __init__(self) -> None:
        names = vars(elementary) | vars(laws) | vars(newton)
        own = {
            "np": SimpleNamespace(
                minimum=_least,
                maximum=_most,
                abs=abs,
                sqrt=math.sqrt,
                copysign=math.copysign,
                float64=_Bits,
                int64=_Bits,
            ),
            "choose": _chosen,
        }
        names |= own
        for name, value in names.items():
            if isinstance(value, FunctionType) and value.__module__.startswith("sim.solver."):
                names[name] = FunctionType(value.__code__, names, name)
        self._growth, self._straightened = names["law_growth"], names["straightened"]
        self._far, self._limited = names["is_too_far"], names["limited_step"]
        self._lawful = names["is_lawful"]

    def begin(self, law: int, point: float, row: list[float]) -> tuple[float, float]:
        """Return slope and j of an element straightened about a voltage, a lamp by its chord."""
        if row[0] == 0.0 and law in _BY_CONDUCTANCE:
            return 0.0, 0.0
        grown = self._growth(law, point, row[3], row[4])
        tangent = False
        slope, push, _amps = self._straightened(law, tangent, point, *row, grown)
        return slope, push

    def step(self, law: int, drop: float, row: list[float], line: list[float]) -> Line:
        """Return (lawful, point, slope, j, current by its law) after a solution.

        Parameters
        ----------
        law : int
        drop : float
            V across the element.
        row : five floats
            Conductance, EMF and the numbers of its law.
        line : three floats
            Point, slope and j of its straight line.
        """
        g, emf, first, second, third = row
        point, slope, push = line
        to = new = drop - emf
        if g == 0.0 and law in _BY_CONDUCTANCE:
            return True, to, 0.0, 0.0, 0.0
        if self._far(law, new, point, second):
            to = self._limited(law, new, point, g, first, second)
        tangent = abs(to - point) <= newton.CHORD_STEP * abs(to)
        grown = self._growth(law, to, second, third)
        steep, pushed, amps = self._straightened(law, tangent, to, *row, grown)
        lawful = self._lawful(slope, new, slope * drop - push, amps, steep)
        return lawful and (to == new or g == 0.0), to, steep, pushed, amps


@functools.cache
def number_laws() -> NumberLaws:
    """Return the laws in plain numbers, made when they are first asked for."""
    return NumberLaws()
