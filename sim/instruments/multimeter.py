"""A 6 000-count multimeter that ranges by itself.

Specification (ours, of the usual class; common practice, no source):

- volts DC: 10 Mohm, ranges 0.6, 6, 60, 600 V, +-(0.5 % + 2 counts)
- ohms, continuity: 3.0 V behind a series resistance that goes with the range (600 ohm to 60 Mohm
  full scale), +-(0.8 % + 2 counts); it is a source of its own, so it misreads a live circuit and
  sees parallel paths. The leads' own 0.1 ohm has been zeroed. Beeps under 30 ohm.
- diode: 3.0 V behind 2 kohm, shows the drop up to 2 V
- amps DC: 10 mohm shunt, ranges 6 and 10 A, +-(1 % + 3 counts), behind a fuse of 11 A that opens
  above 1.35 times that (as ISO 8820-3 fuses do)

Cautions: ohms only on a dead circuit; amps only in series with a load, never across a battery.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.action import Reading
from sim.network import Floats

COUNTS = 6000
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
VOLT_RANGES = (0.6, 6.0, 60.0, 600.0)
AMP_RANGES = (6.0, 10.0)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Relative part and counts, as in ``+-(0.5 % + 2)``."""

    share: float
    counts: int

    def half_width(self, value: float, scale: float) -> float:
        """Return the largest error at a value read in a range of this full scale."""
        return abs(value) * self.share + self.counts * scale / COUNTS


VOLTS_ACCURACY = Accuracy(0.005, 2)
OHMS_ACCURACY = Accuracy(0.008, 2)
AMPS_ACCURACY = Accuracy(0.01, 3)


def range_for(value: float, ranges: tuple[float, ...]) -> float | None:
    """Return the lowest range that can show a value, None if none can."""
    for scale in ranges:
        if abs(value) < scale:
            return scale
    return None


def ohms_from_drop(drop: Floats, series: Floats) -> Floats:
    """Return what the ohmmeter makes of the voltage at its jacks.

    Parameters
    ----------
    drop : array
        Volts between red and black; an outside voltage is taken for the meter's own.
    series : array
        The meter's series resistance in ohm.

    Returns
    -------
    array
        Ohms with the leads zeroed; infinite where no current leaves the meter.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ohms = series * drop / (TEST_VOLTAGE - drop) - LEADS_ZEROED
    return np.where(drop < TEST_VOLTAGE * (1 - 1e-12), ohms, math.inf)


def show_volts(value: float, *, steady: bool = True) -> Reading:
    """Return a DC voltage as displayed."""
    return _show(value, VOLT_RANGES, "V", steady=steady)


def show_amps(value: float) -> Reading:
    """Return a direct current as displayed."""
    return _show(value, AMP_RANGES, "A", steady=True)


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
    return Reading(_digits(value / divisor, scale / divisor), unit, f"{scale / divisor:g}")


def show_diode(value: float) -> Reading:
    """Return the diode test's drop as displayed, OL above 2 V."""
    if value >= DIODE_SCALE:
        return Reading("OL", "V", "2")
    return Reading(_digits(value, 6.0), "V", "2")


def _show(value: float, ranges: tuple[float, ...], unit: str, *, steady: bool) -> Reading:
    scale = range_for(value, ranges)
    if scale is None:
        return Reading("OL", unit, f"{ranges[-1]:g}", steady=steady)
    if scale < 1:
        return Reading(
            _digits(value * 1e3, scale * 1e3), f"m{unit}", f"{scale * 1e3:g}", steady=steady
        )
    return Reading(_digits(value, scale), unit, f"{scale:g}", steady=steady)


def _digits(value: float, scale: float) -> str:
    """Write a value with as many decimals as a 6 000-count display has in this range."""
    decimals = max(0, 3 - len(str(int(scale))) + 1)
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text
