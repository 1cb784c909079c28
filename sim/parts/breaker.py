"""Circuit breaker: a bimetal strip opens its contact when it gets hot.

A steady current above 1.35 x rating opens it; how long it takes: `sim.parts.fuse_curve`, size
breaker. With ``reset: automatic`` (SAE J553 type I) it closes again when it has cooled, and goes on
opening and closing while the overload lasts; with ``reset: held open`` (type II) a small heater
beside the contact keeps it open until the supply is taken away. What the solver returns is the
state after it has opened; `cycle` gives the times of an automatic one, `sim.slowbreakers` keeps
them. Resistance: 100 mV at rated current (ours); heater 150 ohm (ours), which is why 12 V reach the
load side through an open one.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance, joint, joint_ways
from sim.parts.fuse import OPENING_FACTOR
from sim.parts.fuse_curve import Numbers, opening_time

RATED_DROP = 0.1  # V, ours
HEATER = 150.0  # ohm, ours
COOLING = 10.0  # s until an automatic one closes again; ours
NEVER = 1e6  # A, beyond any current on a vehicle


def cycle(rating: float, current: Numbers) -> tuple[Numbers, float]:
    """Return (seconds closed, seconds open) of an automatic breaker under a current in A.

    Closed as its curve says (after SAE J553, from memory, see `sim.parts.fuse_curve`).
    """
    return opening_time(rating, current, "breaker"), COOLING


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, rating = part.name, part.number("rating")
    a, b = f"{name}.1b", f"{name}.2b"
    resistance = RATED_DROP / rating + (part.severity("contact burnt") or 0.0)
    siemens = 0.0 if part.has("open") else conductance(resistance)
    limit = OPENING_FACTOR * rating * (part.severity("opens early") or 1.0)
    if part.has("welded"):
        limit = NEVER
    heater = conductance(HEATER) if part.values["reset"] == "held open" else 0.0
    return (
        joint(part, "1"),
        Element(name, a, b, siemens, law=Law.FUSE, shape=(limit, 0.0, 0.0)),
        Element(f"{name} heater", a, b, heater),
        joint(part, "2"),
    )


def _ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 1.0),
        Way("contact burnt", None, (0.1, 0.5), 1.0),
        Way("opens early", None, (0.4,), 0.8, "fraction", most=1.0),
        Way("welded", None, (), 0.2),
        *joint_ways("1", likelihood=0.4),
        *joint_ways("2", likelihood=0.4),
    )


FAMILY = Family(
    "circuit breaker",
    {
        "rating": Parameter("current"),
        "reset": Parameter("text", "automatic", ("automatic", "held open")),
    },
    _pins,
    _elements,
    _ways,
    removable=True,
)
