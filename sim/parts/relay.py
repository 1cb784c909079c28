"""Plug-in relay with four terminals: 30 and 87 contact, 85 and 86 coil (DIN 72552).

The contact follows the coil *current* with hysteresis. Defaults after a maker's plug-in mini relay
data sheet (similar to ISO 7588 part 1): coil 85 ohm +-10 %, operates at 8 V or less, releases at
1.5 V or more, contact drop 15 mV typical at 10 A; taken here as pull-in 7 V and drop-out 2.5 V
across the coil. The suppression diode lies across the coil with its cathode at 86, so 86 is the
feed side.

A wrong relay has a contact that is closed at rest. A shorted diode is 0.05 ohm across the coil.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance, joint, joint_ways

CONTACT = 0.0015  # ohm, 15 mV at 10 A
SHORTED_DIODE = 0.05  # ohm, ours
DIODE_SATURATION = 1e-9  # A, a 1 A silicon rectifier; common practice, no source
DIODE_SLOPE = 0.0257 * 1.7  # V, n Vt at 25 degC with n = 1.7; common practice, no source
STUCK_CLOSED, STUCK_OPEN = 1.0, 2.0


def _pins(_part: Part) -> tuple[str, ...]:
    return ("30", "87", "85", "86")


def _contact(part: Part) -> Element:
    closed_at_rest = part.values["contact"] == "normally closed"
    closed_at_rest ^= part.has("wrong part")
    stuck = STUCK_CLOSED if part.has("stuck closed") else 0.0
    if part.has("contact open"):
        stuck = STUCK_OPEN
    resistance = CONTACT + (part.severity("contact burnt") or 0.0)
    shape = (float(closed_at_rest), stuck, 0.0)
    a, b = f"{part.name}.30b", f"{part.name}.87b"
    return Element(
        f"{part.name} contact",
        a,
        b,
        conductance(resistance),
        law=Law.CONTACT,
        shape=shape,
        relay=part.name,
    )


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, coil = part.name, part.number("coil")
    plus, minus = f"{name}.86b", f"{name}.85b"
    siemens = 0.0 if part.has("coil open") else conductance(coil)
    if part.number("drop-out") >= part.number("pull-in"):
        raise QuantityError(f"{name}: drop-out must lie below pull-in")
    shape = (part.number("pull-in") / coil, part.number("drop-out") / coil, 0.0)
    shorted = conductance(SHORTED_DIODE) if part.has("diode shorted") else 0.0
    fitted = float(part.values["suppression"] == "diode")
    return (
        joint(part, "30"),
        _contact(part),
        joint(part, "87"),
        joint(part, "86"),
        Element(f"{name} coil", plus, minus, siemens, law=Law.COIL, shape=shape, relay=name),
        Element(
            f"{name} diode",
            minus,
            plus,
            fitted,
            law=Law.DIODE,
            shape=(DIODE_SATURATION, DIODE_SLOPE, 0.0),
        ),
        Element(f"{name} diode short", minus, plus, shorted),
        joint(part, "85"),
    )


def _ways(part: Part) -> tuple[Way, ...]:
    ways = [
        Way("coil open", None, (), 1.0),
        Way("contact open", None, (), 1.5),
        Way("contact burnt", None, (0.5, 2.0), 1.5),
        Way("stuck closed", None, (), 0.5),
        Way(
            "wrong part",
            None,
            (),
            0.3,
            seen="the number on the relay differs from the one beside it",
        ),
    ]
    if part.values["suppression"] == "diode":
        ways.append(Way("diode shorted", None, (), 0.4))
    for pin in ("30", "87", "85", "86"):
        ways += joint_ways(pin, likelihood=0.4)
    return tuple(ways)


FAMILY = Family(
    "relay",
    {
        "contact": Parameter("text", "normally open", ("normally open", "normally closed")),
        "coil": Parameter("resistance", 85.0),
        "pull-in": Parameter("voltage", 7.0),
        "drop-out": Parameter("voltage", 2.5),
        "suppression": Parameter("text", "none", ("none", "diode")),
        "serves": Parameter("text", ""),
        "like": Parameter("text", ""),
    },
    _pins,
    _elements,
    _ways,
    removable=True,
)
