"""Blade fuse in its holder, and the fusible link that feeds a rail.

Cold resistance of the strip by rating, typical values of makers' data sheets. Standard (ATOF 287):
3 A 31.1, 5 A 17.85, 7.5 A 10.91, 10 A 7.70, 15 A 4.80, 20 A 3.38, 25 A 2.52, 30 A 1.97, 40 A 1.44
mohm, and above 40 A in proportion to 1 / rating. Mini (MINI 297): 7.5 A 10.85, 15 A 4.58 mohm,
other ratings by the standard ones in the same ratio. Maxi (MAXI 299): 30 A 1.9, 35 A 1.7, 40 A 1.4
mohm, beyond in proportion to 1 / rating.

The strip warms with the square of its current: ``R = R_cold (1 + a (I / I_rated)^2)`` with a from
the drop at rated current (`hot_resistance`): 96 mV at 40 A of the standard size, 75 mV of the maxi
size. Readings are solved with the cold resistance, which is what the tables for the millivolt
method print.

Blade fuses are rated up to 100 A, for 32 V or 58 V, and break up to 1000 A (ISO 8820-3:2015, scope;
what happens beyond that is not modelled). A steady current above 1.35 x rating opens one: type C
opens within 0.75 s to 600 s at 135 % and holds for 100 h at 100 %. How long it takes:
`sim.parts.fuse_curve`. A link that is given by its cross-section opens above the current that melts
a copper wire of it, and has the resistance of a hand's breadth of it (ours).
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.copper import wire_resistance
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance, joint, joint_ways
from sim.parts.fuse_curve import SIZES, link_current

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
MINI_RATINGS, MINI_SHARE = (7.5, 15.0), (10.85 / 10.91, 4.58 / 4.80)
MAXI_RATINGS, MAXI_RESISTANCE = (30.0, 35.0, 40.0), (1.9e-3, 1.7e-3, 1.4e-3)
#: a in ``R = R_cold (1 + a (I / I_rated)^2)``; that of the mini size is taken as the standard one's
WARMING = MappingProxyType(
    {
        "standard": 96e-3 / (40 * 1.44e-3) - 1,
        "mini": 96e-3 / (40 * 1.44e-3) - 1,
        "maxi": 75e-3 / (40 * 1.4e-3) - 1,
    }
)
OPENING_FACTOR = 1.35  # ISO 8820-3
LARGEST = 100.0  # A, ISO 8820-3:2015, scope
LINK_LENGTH = 0.1  # m, ours


def strip_resistance(rating: float, size: str = "standard") -> float:
    """Return the typical cold resistance of the strip in ohm for a rating in A."""
    if size == "maxi":
        near = float(np.clip(rating, MAXI_RATINGS[0], MAXI_RATINGS[-1]))
        return float(np.interp(near, MAXI_RATINGS, MAXI_RESISTANCE)) * near / rating
    share = float(np.interp(rating, MINI_RATINGS, MINI_SHARE)) if size == "mini" else 1.0
    if rating >= RATINGS[-1]:
        return share * COLD_RESISTANCE[-1] * RATINGS[-1] / rating
    return share * float(np.interp(rating, RATINGS, COLD_RESISTANCE))


def hot_resistance(rating: float, current: float, size: str = "standard") -> float:
    """Return the resistance in ohm of a strip that carries a current in A for long."""
    return strip_resistance(rating, size) * (1 + WARMING[size] * (current / rating) ** 2)


def strip(part: Part, a: str, b: str) -> Element:
    """Return the strip as an element that opens above its limit."""
    rating = part.severity("wrong rating") or part.number("rating")
    size = str(part.values.get("size", "standard"))
    siemens = 0.0 if part.has("open") else conductance(strip_resistance(rating, size))
    limit = OPENING_FACTOR * rating
    return Element(part.name, a, b, siemens, law=Law.FUSE, shape=(limit, 0.0, 0.0))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _fuse_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    if part.number("rating") > LARGEST:
        raise QuantityError(
            f"{part.name}: got a blade fuse of {part.number('rating'):g} A, at most {LARGEST:g} A; "
            f"take a fusible link"
        )
    blade = strip(part, f"{part.name}.1b", f"{part.name}.2b")
    return (joint(part, "1"), blade, joint(part, "2"))


def _fuse_ways(part: Part) -> tuple[Way, ...]:
    melted = "the strip in the window is melted through"
    wrong = tuple(part.number("rating") * factor for factor in (0.5, 2.0))
    number = "the number on the fuse differs from the one on the cover"
    return (
        Way("open", None, (), 2.0, seen=melted),
        *joint_ways("1", likelihood=0.4),
        *joint_ways("2", likelihood=0.4),
        Way("wrong rating", None, wrong, 0.0, "current", number),
    )


def _link_elements(part: Part, temperature: float) -> tuple[Element, ...]:
    area, a, b = float(part.values.get("area", 0.0)), f"{part.name}.1", f"{part.name}.2"
    if area == 0.0:
        if part.number("rating") == 0.0:
            raise QuantityError(f"{part.name}: a fusible link needs a rating or an area")
        return (strip(part, a, b),)
    resistance = wire_resistance(area, LINK_LENGTH, temperature)
    siemens = 0.0 if part.has("open") else conductance(resistance)
    limit = link_current(area)
    return (Element(part.name, a, b, siemens, law=Law.FUSE, shape=(limit, 0.0, 0.0)),)


def _link_ways(_part: Part) -> tuple[Way, ...]:
    return (Way("open", None, (), 0.3, seen="the link is melted through"),)


FAMILY = Family(
    "blade fuse",
    {"rating": Parameter("current"), "size": Parameter("text", "standard", SIZES)},
    _pins,
    _fuse_elements,
    _fuse_ways,
    removable=True,
    probing="tops",
)
LINK = Family(
    "fusible link",
    {"rating": Parameter("current", 0.0), "area": Parameter("area", 0.0)},
    _pins,
    _link_elements,
    _link_ways,
    probing="open",
)
