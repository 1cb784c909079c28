"""The multimeter on amps: a shunt with its fuse between the leads, in one of two jacks.

The fuse of the 10 A jack is the meter's fuse in the solver. The milliamps jack has a fuse of its
own: it is solved as the same element with other numbers, and when it has blown that is kept as
lasting damage.

An ammeter in place of a pulled fuse gives supply back, so what falls asleep is awake at first.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim import harm
from sim.instruments import multimeter
from sim.instruments.verb import Shown
from sim.network import METER_FUSE, Floats
from sim.view import View

FINE_BLOWN = "the meter's 400 mA fuse has blown"


def amps(view: View) -> Shown:
    """Read amps through the 10 A jack."""
    return Shown(through_shunt(view))


def milliamps(view: View) -> Shown:
    """Read amps through the milliamps jack."""
    found, damage = through_fine_shunt(view)
    return Shown(found, damage=damage)


def through_shunt(view: View) -> Floats:
    """Return the current through the 10 A shunt in A; nothing once its fuse has blown."""
    row = np.array([1.0 / multimeter.SHUNT, 0.0, multimeter.SHUNT_FUSE])
    view.wake_with(METER_FUSE, row)
    solution = view.put(METER_FUSE, row)
    return solution.current[:, view.network.element(METER_FUSE)].copy()


def through_fine_shunt(view: View) -> tuple[Floats, harm.Damage]:
    """Return the current through the milliamps shunt in A, and what it lost for good."""
    number = view.network.fuse_names.index(METER_FUSE)
    kept = view.memory.blown[:, number].copy()
    whole = view.memory.blown.copy()
    whole[:, number] = [FINE_BLOWN in lost for lost in view.memory.damaged or ((),) * view.count]
    before = whole[:, number].copy()
    view.memory = replace(view.memory, blown=whole)
    row = np.array([1.0 / multimeter.FINE_SHUNT, 0.0, multimeter.FINE_FUSE])
    view.wake_with(METER_FUSE, row)
    found = view.put(METER_FUSE, row).current[:, view.network.element(METER_FUSE)].copy()
    blown = view.memory.blown.copy()
    gone = (blown[:, number] == 1) & (before == 0)
    blown[:, number] = kept
    view.memory = replace(view.memory, blown=blown)
    return found, tuple((FINE_BLOWN,) if lost else () for lost in gone) if gone.any() else ()
