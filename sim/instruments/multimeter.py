"""A 6 000-count multimeter that ranges by itself: its specification, and its display.

Specification (ours, of the usual class; common practice, no source):

- volts DC: 10 Mohm, ranges 0.6, 6, 60, 600 V, +-(0.5 % + 2 counts)
- volts AC: the same input and ranges, true RMS of what is not steady, +-(1 % + 5 counts)
- ohms, continuity: 3.0 V behind a series resistance that goes with the range (600 ohm to 60 Mohm
  full scale), +-(0.8 % + 2 counts); it is a source of its own, so it misreads a live circuit and
  sees parallel paths. The leads' own 0.1 ohm is zeroed, or in the reading. Beeps under 30 ohm.
- diode: 3.0 V behind 2 kohm, shows the drop up to 2 V
- amps DC: 10 mohm shunt, ranges 6 and 10 A, +-(1 % + 3 counts), behind a fuse of 11 A that opens
  above 1.35 times that (as ISO 8820-3 fuses do)
- milliamps DC, in a jack of its own: 1.5 ohm with its fuse, ranges 60 and 400 mA, +-(1 % + 3
  counts), behind a fuse of 400 mA that opens above 1.35 times that
- hertz: 0 to 20 kHz, +-(0.1 % + 1 count); duty: 0.1 to 99.9 %, +-(0.5 % + 2 counts)
- minimum and maximum of volts and amps while controls are operated, in the range of the larger

Cautions: ohms only on a dead circuit; amps only in series with a load, never across a battery; the
red lead goes back into the volts jack.
"""

from __future__ import annotations

import math

import numpy as np

from sim.instruments.counts import COUNTS, Accuracy, Scale, digits, range_for, ranged
from sim.network import Floats
from sim.reading import Reading

__all__ = ["COUNTS", "Accuracy", "Scale", "digits", "range_for"]

INPUT_RESISTANCE = 10e6  # ohm
TEST_VOLTAGE = 3.0  # V, ohms and diode
LEADS_ZEROED = 0.1  # ohm, both leads
SERIES = (3e3, 30e3, 300e3, 3e6, 10e6, 10e6)  # ohm, by range
FULL_SCALE = (600.0, 6e3, 60e3, 600e3, 6e6, 60e6)  # ohm
BEEP = 30.0  # ohm
DIODE_SERIES = 2e3  # ohm
DIODE_SCALE = 2.0  # V
SHUNT = 0.01  # ohm
SHUNT_FUSE = 11.0 * 1.35  # A
FINE_SHUNT = 1.5  # ohm, milliamps jack with its fuse
FINE_FUSE = 0.4 * 1.35  # A
VOLT_RANGES = (0.6, 6.0, 60.0, 600.0)
AMP_RANGES = (6.0, 10.0)
FINE_RANGES = (0.06, 0.4)
HERTZ_RANGES = (60.0, 600.0, 6e3, 20e3)
DUTY_RANGES = (100.0,)

VOLTS_ACCURACY = Accuracy(0.005, 2)
AC_ACCURACY = Accuracy(0.01, 5)
OHMS_ACCURACY = Accuracy(0.008, 2)
AMPS_ACCURACY = Accuracy(0.01, 3)
HERTZ_ACCURACY = Accuracy(0.001, 1)
DUTY_ACCURACY = Accuracy(0.005, 2)


def ohms_from_drop(drop: Floats, series: Floats, leads: float = LEADS_ZEROED) -> Floats:
    """Return what the ohmmeter makes of the voltage at its jacks.

    Parameters
    ----------
    drop : array
        Volts between red and black; an outside voltage is taken for the meter's own.
    series : array
        The meter's series resistance in ohm.
    leads : float
        Ohms taken off for the leads; 0 where they have not been zeroed.

    Returns
    -------
    array
        Ohms; infinite where no current leaves the meter.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ohms = series * drop / (TEST_VOLTAGE - drop) - leads
    return np.where(drop < TEST_VOLTAGE * (1 - 1e-12), ohms, math.inf)


def show_volts(value: float, *, steady: bool = True) -> Reading:
    """Return a voltage as displayed."""
    return ranged(value, VOLT_RANGES, "V", steady=steady)


def show_amps(value: float) -> Reading:
    """Return a direct current as displayed."""
    return ranged(value, AMP_RANGES, "A")


def show_milliamps(value: float) -> Reading:
    """Return a small direct current as displayed, OL above 400 mA."""
    if abs(value) >= FINE_RANGES[-1]:
        return Reading("OL", "mA", "400")
    return ranged(value, FINE_RANGES, "A")


def show_ohms(value: float) -> Reading:
    """Return a resistance as displayed, OL if it is over range."""
    scale = range_for(value, FULL_SCALE)
    if scale is None:
        return Reading("OL", "Mohm", "60")
    divisor, unit = 1.0, "ohm"
    if scale >= 6e6:  # noqa: PLR2004 -- ranges are shown in the unit they are marked with
        divisor, unit = 1e6, "Mohm"
    elif scale >= 6e3:  # noqa: PLR2004
        divisor, unit = 1e3, "kohm"
    return Reading(digits(value / divisor, scale / divisor), unit, f"{scale / divisor:g}")


def show_diode(value: float) -> Reading:
    """Return the diode test's drop as displayed, OL above 2 V."""
    if value >= DIODE_SCALE:
        return Reading("OL", "V", "2")
    return Reading(digits(value, 6.0), "V", "2")


def show_hertz(value: float) -> Reading:
    """Return a frequency as displayed."""
    return ranged(value, HERTZ_RANGES, "Hz")


def show_duty(value: float) -> Reading:
    """Return a share of the period in % as displayed; without edges there is none."""
    if not math.isfinite(value):
        return Reading(words="no edges")
    if value >= DUTY_RANGES[-1]:
        return Reading("OL", "%", "100")
    return Reading(digits(value, DUTY_RANGES[-1]), "%", "100")
