"""Counts, ranges and accuracy: how a display of so many counts shows a number.

Accuracy is written as makers write it, +-(share of reading + counts of the range): 32.00 V at
+-(2.5 % + 3) is +-0.83 V (arithmetic of Kwantlen Polytechnic's physics laboratory notes).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.reading import Reading

COUNTS = 6000
DECIMALS = 3  # of the range that ends below ten


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Relative part and counts, as in ``+-(0.5 % + 2)``."""

    share: float
    counts: int

    def half_width(self, value: float, scale: float) -> float:
        """Return the largest error at a value read in a range of this full scale."""
        return abs(value) * self.share + self.counts * scale / COUNTS

    def standard_uncertainty(self, value: float, scale: float) -> float:
        """Return the standard uncertainty of a reading, its error anywhere within the half width.

        A rectangular distribution of half width a has ``u = a / sqrt(3)`` (JCGM 100:2008, 4.3.7;
        clause number from memory).
        """
        return self.half_width(value, scale) / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """What an instrument's numbers are: their unit, ranges (full scales, SI) and accuracy."""

    unit: str
    ranges: tuple[float, ...]
    accuracy: Accuracy

    def half_width(self, value: float) -> float:
        """Return the largest error at a value, read in the lowest range that holds it."""
        scale = range_for(value, self.ranges) or self.ranges[-1]
        return self.accuracy.half_width(value, scale)


def range_for(value: float, ranges: tuple[float, ...]) -> float | None:
    """Return the lowest range that can show a value, None if none can."""
    for scale in ranges:
        if abs(value) < scale:
            return scale
    return None


def digits(value: float, scale: float) -> str:
    """Write a value with as many decimals as a 6 000-count display has in this range."""
    decimals = max(0, DECIMALS - len(str(int(scale))) + 1)
    return unsigned_zero(f"{value:.{decimals}f}")


def unsigned_zero(text: str) -> str:
    """Return digits without a minus before nothing."""
    return text.removeprefix("-") if float(text) == 0 else text


def ranged(value: float, ranges: tuple[float, ...], unit: str, *, steady: bool = True) -> Reading:
    """Return a value in the lowest range that holds it, OL over the highest."""
    scale = range_for(value, ranges)
    if scale is None:
        return Reading("OL", unit, f"{ranges[-1]:g}", steady=steady)
    if scale < 1:
        shown = digits(value * 1e3, scale * 1e3)
        return Reading(shown, f"m{unit}", f"{scale * 1e3:g}", steady=steady)
    return Reading(digits(value, scale), unit, f"{scale:g}", steady=steady)
