"""Figures that have no bands of their own, held against a sound vehicle: as usual, less or more.

A screen of live data, an oscilloscope's figures, a frequency, a duty, a temperature, a minimum or
maximum mean nothing by themselves; a technician knows what a sound vehicle shows there. So the same
action is done on sound vehicles at every corner of what varies, and each figure falls into one of
three bands around what they show. What is said in words counts as it stands. As with `grader.bands`
a suspect's figure is an interval over the corners, and bands that one suspect may both show are one
for everybody; so no listed severity and no last digit proves a part.

The curve of an oscilloscope is as usual or it is not (`grader.curves`).

Widths of "as usual" (ours, from what a technician calls the same): a tenth of what a sound vehicle
shows, and at least what `SLACK` says of the unit.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from grader.bands import Split, merged
from grader.curves import CURVE, Shapes, counts_of
from sim.action import Action, Reading
from sim.language import msg
from sim.network import Floats
from sim.reading import SAMPLES

EITHER = -1  # group of a curve that may be either
LESS, USUAL, MORE = msg("less than usual"), msg("as usual"), msg("more than usual")
MOMENT = msg("moment")  # of a graph, which has figures and no words
ABSENT, PRESENT = msg("not shown"), msg("shown")
SHARE = 0.1
#: Unit as shown -> (factor to the unit that `SLACK` is in, least width on either side).
SLACK = {
    "V": (1.0, 0.5),
    "mV": (1e-3, 0.5),
    "A": (1.0, 0.5),
    "mA": (1e-3, 0.5),
    "degC": (1.0, 5.0),
    "°C": (1.0, 5.0),
    "%": (1.0, 5.0),
    "°": (1.0, 5.0),
    "Hz": (1.0, 1.0),
    "kHz": (1e3, 1.0),
    "kPa": (1.0, 3.0),
    "km/h": (1.0, 3.0),
    "1/min": (1.0, 50.0),
    "g/s": (1.0, 1.0),
    "l/h": (1.0, 0.5),
    "km": (1.0, 1.0),
    "s": (1.0, 5.0),
    "min": (1.0, 1.0),
    "": (1.0, 0.1),  # a number with decimals that a control unit gives no unit to
}
OVER = 1e12  # what "OL" stands for: above all that a display can show, in any unit
_UNITS = "|".join(re.escape(unit) for unit in SLACK if unit)
_FIGURE = re.compile(
    rf"(?<![\w.])(?:(?P<number>-?\d+(?:\.\d+)?) (?P<unit>{_UNITS})(?![\w/])"
    r"|(?P<bare>-?\d+\.\d+)(?=,|$))"
)
#: Verbs, and functions of a meter, whose figures are held against a sound vehicle's.
VERBS, FUNCTIONS = ("scan", "scope", "temperature"), ("hertz", "duty")


def is_compared(action: Action) -> bool:
    """Tell whether an action's figures have no bands but those around a sound vehicle's."""
    captured = action.verb in ("measure", "clamp") and bool(action.settings)
    return (
        action.verb in VERBS
        or captured
        or (action.verb == "measure" and action.target in FUNCTIONS)
    )


@dataclass(frozen=True, slots=True)
class Facts:
    """What a reading says: words without figures, figures by name with their units, curves."""

    words: str
    figures: Mapping[str, tuple[float, str]]
    curves: Mapping[str, Floats] = field(default_factory=dict)


def facts_of(reading: Reading) -> Facts:
    """Return what a reading says."""
    figures: dict[str, tuple[float, str]] = {}
    curves: dict[str, Floats] = {}
    if reading.value and reading.unit and reading.unit in SLACK:
        figures[""] = _number(reading.value if reading.steady else "0", reading.unit)
    for name, text in reading.also:
        if name.endswith(SAMPLES):
            curves[name.removesuffix(SAMPLES) + CURVE] = counts_of(text)
            continue
        value, _, own = text.partition(" ")
        unit = own or reading.unit
        if unit and unit in SLACK:
            figures[name] = _number(value, unit)
    said = []
    for block in reading.words.split(" | "):
        owner, _, rest = block.partition(": ")
        for item in rest.split("; ") if rest else ():
            found = list(_FIGURE.finditer(item))
            what = " ".join(_FIGURE.sub("", item).replace(",", " ").split()) or MOMENT
            for count, one in enumerate(found):
                name = f"{owner}: {what}" if len(found) == 1 else f"{owner}: {what} {count + 1}"
                figures[name] = _number(one["number"] or one["bare"], one["unit"] or "")
            if not found:
                said.append(f"{owner}: {item}")
        if not rest:
            said.append(block)
    return Facts("; ".join(said), figures, curves)


def _number(text: str, unit: str) -> tuple[float, str]:
    factor, _slack = SLACK[unit]
    return (OVER if text == "OL" else float(text) * factor), unit


@dataclass(frozen=True, slots=True)
class Usual:
    """What sound vehicles show of one figure, from the least to the most, widened."""

    low: float
    high: float

    @classmethod
    def of(cls, shown: Sequence[tuple[float, str]]) -> Usual:
        """Return the span of what sound vehicles show."""
        low, high = min(value for value, _unit in shown), max(value for value, _unit in shown)
        slack = max(SLACK[unit][1] for _value, unit in shown)
        return cls(low - max(slack, SHARE * abs(low)), high + max(slack, SHARE * abs(high)))

    def bands(self, low: float, high: float) -> tuple[str, ...]:
        """Return the bands that figures from low to high may fall in."""
        found = [(LESS, low < self.low), (USUAL, low <= self.high and high >= self.low)]
        return tuple(name for name, holds in (*found, (MORE, high > self.high)) if holds)


@dataclass(frozen=True, slots=True)
class Comparison:
    """How a reading with several figures splits the suspects.

    Attributes
    ----------
    split : Split
        Of all of it together.
    names : tuple of str
        Figures in order; the first column is the words.
    columns : tuple of Split
    usual : mapping
        Figure -> what sound vehicles show; nothing for one that they do not show.
    shapes : mapping
        The same of curves, whose columns come last.
    """

    split: Split
    names: tuple[str, ...]
    columns: tuple[Split, ...]
    usual: Mapping[str, Usual]
    shapes: Mapping[str, Shapes]

    @classmethod
    def of(cls, shown: Sequence[Reading], corners: int, sound: Sequence[Reading]) -> Comparison:
        """Compare what suspects x corners show with what sound vehicles show."""
        ours, theirs = [facts_of(one) for one in shown], [facts_of(one) for one in sound]
        rows = [ours[at : at + corners] for at in range(0, len(ours), corners)]
        names = tuple(dict.fromkeys(name for one in ours for name in one.figures))
        usual = {
            name: Usual.of([one.figures[name] for one in theirs])
            for name in names
            if all(name in one.figures for one in theirs)
        }
        columns = [merged([sorted({one.words for one in row}) for row in rows])]
        columns += [merged([_bands(name, usual.get(name), row) for row in rows]) for name in names]
        shapes = {
            name: Shapes(np.array([one.curves[name] for one in theirs]))
            for name in ours[0].curves
            if all(name in one.curves for one in (*ours, *theirs))
        }
        for name, shape in shapes.items():
            bands = shape.bands(np.array([one.curves[name] for one in ours]))
            each = [bands[at : at + corners] for at in range(0, len(bands), corners)]
            columns.append(merged([sorted({b for one in row for b in one}) for row in each]))
        split = _joined({n: _silent(n in usual or n in shapes) for n in (*names, *shapes)}, columns)
        return cls(split, names, tuple(columns), usual, shapes)

    def label_of(self, reading: Reading) -> str | None:
        """Return the outcome that a student's reading is; None if no suspect may show it."""
        facts = facts_of(reading)
        shown: list[Sequence[str]] = [(facts.words,)]
        shown += [_bands(name, self.usual.get(name), [facts])[:1] for name in self.names]
        for name, shape in self.shapes.items():
            mine = facts.curves.get(name)
            shown.append(() if mine is None else shape.bands(mine[None])[0])
        wanted = list[int]()
        for bands, column in zip(shown, self.columns, strict=True):
            groups = {g for band in bands if (g := column.group_of(band)) is not None}
            if not groups:
                return None
            wanted.append(groups.pop() if len(groups) == 1 else EITHER)
        members, these = np.stack([c.member for c in self.columns]), np.array(wanted)[:, None]
        same = np.flatnonzero(((members == these) | (these == EITHER)).all(axis=0))
        labels = {self.split.labels()[lane] for lane in same.tolist()}
        return labels.pop() if len(labels) == 1 else None


