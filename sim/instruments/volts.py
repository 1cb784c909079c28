"""The multimeter on volts, DC and AC, and on hertz and duty: 10 Mohm between the leads.

A wire that nothing holds shows a few millivolts of hum, and never the same twice: the wander is
drawn from points and clock by a checksum, so that replaying a record shows the same digits.
"""

from __future__ import annotations

import zlib

import numpy as np

from sim.doing import Doing
from sim.instruments import moving, multimeter
from sim.instruments.verb import Outcome, Shown
from sim.network import METER
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

FLOATING_SHARE = (
    0.9  # of a meter's own test voltage: behind more than 90 Mohm nothing holds the wire
)
FLOATING_VOLTS = 3.0  # V: behind more than 90 Mohm a 10 Mohm meter shows under a tenth of 30 V
HUM = 0.030  # V, largest pick-up of a loose wire on a 10 Mohm meter; ours


def volts(view: View) -> Shown:
    """Read volts DC, and find the lanes where nothing holds the wire.

    Where something is switched on and off for ever it is the mean that shows.
    """
    siemens = 1.0 / multimeter.INPUT_RESISTANCE
    meter = view.network.element(METER)
    found = view.put(METER, np.array([siemens, 0.0])).drop[:, meter].copy()
    floating = np.zeros(view.count, dtype=bool)
    if moving.switches(view):
        return Shown(moving.measured(view, "mean"), floating=floating)
    low = np.flatnonzero(np.abs(found) < FLOATING_VOLTS)
    pushed = view.solve(view.memory, METER, np.array([siemens, 1.0]), low).drop[:, meter]
    floating[low] = np.abs(pushed - found[low]) > FLOATING_SHARE
    return Shown(found, floating=floating)


def alternating(view: View) -> Shown:
    """Read volts AC: the true RMS of what is left without the mean; of what stands still, 0."""
    view.put(METER, np.array([1.0 / multimeter.INPUT_RESISTANCE, 0.0]))
    if moving.moves(view):
        return Shown(moving.measured(view, "rms"))
    return Shown(np.zeros(view.count))


def hertz(view: View) -> Shown:
    """Count rising edges through the middle of the swing; what stands still has none."""
    view.put(METER, np.array([1.0 / multimeter.INPUT_RESISTANCE, 0.0]))
    if moving.moves(view):
        return Shown(moving.measured(view, "frequency"))
    return Shown(np.zeros(view.count))


def duty(view: View) -> Shown:
    """Read the share of a period above the middle of the swing, in %; none without edges."""
    view.put(METER, np.array([1.0 / multimeter.INPUT_RESISTANCE, 0.0]))
    if moving.moves(view):
        return Shown(moving.measured(view, "duty"))
    return Shown(np.full(view.count, np.nan))


def show_direct(doing: Doing, situation: Situation, outcome: Outcome, lane: int) -> Reading:
    """Show volts DC; a loose wire wanders."""
    value = float(_numbers(outcome)[lane])
    if outcome.floating[lane]:
        return multimeter.show_volts(value + _hum(doing, situation), steady=False)
    return multimeter.show_volts(value)


def _numbers(outcome: Outcome) -> np.ndarray:
    return np.zeros(len(outcome.harm)) if outcome.numbers is None else outcome.numbers


def _hum(doing: Doing, situation: Situation) -> float:
    seed = f"{doing.red}|{doing.black}|{situation.clock:.1f}"
    return HUM * (zlib.crc32(seed.encode()) / 2**32 - 0.3)
