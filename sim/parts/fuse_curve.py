"""Time-current curves: how long fuses, breakers and fusible links carry too much.

Fuses: the time to open is a straight line in log t over log I between the points of `KNOTS`
(multiples of the rating), and ``t = I2t / I^2`` from ten times the rating up, where no heat gets
out of the strip. Up to 110 % a fuse never opens. The points are ours, laid inside the windows of
ISO 8820-3 as makers print them: ATOF 287 data sheet (type C), MINI 297 (type F); for type E the
windows of the MAXI 299 (from memory). Breakers: after SAE J553 (from memory), at 135 % within half
an hour, at 200 % within a minute.

I2t (pre-arc, typical, same data sheets): 26 A2s at 5 A and 3300 A2s at 40 A of type C, a power of
the rating between; MINI 308 A2s at 15 A, MAXI 8500 A2s at 40 A, with the same power (ours).

A fusible link is a bare piece of copper wire. Steady fusing current by Preece (1884), ``80 A
(d / 1 mm)^1.5``; adiabatic fusing time by Onderdonk, ``I / A = sqrt(log10((Tm - Ta) / (234 + Ta) +
1) / (33 t))`` with A in circular mils (both from memory). One time constant joins them: ``t = -tau
ln(1 - (I_steady / I)^2)`` with ``tau = (K A / I_steady)^2``.

Every function takes numbers or arrays. Heat adds up: a fuse opens when the shares of its opening
time reach 1; that it cools between loads is left out.
"""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Numbers = float | Floats

HOLDS = 1.10  # times the rating, for ever
ADIABATIC = 10.0  # times the rating, from which I2t counts alone; ours
#: size -> (multiple of the rating, seconds to open)
KNOTS = MappingProxyType(
    {
        "standard": ((HOLDS, 360e3), (1.35, 60.0), (1.6, 4.0), (2.0, 0.9), (3.5, 0.2)),
        "mini": ((HOLDS, 360e3), (1.35, 60.0), (1.6, 4.0), (2.0, 0.9), (3.5, 0.2)),
        "maxi": ((HOLDS, 360e3), (1.35, 400.0), (1.6, 60.0), (2.0, 12.0), (3.5, 1.2)),
        "breaker": ((HOLDS, 36e3), (1.35, 600.0), (1.6, 100.0), (2.0, 25.0), (3.5, 3.0)),
    }
)
POWER = math.log(3300.0 / 26.0) / math.log(40.0 / 5.0)  # of the rating in I2t
#: size -> (rating in A, its I2t in A2s); a breaker's is ours
MELTING = MappingProxyType(
    {
        "standard": (5.0, 26.0),
        "mini": (15.0, 308.0),
        "maxi": (40.0, 8500.0),
        "breaker": (20.0, 8000.0),
    }
)
SIZES = ("standard", "mini", "maxi")

COPPER_MELTS = 1083.0  # degC
CIRCULAR_MIL = math.pi / 4 * (25.4e-6) ** 2  # m2


def melting_integral(rating: float, size: str = "standard") -> float:
    """Return the I2t in A2s of a fuse at a short circuit, for a rating in A.

    It is never more than at the last point of the curve: heat that got out is heat to spare.
    """
    known, integral = MELTING[size]
    multiple, seconds = KNOTS[size][-1]
    most = (multiple * rating) ** 2 * seconds
    return min(integral * math.pow(rating / known, POWER), most)


def _curve(rating: float, size: str) -> tuple[Floats, Floats]:
    """Return ln of multiples of the rating and ln of seconds at the points of a fuse's curve."""
    last = (ADIABATIC, melting_integral(rating, size) / (ADIABATIC * rating) ** 2)
    points = np.log(np.array([*KNOTS[size], last]))
    return points[:, 0], points[:, 1]


def opening_time(rating: float, current: Numbers, size: str = "standard") -> Numbers:
    """Return the seconds that a fuse carries a current in A, either way; infinite up to 110 %.

    Parameters
    ----------
    rating : float
        A.
    current : float or array
    size : str
        A key of `KNOTS`: standard (ISO 8820-3 type C), mini (F), maxi (E), or breaker.
    """
    multiples, times = _curve(rating, size)
    share = np.abs(np.asarray(current, dtype=np.float64)) / rating
    along = np.log(np.maximum(share, HOLDS))
    seconds = np.exp(np.interp(along, multiples, times) - 2 * np.maximum(along - multiples[-1], 0))
    return _plain(np.where(share > HOLDS, seconds, np.inf), current)


def opening_current(rating: float, seconds: Numbers, size: str = "standard") -> Numbers:
    """Return the current in A that opens a fuse after so many seconds; the inverse.

    Longer than it takes at 110 % gives 110 %: more than that it does not carry for ever.
    """
    multiples, times = _curve(rating, size)
    wanted = np.log(np.asarray(seconds, dtype=np.float64))
    along = np.interp(wanted, times[::-1], multiples[::-1])
    along = along + np.maximum(times[-1] - wanted, 0.0) / 2
    return _plain(rating * np.exp(along), seconds)


def heat_share(
    rating: float, current: Numbers, seconds: Numbers, size: str = "standard"
) -> Numbers:
    """Return which share of what opens a fuse a current in A adds in so many seconds.

    The fuse opens when the shares of one loading after another reach 1.
    """
    return seconds / opening_time(rating, current, size)


def link_current(area: float) -> float:
    """Return the current in A that just melts a copper wire of a cross-section in m2 (Preece)."""
    return 80.0 * math.pow(math.sqrt(4 * area / math.pi) / 1e-3, 1.5)


def link_constant(area: float, ambient: float = 20.0) -> float:
    """Return I^2 t in A2s that melts a copper wire before heat gets out (Onderdonk)."""
    rise = math.log10((COPPER_MELTS - ambient) / (234.0 + ambient) + 1.0)
    return (area / CIRCULAR_MIL) ** 2 * rise / 33.0


def link_opening_time(area: float, current: Numbers) -> Numbers:
    """Return the seconds that a link of a cross-section in m2 carries a current in A."""
    steady = link_current(area)
    ratio = np.abs(np.asarray(current, dtype=np.float64)) / steady
    above = np.maximum(ratio, 1.0 + 1e-12)
    seconds = -link_constant(area) / steady**2 * np.log1p(-(above**-2.0))
    return _plain(np.where(ratio > 1.0, seconds, np.inf), current)


def link_opening_current(area: float, seconds: Numbers) -> Numbers:
    """Return the current in A that opens a link after so many seconds; the inverse."""
    steady = link_current(area)
    tau = link_constant(area) / steady**2
    share = -np.expm1(-np.asarray(seconds, dtype=np.float64) / tau)
    return _plain(steady / np.sqrt(share), seconds)


def _plain(values: Floats, like: Numbers) -> Numbers:
    return values if isinstance(like, np.ndarray) else float(values)
