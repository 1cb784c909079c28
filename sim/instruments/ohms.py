"""The multimeter on ohms, continuity and diode: a source of its own between the leads.

So it misreads a live circuit, and sees every parallel path.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sim.bus.ports import has_bus
from sim.instruments import harmful, multimeter
from sim.instruments.verb import Shown
from sim.modules.loop import put_lanes
from sim.network import METER, Floats, Ints
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
    found = _Test.on(view).behind(np.full(view.count, multimeter.DIODE_SERIES))
    return Shown(found, damage=harmful.done(view, view.solution))


@dataclass(slots=True)
class _Test:
    """What the meter's own voltage behind a series resistance shows, tried again and again.

    A lane that stands as it did, behind the same resistance, shows what it did: only the others are
    solved again.

    Attributes
    ----------
    series : float array (L,)
        In ohm; nan before the first try.
    blown : int array (L, F)
        As fuses stood before the last try.
    drop : float array (L,)
        V at the jacks.
    """

    view: View
    series: Floats
    blown: Ints
    drop: Floats

    @classmethod
    def on(cls, view: View) -> _Test:
        """Begin."""
        unknown = np.full(view.count, np.nan)
        return cls(view, unknown, view.memory.blown, unknown)

    def behind(self, series: Floats) -> Floats:
        """Return the drop at the jacks behind a series resistance (L,) in ohm."""
        stands = self.view.memory.blown
        anew = (series != self.series) | (stands != self.blown).any(axis=1)
        self.series, self.blown = series, stands
        if anew.any():
            rows = np.zeros((self.view.count, 2))
            rows[:, 0], rows[:, 1] = 1.0 / series, multimeter.TEST_VOLTAGE
            self._put(rows, np.flatnonzero(anew))
            solution = self.view.solution
            self.drop = solution.drop[:, self.view.network.element(METER)].copy()
        return self.drop

    def _put(self, rows: Floats, anew: Ints) -> None:
        """Put the meter on some lanes, on all of them where they hang on a bus."""
        view = self.view
        if len(anew) == view.count or has_bus(view.network):
            view.put(METER, rows)
            return
        new = view.solve(view.memory, METER, rows[anew], anew)
        view.solution = put_lanes(view.solution, anew, new)
        view.memory = replace(view.memory, blown=view.solution.blown)


def _ohms(view: View) -> Floats:
    """Find the range with the highest one, as a meter does, then read in it."""
    leads = multimeter.LEADS_ZEROED if view.situation.leads_zeroed else 0.0
    series, scales = np.array(multimeter.SERIES), np.array(multimeter.FULL_SCALE)
    top, test = np.full(view.count, series[-1]), _Test.on(view)
    guess = multimeter.ohms_from_drop(test.behind(top), top, leads)
    choice = np.searchsorted(scales, np.maximum(guess, 0.0), side="right")
    for _again in scales:
        reading = np.minimum(choice, len(scales) - 1)
        drop = test.behind(series[reading])
        found = multimeter.ohms_from_drop(drop, series[reading], leads)
        over = (found >= scales[reading]) & (choice < len(scales) - 1)
        if not over.any():
            break
        choice[over] += 1
    return np.where(found < scales[reading], found, np.inf)
