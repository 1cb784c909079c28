"""How strongly alternators are excited in a curve in time: as much as their steady state takes.

The regulator is an averaged field: each variant's windings have the amplitude that feeds, into the
voltage at B+ of the steady state, the current which the regulated element carries there
(`sim.parts.excitation`). The mean of the curve then is what a meter on DC shows. With a diode open
or shorted the field makes up for what the bridge loses, up to full field. A shorted diode then
leaves less than the share that the steady state takes (`sim.parts.alternator`), so that the curve's
mean lies below the meter where much is asked of it, by up to 0.8 V (`charging-by-load` idling with
headlamps: 13.55 V for 14.32 V). What an open one costs is known by a fit: up to 0.26 V off.

Where no regulated element is in circuit (brushes that lift) there is no field. Where there is no
steady state (a relay that never rests) the windings keep the amplitude that they have by
themselves, which holds the voltage without load (`sim.parts.alternator`). As controls move,
the field follows at once: its own time constant of some 0.1 s is left out (ours).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.circuit import Circuit
from sim.network import (
    AMPLITUDE,
    CONDUCTANCE,
    FREQUENCY,
    INDUCTANCE,
    SHAPE,
    WAVE,
    Floats,
    Network,
)
from sim.parts.alternator import (
    LEFT_WITH_DIODE_OPEN,
    LEFT_WITH_DIODE_SHORTED,
    RECTIFIER,
    SHORTED_DIODE,
)
from sim.parts.excitation import (
    behind_open_diode,
    behind_shorted_diode,
    diode_drop,
    excitation,
)
from sim.parts.family import Wave
from sim.solver.lanes import Lanes, Solution
from sim.solver.laws import SOLVED
from sim.solver.steady import Solver

ALTERNATORS = ("alternator", "commanded alternator")
#: S; a leak across a diode that conducts more is a short. Half of what a shorted one does: far from
#: that of one that leaks (20 ohm, 0.05 S), and clear of rounding; ours.
SHORTED = 0.5 / SHORTED_DIODE
SIDES = ("plus", "minus")


@dataclass(frozen=True, slots=True)
class Charger:
    """The elements of one alternator: numbers of windings, regulated ones, and of its bridge."""

    windings: tuple[int, ...]
    regulated: tuple[int, ...]
    diodes: tuple[int, ...]
    leak: int


def chargers(circuit: Circuit, network: Network) -> tuple[Charger, ...]:
    """Return the alternators of a circuit."""
    names = [name for name, part in circuit.parts.items() if part.kind in ALTERNATORS]
    return tuple(_charger(network, name) for name in names)


def _charger(network: Network, name: str) -> Charger:
    def begin(*starts: str) -> tuple[int, ...]:
        words = tuple(f"{name} {start}" for start in starts)
        return tuple(n for n, e in enumerate(network.elements) if e.name.startswith(words))

    return Charger(
        begin(*(f"{phase} winding" for phase in "UVW")),
        begin("regulated", "own regulated"),
        tuple(network.element(f"{name} {phase} {side}") for phase in "UVW" for side in SIDES),
        network.element(f"{name} U leak"),
    )


def excited(
    solver: Solver,
    found: tuple[Charger, ...],
    rows: Floats,
    hold: Callable[[Floats], Floats],
    lanes: Lanes,
) -> Floats:
    """Return rows (V, E, 13) in which every winding has the amplitude of its steady state.

    A variant without a steady state, or whose alternators stand, keeps its own.

    Parameters
    ----------
    rows : float array (V, E, 13)
        Rows to change, in a copy.
    hold : callable
        Returns rows in which no fuse opens, to be solved; asked where an alternator turns.
    """
    turning = [one for one in found if _turns(rows[:, list(one.windings)]).any()]
    if not turning:
        return rows
    steady, rows = solver.solve(hold(rows), lanes), rows.copy()
    for one in turning:
        _excite(one, rows, lanes, steady)
    return rows


def _turns(windings: Floats) -> npt.NDArray[np.bool_]:
    """Return which windings (V, K, 13) are in circuit with an EMF."""
    sways = (windings[..., CONDUCTANCE] > 0.0) & (windings[..., WAVE] == Wave.SINE)
    found: npt.NDArray[np.bool_] = sways & (windings[..., FREQUENCY] > 0.0)
    return found


def _excite(one: Charger, rows: Floats, lanes: Lanes, steady: Solution) -> None:
    """Set the amplitudes of one alternator's windings, in rows of one's own."""
    regulated = list(one.regulated)
    for number in one.windings:
        turns = _turns(rows[lanes.variant, number]) & (steady.status == SOLVED)
        which = np.flatnonzero(turns)
        own = rows[lanes.variant[which]]
        charges = own[:, regulated, CONDUCTANCE] > 0.0
        given = np.where(charges, -steady.current[which][:, regulated], 0.0).sum(axis=1)
        most = np.where(charges, own[:, regulated, SHAPE], 0.0).sum(axis=1)
        volts = np.maximum(steady.drop[which, regulated[0]], 0.0)
        amplitude = _amplitude(one, own, own[:, number], (volts, np.maximum(given, 0.0), most))
        excites = charges.any(axis=1)
        rows[lanes.variant[which], number, AMPLITUDE] = np.where(excites, amplitude, 0.0)


def _amplitude(
    one: Charger, rows: Floats, winding: Floats, output: tuple[Floats, Floats, Floats]
) -> Floats:
    """Return the amplitudes (L,) of a winding (L, 13) for an output: volts, amps, most amps.

    The most is what is left of a sound bridge's at full field, which is the limit.
    """
    volts, amps, most = output
    fed = volts + 2.0 * diode_drop(amps, *RECTIFIER[:2])
    reactance = 2 * np.pi * winding[:, FREQUENCY] * winding[:, INDUCTANCE]
    ohms = 1.0 / winding[:, CONDUCTANCE]
    gone = (rows[:, list(one.diodes), CONDUCTANCE] == 0.0).any(axis=1)
    through = rows[:, one.leak, CONDUCTANCE] >= SHORTED
    needed = np.where(gone, behind_open_diode(fed, amps, reactance), amps)
    needed = np.where(through, behind_shorted_diode(fed, needed, ohms), needed)
    most = most / np.where(gone, LEFT_WITH_DIODE_OPEN, 1.0)
    most = most / np.where(through, LEFT_WITH_DIODE_SHORTED, 1.0)
    return excitation(fed, np.minimum(needed, most), reactance, ohms)