def _bands(name: str, usual: Usual | None, row: Sequence[Facts]) -> list[str]:
    """Return the bands that a suspect's figure may fall in, over the corners."""
    values = [one.figures[name][0] for one in row if name in one.figures]
    found: list[str] = []
    if values:
        found += (PRESENT,) if usual is None else usual.bands(min(values), max(values))
    return found + [ABSENT] * (len(values) < len(row))


def _silent(is_usual: bool) -> str:  # noqa: FBT001 -- said in its name
    """Return the band that need not be said: of a figure that sound vehicles show, or do not."""
    return USUAL if is_usual else ABSENT


def _joined(names: Mapping[str, str], columns: Sequence[Split]) -> Split:
    """Return the split by all columns together; a group is called by what is not as usual.

    `names` are the figures' and curves', each with the band that need not be said.
    """
    members = np.stack([column.member for column in columns])
    keys, member = np.unique(members, axis=1, return_inverse=True)
    labels = []
    for key in keys.T:
        words, *bands = (c.groups[g] for c, g in zip(columns, key, strict=True))
        told = " or ".join(words)
        said = [told] if told and (len(columns[0].groups) > 1 or not names) else []
        for (name, silent), band in zip(names.items(), bands, strict=True):
            if silent not in band:  # what may be as usual need not be said
                said.append(f"{name} {' or '.join(band)}".strip())
        labels.append((("; ".join(said) or USUAL),))
    return Split(tuple(labels), np.asarray(member, dtype=np.int64).reshape(-1))
