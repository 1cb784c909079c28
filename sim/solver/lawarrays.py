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

DEEP = -60.0  # n Vt: e^-60 is 9e-27, a ten-billionth of what a 1 in a double can tell
SHALLOW = 1e-3  # S: Is / (n Vt) of a diode of whose slope e^-60 leaves no bit beside Gmin


@dataclass(frozen=True, slots=True)
class Block:
    """Some elements of one law in some lanes.

    Attributes
    ----------
    law : int
    fixed : five float arrays (k, L)
        Their rows of the network: conductance, EMF and three numbers of the law.
    lines : three float arrays (k, L)
        The voltage they are straightened about, and slope and j of the line.
    there, pushed : bool
        Whether all of them conduct; whether an EMF is on any.
    """

    law: int
    fixed: tuple[Floats, ...]
    lines: tuple[Floats, ...]
    there: bool
    pushed: bool

    def step(self, drop: Floats, out: tuple[Floats, ...], *, judged: bool) -> Flags | None:
        """Write the next lines; tell which elements are lawful, where somebody asks.

        Parameters
        ----------
        drop : float array (k, L)
            V across the elements.
        out : four float arrays (k, L)
            What `lines` is to be next, and the currents.
        judged : bool
        """
        new = drop - self.fixed[1] if self.pushed else drop
        to = self._limited(new)
        amps, steep, beside = self._line(to)
        if self.pushed:
            beside += steep * self.fixed[1]
        if not self.there:
            there = np.where(self.fixed[0] > 0.0, 1.0, 0.0)
            amps, steep, beside = there * amps, there * steep, there * beside
        for home, value in zip(out, (to, steep, beside, amps), strict=True):
            home[:] = value
        return self._lawful(drop, new, to, amps, steep) if judged else None

    def _limited(self, new: Floats) -> Floats:
        """Return the voltage to go to: `new` itself where no step has to be limited."""
        if self.law == LAMP or (self.law == DIODE and not (new > 0.0).any()):
            return new
        g, _emf, first, second = self.fixed[:4]
        far = is_too_far(self.law, new, self.lines[0], second)
        if not far.any():
            return new
        to = new.copy()
        to[far] = limited_step(
            self.law, new[far], self.lines[0][far], g[far], first[far], second[far]
        )
        return to

    def _line(self, to: Floats) -> tuple[Floats, Floats, Floats]:
        """Return I, the slope, and what the line misses the origin by, of elements that conduct."""
        if self.law == LAMP:
            return self._lamp_line(to)
        if self.law == DIODE:
            amps, steep = self._diode(to)
        else:
            g, _emf, *shape = self.fixed
            amps, steep = law_current(self.law, to, g, *shape)
        beside = steep * to
        beside -= amps
        return amps, steep, beside

    def _lamp_line(self, to: Floats) -> tuple[Floats, Floats, Floats]:
        _g, _emf, cold, k, beta = self.fixed
        tangent = np.abs(to - self.lines[0]) <= CHORD_STEP * np.abs(to)
        tangent |= to == 0.0
        bend = power_of(to, beta)
        bend *= k
        resistance = cold + bend
        amps = to / resistance
        if not tangent.any():
            return amps, amps / to, np.zeros(to.shape)
        steep = 1.0 - beta
        steep *= bend
        steep += cold
        resistance *= resistance
        steep /= resistance
        beside = np.multiply(steep, to, bend)
        beside -= amps
        if not tangent.all():
            chord = ~tangent
            beside[chord] = 0.0
            np.divide(amps, to, steep, where=chord)
        return amps, steep, beside

    def _diode(self, to: Floats) -> tuple[Floats, Floats]:
        _g, _emf, saturation, voltage, _third = self.fixed
        grown = self._grown(to)
        amps, steep = grown - 1.0, np.multiply(saturation, grown, grown)
        amps *= saturation
        amps += GMIN * to
        steep /= voltage
        steep += GMIN
        return amps, steep

    def _grown(self, to: Floats) -> Floats:
        """Return exp(V / (n Vt)), or 0 where it leaves no bit."""
        _g, _emf, saturation, voltage, _third = self.fixed
        exponent = to / voltage
        np.minimum(exponent, MOST_EXPONENT, exponent)
        near = np.flatnonzero(~(exponent < DEEP))
        if 2 * len(near) > exponent.size or not (saturation < SHALLOW * voltage).all():
            return exp_in_place(exponent)
        grown = np.zeros(to.shape)
        grown.flat[near] = exp_in_place(exponent.flat[near])
        return grown

    def _lawful(
        self, drop: Floats, new: Floats, to: Floats, amps: Floats, steep: Floats
    ) -> Flags:
        """Tell whether what flows is what the law asks for; see `newton.is_lawful`."""
        _point, slope, push = self.lines
        missing = slope * drop
        missing -= push
        missing -= amps
        np.abs(missing, missing)
        size = np.abs(new)
        size += 1.0
        allowed = np.abs(amps)
        np.minimum(allowed, MOST_AMPS, allowed)
        allowed += 1.0
        allowed *= TOLERANCE
        told = steep * ROUNDING
        told *= size
        allowed += told
        lawful: Flags = missing <= allowed
        size *= np.multiply(steep, STILL, told)
        lawful &= missing <= size
        lawful |= slope == 0.0
        if to is not new:
            lawful &= (to == new) | (self.fixed[0] == 0.0)
        return lawful
