"""Blade fuse in its holder, and the fusible link that feeds a rail.

Cold resistance of the strip by rating: typical values of a maker's ATOF 287 data sheet (3 A 31.1,
5 A 17.85, 7.5 A 10.91, 10 A 7.70, 15 A 4.80, 20 A 3.38, 25 A 2.52, 30 A 1.97, 40 A 1.44 mohm), and
above 40 A in proportion to 1 / rating. A steady current above 1.35 x rating opens it: ISO 8820-3
type C opens within 0.75 s to 600 s at 135 % and holds for 100 h at 100 %.
"""

from __future__ import annotations

import numpy as np

from sim.circuit import Part
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance, joint, joint_ways

RATINGS = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0)  # A
COLD_RESISTANCE = (
    31.1e-3,
    17.85e-3,
    10.91e-3,
    7.70e-3,
    4.80e-3,
    3.38e-3,
    2.52e-3,
    1.97e-3,
    1.44e-3,
)
OPENING_FACTOR = 1.35  # ISO 8820-3


def strip_resistance(rating: float) -> float:
    """Return the typical cold resistance of the strip in ohm for a rating in A."""
    if rating >= RATINGS[-1]:
        return COLD_RESISTANCE[-1] * RATINGS[-1] / rating
    return float(np.interp(rating, RATINGS, COLD_RESISTANCE))


def strip(part: Part, a: str, b: str) -> Element:
    """Return the strip as an element that opens above its limit."""
    rating = part.number("rating")
    siemens = 0.0 if part.has("open") else conductance(strip_resistance(rating))
    limit = OPENING_FACTOR * rating
    return Element(part.name, a, b, siemens, law=Law.FUSE, shape=(limit, 0.0, 0.0))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _fuse_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    blade = strip(part, f"{part.name}.1b", f"{part.name}.2b")
    return (joint(part, "1"), blade, joint(part, "2"))


def _fuse_ways(_part: Part) -> tuple[Way, ...]:
    melted = "the strip in the window is melted through"
    return (
        Way("open", None, (), 2.0, seen=melted),
        *joint_ways("1", likelihood=0.4),
        *joint_ways("2", likelihood=0.4),
    )


def _link_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    return (strip(part, f"{part.name}.1", f"{part.name}.2"),)


def _link_ways(_part: Part) -> tuple[Way, ...]:
    return (Way("open", None, (), 0.3, seen="the link is melted through"),)


FAMILY = Family(
    "blade fuse",
    {"rating": Parameter("current")},
    _pins,
    _fuse_elements,
    _fuse_ways,
    removable=True,
    probing="tops",
)
LINK = Family(
    "fusible link",
    {"rating": Parameter("current")},
    _pins,
    _link_elements,
    _link_ways,
    probing="open",
)
