r"""How strongly an alternator is excited: the winding's EMF that feeds a current into a voltage.

Six diodes feed a voltage V that hardly moves, through an inductance L and a resistance R in each
winding. Per unit of ``U = V + 2 Vd``: ``a = A / U`` the amplitude of one winding's EMF,
``x = w L I / U`` the mean current. With R = 0:

- While each winding conducts all the time (x >= 1 / pi), its voltage to the star point has six
  steps of U / 3 and 2 U / 3, which change where its current passes 0. That the flux returns after
  half a period gives ``a cos(beta) = 2 pi / 9``; the mean of the rectified current is
  ``x = 3 / pi a sin(beta)``. So ``a^2 = (2 pi / 9)^2 + (pi x / 3)^2``. (Derived here.)
- Below, the current of each winding stops between its pulses, down to none at ``a = 1 / sqrt(3)``,
  where only the peak of the voltage between two windings reaches U. There is no closed form;
  `PULSES` is the same ideal circuit integrated numerically, 30 000 steps a period (ours).

R adds its own mean voltage to what the half period sees: ``U (1 + 1.5 x R / w L)`` in place of U
(derived for x >= 1 / pi; held against the integration with R = 0.15 w L, A is 0.6 % too large at
most).

With one diode open, or one shorted, the same amplitude feeds less current, and more is needed for
the same. Both from the same integration, with R from 0.05 to 0.15 w L: an open diode costs a
current of 0.19 at most per unit (`OPEN`); with a shorted one the power that is left goes as what is
lost in the windings, ``U I = 1.3 R Is^2``, Is what a sound bridge would give (fitted, Is within
20 % where it is above 0.7 U / w L).
"""

from __future__ import annotations

import math

import numpy as np

from sim.network import Floats

CONTINUOUS = 1.0 / math.pi  # x from which on each winding conducts all the time
#: x and a where the current comes in pulses.
PULSES = (
    (0.0, 0.001, 0.0032, 0.0085, 0.0233, 0.0549, 0.0893, 0.1258, 0.1642, 0.2043, 0.2459, 0.2888),
    (3**-0.5, 0.59, 0.60, 0.61, 0.62, 0.64, 0.66, 0.68, 0.70, 0.72, 0.74, 0.76),
)
#: Current that is left per unit of U / w L, and what an open diode has cost; middle of two R.
OPEN = (
    (0.0, 0.04, 0.12, 0.19, 0.31, 0.50, 0.70, 1.0, 1.6, 2.7),
    (0.0, 0.036, 0.095, 0.137, 0.172, 0.185, 0.185, 0.178, 0.15, 0.08),
)
SHORTED = 1.3


def diode_drop(amps: Floats, saturation: float, slope: float) -> Floats:
    """Return the forward voltage in V of a diode, by its saturation current in A and n Vt in V."""
    found: Floats = slope * np.log1p(amps / saturation)
    return found


def excitation(volts: Floats, amps: Floats, reactance: Floats, ohms: Floats) -> Floats:
    """Return the amplitude in V of one winding's EMF with which a mean current flows.

    Parameters
    ----------
    volts : float array (L,)
        What the bridge feeds, the drops of its two diodes included; above 0.
    amps : float array (L,)
        Mean current out of it, not negative.
    reactance, ohms : float array (L,)
        Of one winding; the reactance above 0.
    """
    raised = volts + 1.5 * ohms * amps
    x = reactance * amps / raised
    least = math.hypot(2 * math.pi / 9, 1.0 / 3.0)
    pulses = np.interp(x, (*PULSES[0], CONTINUOUS), (*PULSES[1], least))
    steady = np.hypot(2 * math.pi / 9, math.pi / 3 * x)
    found: Floats = raised * np.where(x < CONTINUOUS, pulses, steady)
    return found


def behind_open_diode(volts: Floats, amps: Floats, reactance: Floats) -> Floats:
    """Return the current (L,) in A of a sound bridge where an open diode leaves `amps`."""
    unit = volts / reactance
    found: Floats = amps + unit * np.interp(amps / unit, *OPEN)
    return found


def behind_shorted_diode(volts: Floats, amps: Floats, ohms: Floats) -> Floats:
    """Return the current (L,) in A of a sound bridge where a shorted diode leaves `amps`."""
    found: Floats = np.maximum(amps, np.sqrt(volts * amps / (SHORTED * ohms)))
    return found
