"""The multimeter on ohms, continuity and diode: a source of its own between the leads.

So it misreads a live circuit, and sees every parallel path.
"""

from __future__ import annotations

import numpy as np

from sim.instruments import harmful, multimeter
from sim.instruments.verb import Shown
from sim.network import METER, Floats
from sim.view import View


def ohms(view: View) -> Shown:
    """Read ohms."""
    found = _ohms(view)
    return Shown(found, damage=harmful.done(view, view.solution))


def continuity(view: View) -> Shown:
    """Hear whether it beeps."""
    heard = tuple("beeps" if value < multimeter.BEEP else "silent" for value in _ohms(view))
    return Shown(words=heard, damage=harmful.done(view, view.solution))


def diode(view: View) -> Shown:
    """Read the drop that the test current makes."""
    found = _tested(view, np.full(view.count, multimeter.DIODE_SERIES))
    return Shown(found, damage=harmful.done(view, view.solution))


def _tested(view: View, series: Floats) -> Floats:
    """Return the drop at the jacks, the meter's own voltage behind a series resistance."""
    rows = np.zeros((view.count, 2))
    rows[:, 0], rows[:, 1] = 1.0 / series, multimeter.TEST_VOLTAGE
    return view.put(METER, rows).drop[:, view.network.element(METER)].copy()


def _ohms(view: View) -> Floats:
    """Find the range with the highest one, as a meter does, then read in it."""
    leads = multimeter.LEADS_ZEROED if view.situation.leads_zeroed else 0.0
    series, scales = np.array(multimeter.SERIES), np.array(multimeter.FULL_SCALE)
    top = np.full(view.count, series[-1])
    guess = multimeter.ohms_from_drop(_tested(view, top), top, leads)
    choice = np.searchsorted(scales, np.maximum(guess, 0.0), side="right")
    for _again in scales:
        reading = np.minimum(choice, len(scales) - 1)
        drop = _tested(view, series[reading])
        found = multimeter.ohms_from_drop(drop, series[reading], leads)
        over = (found >= scales[reading]) & (choice < len(scales) - 1)
        if not over.any():
            break
        choice[over] += 1
    return np.where(found < scales[reading], found, np.inf)
