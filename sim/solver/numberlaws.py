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
from types import FunctionType, SimpleNamespace

from sim.solver import elementary, laws, newton

_BY_CONDUCTANCE = (laws.MOTOR, laws.LIMITER)  # laws that divide by it; an open one carries nothing
_DOUBLE, _WHOLE, _ALL_BITS = struct.Struct("<d"), struct.Struct("<Q"), 2**64 - 1
Line = tuple[bool, float, float, float, float]


class _Double:
    """A double of which the bits are asked."""

    __slots__ = ("value",)

    def __init__(self, value: float) -> None:
        self.value = value

    def view(self, _kind: type) -> int:
        """Return them as an integer."""
        bits: int = _WHOLE.unpack(_DOUBLE.pack(self.value))[0]
        return bits


class _Whole:
    """An integer of which the bits are a double's."""

    __slots__ = ("value",)

    def __init__(self, value: int) -> None:
        self.value = value

    def view(self, _kind: type) -> float:
        """Return the double, of as many bits as there are."""
        double: float = _DOUBLE.unpack(_WHOLE.pack(self.value & _ALL_BITS))[0]
        return double


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
                float64=_Double,
                int64=_Whole,
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
