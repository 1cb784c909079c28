"""Minimum and maximum over an action: a reading before, while, and after controls are operated.

The controls go back where they were. Steady states only: what happens between them is faster than
a meter that takes some ten readings a second (common practice, no source) would keep anyway. Where
a breaker comes and goes, both of its states are among the extremes (`sim.instruments.byturns`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from sim import harm
from sim.instruments import byturns
from sim.instruments.counts import Scale, digits, range_for
from sim.instruments.verb import Outcome, Shown
from sim.network import Floats
from sim.reading import Reading
from sim.view import View

MINIMUM, MAXIMUM = "minimum", "maximum"


def captured(view: View, read: Callable[[View], Shown]) -> Shown:
    """Take a reading three times and keep its extremes; its number is the one in the middle.

    Parameters
    ----------
    read : function of a `View`
        Puts the instrument between the leads and reads it.
    """
    resting = dict(view.situation.controls)
    shown, found = [], []
    damage: harm.Damage = ()
    for controls in (resting, {**resting, **dict(view.doing.settings)}, resting):
        view.operate(controls)
        one, other, turns = byturns.watched(view, read)
        shown.append(one)
        now, then = (np.asarray(each.numbers, dtype=float) for each in (one, other))
        found += [now, np.where(turns, then, now)]
        damage = harm.joined(harm.joined(damage, one.damage), other.damage)
    numbers = np.array(found)
    extremes = ((MINIMUM, numbers.min(axis=0)), (MAXIMUM, numbers.max(axis=0)))
    return replace(shown[1], also=extremes, damage=damage)


def show(scale: Scale, single: Callable[[float], Reading], outcome: Outcome, lane: int) -> Reading:
    """Show a captured reading: all three figures in the range that holds the largest."""
    low, high = outcome.figure(MINIMUM, lane), outcome.figure(MAXIMUM, lane)
    widest = max(abs(low), abs(high))
    whole = single(widest)
    numbers: Floats = np.zeros(1) if outcome.numbers is None else outcome.numbers[lane : lane + 1]
    middle = float(numbers[0])
    if whole.value == "OL":
        return replace(single(middle), also=((MINIMUM, single(low).value), (MAXIMUM, "OL")))
    full = range_for(widest, scale.ranges) or scale.ranges[-1]
    factor = 1e3 if whole.unit.startswith("m") else 1.0
    written = [digits(value * factor, full * factor) for value in (middle, low, high)]
    also = ((MINIMUM, written[1]), (MAXIMUM, written[2]))
    return replace(whole, value=written[0], also=also)
