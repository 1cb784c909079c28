"""What a reading tells: bands, not fingerprints.

A number falls into one of three bands; words are a band each. A suspect's reading is an interval
over what varies between students, widened by the instrument's accuracy; where it may fall in more
than one band those bands are one for that reading, for everybody. So a listed severity never
proves a part, a floating wire is "nothing" whatever the solver's leak, and one prepared policy
serves all students.

Limits (ours, from what a technician calls a good or a bad reading; lighting circuits are allowed
0.5 V by common practice, no source):

- volts and drops: nothing below 0.8 V, supply above 10.5 V, part between
- clamp and amps: none below 0.5 A, normal from 0.8 of the healthy circuit's reading, some between
- ohms: short below 5 ohm, open above 10 kohm, some between
- diode test: conducts below 1.5 V, blocks above
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.action import Action, Reading
from sim.instruments import multimeter
from sim.instruments.registry import VERBS
from sim.observe import Outcome

VOLT_LIMITS, VOLT_BANDS = (0.8, 10.5), ("nothing", "part", "supply")
OHM_LIMITS, OHM_BANDS = (5.0, 10e3), ("short", "some", "open")
AMP_BANDS = ("none", "some", "normal")
NO_CURRENT, NORMAL_SHARE = 0.5, 0.8
DIODE_LIMITS, DIODE_BANDS = (1.5,), ("conducts", "blocks")
#: Unit of an instrument's number -> limits and bands that are the same on every circuit.
FIXED = {
    "V": (VOLT_LIMITS, VOLT_BANDS),
    "ohm": (OHM_LIMITS, OHM_BANDS),
    "diode": (DIODE_LIMITS, DIODE_BANDS),
}
UNITS = {"mV": 1e-3, "V": 1.0, "mA": 1e-3, "A": 1.0, "ohm": 1.0, "kohm": 1e3, "Mohm": 1e6}


@dataclass(frozen=True, slots=True)
class Scale:
    """Limits between bands, their names, and the accuracy that widens a reading."""

    limits: tuple[float, ...]
    names: tuple[str, ...]
    accuracy: multimeter.Accuracy
    ranges: tuple[float, ...]

    def spread(self, low: float, high: float) -> range:
        """Return the numbers of the bands that readings from low to high may fall in."""
        low -= self._error(low)
        high += self._error(high)
        return range(bisect_right(self.limits, low), bisect_right(self.limits, high) + 1)

    def _error(self, value: float) -> float:
        if not math.isfinite(value):
            return 0.0
        scale = multimeter.range_for(value, self.ranges) or self.ranges[-1]
        return self.accuracy.half_width(value, scale)


def scale_for(action: Action, healthy: float) -> Scale | None:
    """Return the bands of an action's number; None where it shows words.

    `healthy` is what the healthy circuit shows (A), used for currents only.
    """
    shown = VERBS[action.verb].scale(action)
    if shown is None:
        return None
    fixed = FIXED.get(shown.unit)
    if fixed is not None:
        return Scale(*fixed, shown.accuracy, shown.ranges)
    if shown.unit != "A":
        return None
    normal = NORMAL_SHARE * abs(healthy)
    if normal <= 2 * NO_CURRENT:
        return Scale((NO_CURRENT,), ("none", "some"), shown.accuracy, shown.ranges)
    return Scale((NO_CURRENT, normal), AMP_BANDS, shown.accuracy, shown.ranges)


@dataclass(frozen=True, slots=True)
class Split:
    """How a reading splits the suspects.

    Attributes
    ----------
    groups : tuple of tuples of str
        Bands that are told apart, each with the names that were merged into it.
    member : int array (n,)
        Group of every suspect.
    """

    groups: tuple[tuple[str, ...], ...]
    member: np.ndarray

    def labels(self) -> tuple[str, ...]:
        """Return the outcome label of every suspect."""
        names = [" or ".join(group) for group in self.groups]
        return tuple(names[index] for index in self.member)

    def group_of(self, band: str) -> int | None:
        """Return the group a band belongs to; None if no suspect may show it."""
        for index, group in enumerate(self.groups):
            if band in group:
                return index
        return None


def split(action: Action, outcome: Outcome, corners: int, healthy: float) -> Split | None:
    """Return how an outcome over suspects x corners splits the suspects; None for mere handling."""
    if outcome.words is not None:
        rows = [
            sorted(set(outcome.words[at : at + corners]))
            for at in range(0, len(outcome.words), corners)
        ]
        return merged(rows)
    scale = scale_for(action, healthy)
    if outcome.numbers is None or scale is None:
        return None
    numbers = np.abs(np.where(outcome.floating, 0.0, outcome.numbers)).reshape(-1, corners)
    rows = [
        [scale.names[band] for band in scale.spread(low, high)]
        for low, high in zip(
            numbers.min(axis=1).tolist(), numbers.max(axis=1).tolist(), strict=True
        )
    ]
    return merged(rows)


def band_of(action: Action, reading: Reading, healthy: float) -> str:
    """Return the band of what was shown to the student."""
    if reading.words:
        return reading.words
    scale = scale_for(action, healthy)
    if scale is None:
        return reading.value
    if not reading.steady:
        return scale.names[0]
    value = np.inf if reading.value == "OL" else abs(float(reading.value)) * UNITS[reading.unit]
    return scale.names[int(np.searchsorted(scale.limits, value, side="right"))]


def merged(rows: Sequence[Sequence[str]]) -> Split:
    """Join bands that one suspect may both show, and number what is left."""
    group: dict[str, str] = {}

    def root(name: str) -> str:
        group.setdefault(name, name)
        while group[name] != name:
            name = group[name]
        return name

    for row in rows:
        for name in row:
            group[root(name)] = root(row[0])
    roots = sorted({root(name) for row in rows for name in row})
    groups = tuple(tuple(sorted(n for n in group if root(n) == top)) for top in roots)
    return Split(groups, np.array([roots.index(root(row[0])) for row in rows], dtype=np.int64))
