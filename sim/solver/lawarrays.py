"""Lines of lamps and diodes in whole arrays: `sim.solver.newton.next_line`, with fewer operations.

What is the same for a whole block of elements and lanes is left out: a factor of 1, an EMF of 0, a
lamp's chord where no lane takes it, and the exponential of a diode so far backwards that neither
its current nor its slope has a bit of it (below `DEEP` n Vt, where I is -Is + V Gmin and the slope
is Gmin to the last bit). What is left goes through the operations of `newton` and `laws` in their
order, to the same bits; motors and limiters, which are few, go through those functions themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Floats
from sim.solver.elementaryarrays import exp_in_place, power_of
from sim.solver.laws import DIODE, GMIN, LAMP, MOST_EXPONENT
from sim.solver.newton import (
    CHORD_STEP,
    MOST_AMPS,
    ROUNDING,
    STILL,
    TOLERANCE,
    is_too_far,
    law_current,
    limited_step,
)

#: n Vt. e^-60 is 9e-27; a double's 1 tells 1e-16 from nothing, which e^-37 is. Far below that, as
#: no time is won nearer: a diode that blocks is hundreds of n Vt backwards; ours.
DEEP = -60.0
#: S, Is / (n Vt) of a diode. Its slope is Is / (n Vt) e^-60 there, 9e-30 S at most, and beside
#: Gmin, 1e-12 S, 1e-28 S is the first that leaves a bit; ours, a tenth of what would do.
SHALLOW = 1e-3

Row = tuple[Floats, ...]


def alike(laws: list[int], rows: Floats) -> tuple[list[bool], list[bool], list[bool]]:
    """Tell of each element what holds in all lanes of its rows (5, C, L).

    Returns
    -------
    three lists of bool
        That it conducts; that it has no EMF; that it is a diode whose exponential may be left out
        far backwards.
    """
    g, emf, saturation, voltage, _third = rows
    small = (saturation < SHALLOW * voltage).all(axis=1).tolist()
    backwards = [law == DIODE and at for law, at in zip(laws, small, strict=True)]
    return (g > 0.0).all(axis=1).tolist(), (emf == 0.0).all(axis=1).tolist(), backwards


@dataclass(frozen=True, slots=True)
class Block:
    """Some elements of one law in some lanes.

    Attributes
    ----------
    law : int
    some : slice
        Which elements they are.
    fixed : five float arrays (k, L)
        Their rows of the network: conductance, EMF and three numbers of the law.
    factor : float array (k, L)
        1 where they conduct and 0 where they do not.
    there, unpushed, backwards : bool
        See `alike`.
    """

    law: int
    some: slice
    fixed: Row
    factor: Floats
    there: bool
    unpushed: bool
    backwards: bool

    def step(self, line: Row, out: Row, *, judged: bool) -> Flags | None:
        """Write the next lines; tell which elements are lawful, where somebody asks.

        Parameters
        ----------
        line : three float arrays (k, L)
            The voltage they are straightened about, and slope and j of the line.
        out : four float arrays (k, L)
            The first is V across the elements; it becomes the voltage they are straightened about
            next, the others slope, j and current there.
        judged : bool
        """
        to, steep, beside, amps = out
        drop = new = to
        if not self.unpushed:
            drop = to.copy()
            to -= self.fixed[1]
        far = self._far(line[0], to)
        if far is not None:
            new = to.copy()
            drop = new if self.unpushed else drop
            to[far] = self._limited(line[0], to, far)
        self._straighten(line[0], to, steep, beside, amps)
        if not self.unpushed:
            beside += steep * self.fixed[1]
        if not self.there:
            steep *= self.factor
            beside *= self.factor
            amps *= self.factor
        if not judged:
            return None
        lawful = _is_lawful(drop, new, line, amps, steep)
        if far is not None:
            lawful &= (to == new) | (self.fixed[0] == 0.0)
        return lawful

    def _far(self, old: Floats, new: Floats) -> Flags | None:
        """Return where a step has to be limited, None for nowhere."""
        if self.law == LAMP or (self.law == DIODE and not (new > 0.0).any()):
            return None
        far: Flags = is_too_far(self.law, new, old, self.fixed[3])
        return far if far.any() else None

    def _limited(self, old: Floats, new: Floats, far: Flags) -> Floats:
        g, _emf, first, second = (fixed[far] for fixed in self.fixed[:4])
        limited: Floats = limited_step(self.law, new[far], old[far], g, first, second)
        return limited

    def _straighten(
        self, old: Floats, to: Floats, steep: Floats, beside: Floats, amps: Floats
    ) -> None:
        """Write slope, what the line misses the origin by, and I of elements that conduct."""
        if self.law == LAMP:
            self._lamp(old, to, steep, beside, amps)
            return
        if self.law == DIODE:
            self._diode(to, steep, amps)
        else:
            g, _emf, *shape = self.fixed
            amps[:], steep[:] = law_current(self.law, to, g, *shape)
        np.multiply(steep, to, beside)
        beside -= amps

    def _lamp(self, old: Floats, to: Floats, steep: Floats, beside: Floats, amps: Floats) -> None:
        _g, _emf, cold, k, beta = self.fixed
        step, reach = to - old, np.abs(to)
        reach *= CHORD_STEP
        tangent = np.abs(step, step) <= reach
        tangent |= to == 0.0
        bend = power_of(to, beta)
        bend *= k
        resistance = np.add(cold, bend, step)
        np.divide(to, resistance, amps)
        if not tangent.any():
            np.divide(amps, to, steep)
            beside[:] = 0.0
            return
        np.subtract(1.0, beta, steep)
        steep *= bend
        steep += cold
        resistance *= resistance
        steep /= resistance
        np.multiply(steep, to, beside)
        beside -= amps
        if not tangent.all():
            chord = ~tangent
            beside[chord] = 0.0
            np.divide(amps, to, steep, where=chord)

    def _diode(self, to: Floats, steep: Floats, amps: Floats) -> None:
        _g, _emf, saturation, voltage, _third = self.fixed
        exponent = np.divide(to, voltage, amps)
        np.minimum(exponent, MOST_EXPONENT, out=exponent)
        grown = self._grown(exponent, steep)
        np.subtract(grown, 1.0, amps)
        amps *= saturation
        amps += GMIN * to
        np.multiply(grown, saturation, steep)
        steep /= voltage
        steep += GMIN

    def _grown(self, exponent: Floats, room: Floats) -> Floats:
        """Return e^x, or 0 where it leaves no bit; both arrays are written over."""
        if not self.backwards:
            return exp_in_place(exponent)
        near = np.flatnonzero(~(exponent < DEEP))
        if 2 * len(near) > exponent.size:
            return exp_in_place(exponent)
        room[:] = 0.0
        if len(near):
            room.reshape(-1)[near] = exp_in_place(exponent.reshape(-1)[near])
        return room


def _is_lawful(drop: Floats, new: Floats, line: Row, amps: Floats, steep: Floats) -> Flags:
    """Tell whether what flows is what the law asks for; see `newton.is_lawful`."""
    _point, slope, push = line
    missing = slope * drop
    missing -= push
    missing -= amps
    np.abs(missing, missing)
    size = np.abs(new)
    size += 1.0
    allowed = np.abs(amps)
    np.minimum(allowed, MOST_AMPS, out=allowed)
    allowed += 1.0
    allowed *= TOLERANCE
    told = steep * ROUNDING
    told *= size
    allowed += told
    lawful: Flags = missing <= allowed
    size *= np.multiply(steep, STILL, told)
    lawful &= missing <= size
    lawful |= slope == 0.0
    return lawful
