"""Glow plug: a heating coil whose resistance grows as it gets hot; its ground is the body.

``R(V) = R_cold + (R_hot - R_cold) |V| / V_rated``: cold the moment it is switched on, hot when it
has been on for some seconds at its voltage. Defaults 0.4 ohm cold and 1.1 ohm at 11 V, 10 A after
28 A (common practice for a 12 V metal plug, no source).
"""

from __future__ import annotations

from sim.circuit import BODY, Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Law, Parameter, Way, joint, joint_ways


def coil_shape(part: Part) -> tuple[float, float, float]:
    """Return (cold ohms, k in ohm/V, exponent) of the coil.

    Raises
    ------
    QuantityError
        Hot is not above cold.
    """
    cold, hot = part.number("cold"), part.number("hot")
    if hot <= cold:
        raise QuantityError(f"{part.name}: hot must lie above cold, got {hot:g} and {cold:g} ohm")
    cold *= 1.0 + (part.severity("aged") or 0.0)
    hot *= 1.0 + (part.severity("aged") or 0.0)
    return cold, (hot - cold) / part.number("voltage"), 1.0


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1",)


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    whole = float(not part.has("open"))
    a, shape = f"{part.name}.1b", coil_shape(part)
    coil = Element(f"{part.name} coil", a, BODY, whole, law=Law.LAMP, shape=shape)
    return (joint(part, "1"), coil)


def _ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 3.0),
        Way("aged", None, (0.5, 2.0), 1.0, "fraction"),
        *joint_ways("1"),
    )


def _power(part: Part) -> float:
    return part.number("voltage") ** 2 / part.number("hot")


FAMILY = Family(
    "glow plug",
    {
        "voltage": Parameter("voltage", 11.0),
        "cold": Parameter("resistance", 0.4),
        "hot": Parameter("resistance", 1.1),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=_power,
    load="coil",
)
