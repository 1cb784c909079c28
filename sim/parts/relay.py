"""Plug-in relay: 30 and 87 contact, 85 and 86 coil (DIN 72552), with or without a second contact.

The contact follows the coil *current* with hysteresis. Defaults after a maker's plug-in mini relay
data sheet (similar to ISO 7588 part 1): coil 85 ohm +-10 %, operates at 8 V or less, releases at
1.5 V or more, contact drop at 10 A 15 mV typical, 20 mV for the contact closed at rest; taken here
as pull-in 7 V and drop-out 2.5 V across the coil. Coil inductance 0.3 H, a time constant of 3.5 ms
(common practice, no source). `changeover` adds 87a, closed at rest; `double` adds 87b, which
closes together with 87.

Suppression lies across the coil: a diode with its cathode at 86, so that 86 is the feed side; or a
resistor of 680 ohm (as listed for a maker's 12 V plug-in mini relay with a 90 ohm coil, 79 ohm
together; from memory).

A wrong relay has a contact that is closed at rest; in place of a changeover one it has no 87a, in
place of a double one it is a changeover relay. A shorted diode is 0.05 ohm across the coil.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import (
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
    own_side,
)

CONTACT = 0.0015  # ohm, 15 mV at 10 A
REST_CONTACT = 0.002  # ohm, 20 mV at 10 A
SHORTED_DIODE = 0.05  # ohm, ours
DIODE_SATURATION = 1e-9  # A, a 1 A silicon rectifier; common practice, no source
DIODE_SLOPE = 0.0257 * 1.7  # V, n Vt at 25 degC with n = 1.7; common practice, no source
STUCK_CLOSED, STUCK_OPEN = 1.0, 2.0
#: kind of contact -> the terminal it adds
SECOND = {"changeover": "87a", "double": "87b"}


def _kind(part: Part) -> str:
    return str(part.values["contact"])


def _pins(part: Part) -> tuple[str, ...]:
    second = SECOND.get(_kind(part))
    return ("30", "87", "85", "86", second) if second else ("30", "87", "85", "86")


def _contact(part: Part) -> Element:
    closed_at_rest = _kind(part) == "normally closed"
    if _kind(part) not in SECOND:
        closed_at_rest ^= part.has("wrong part")
    stuck = STUCK_CLOSED if part.has("stuck closed") else 0.0
    if part.has("contact open") or part.has("stuck closed", "87a"):
        stuck = STUCK_OPEN
    resistance = CONTACT + (part.severity("contact burnt") or 0.0)
    shape = (float(closed_at_rest), stuck, 0.0)
    return _between(part, "contact", "87", resistance, shape)


def _between(
    part: Part, label: str, pin: str, resistance: float, shape: tuple[float, float, float]
) -> Element:
    name = part.name
    return Element(
        f"{name} {label}",
        f"{name}.30b",
        own_side(part, pin, _pins(part)),
        conductance(resistance),
        law=Law.CONTACT,
        shape=shape,
        relay=name,
    )


def _second_contact(part: Part) -> tuple[Element, ...]:
    """Return the second contact and its joint, if the relay has one."""
    pin = SECOND.get(_kind(part))
    if pin is None:
        return ()
    at_rest = pin == "87a"
    burnt = part.severity("contact burnt", pin) or 0.0
    resistance = (REST_CONTACT if at_rest else CONTACT) + burnt
    stuck = STUCK_CLOSED if part.has("stuck closed", pin) else 0.0
    held_away = at_rest and (part.has("stuck closed") or part.has("wrong part"))
    if part.has("contact open", pin) or held_away:
        stuck = STUCK_OPEN
    closed_at_rest = at_rest or part.has("wrong part")
    shape = (float(closed_at_rest), stuck, 0.0)
    return (_between(part, "second contact", pin, resistance, shape), joint(part, pin))


def _resistor(part: Part, minus: str, plus: str) -> tuple[Element, ...]:
    if part.values["suppression"] != "resistor":
        return ()
    whole = conductance(part.number("suppression resistance"))
    siemens = 0.0 if part.has("resistor open") else whole
    return (Element(f"{part.name} resistor", minus, plus, siemens),)


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, coil = part.name, part.number("coil")
    plus, minus = f"{name}.86b", f"{name}.85b"
    siemens = 0.0 if part.has("coil open") else conductance(coil)
    if part.number("drop-out") >= part.number("pull-in"):
        raise QuantityError(f"{name}: drop-out must lie below pull-in")
    shape = (part.number("pull-in") / coil, part.number("drop-out") / coil, 0.0)
    shorted = conductance(SHORTED_DIODE) if part.has("diode shorted") else 0.0
    fitted = float(part.values["suppression"] == "diode")
    motion = Motion(inductance=part.number("inductance"))
    return (
        joint(part, "30"),
        _contact(part),
        joint(part, "87", inner="-b" if "87b" in _pins(part) else "b"),
        joint(part, "86"),
        Element(
            f"{name} coil",
            plus,
            minus,
            siemens,
            law=Law.COIL,
            shape=shape,
            relay=name,
            motion=motion,
        ),
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
        *_second_contact(part),
        *_resistor(part, minus, plus),
    )


def _ways(part: Part) -> tuple[Way, ...]:
    number = "the number on the relay differs from the one beside it"
    ways = [
        Way("coil open", None, (), 1.0),
        Way("contact open", None, (), 1.5),
        Way("contact burnt", None, (0.5, 2.0), 1.5),
        Way("stuck closed", None, (), 0.5),
        Way("wrong part", None, (), 0.3, seen=number),
    ]
    if part.values["suppression"] == "diode":
        ways.append(Way("diode shorted", None, (), 0.4))
    if part.values["suppression"] == "resistor":
        ways.append(Way("resistor open", None, (), 0.2))
    second = SECOND.get(_kind(part))
    if second:
        ways += [
            Way("contact open", second, (), 1.0),
            Way("contact burnt", second, (0.5, 2.0), 1.0),
            Way("stuck closed", second, (), 0.3),
        ]
    for pin in _pins(part):
        ways += joint_ways(pin, likelihood=0.4)
    return tuple(ways)


FAMILY = Family(
    "relay",
    {
        "contact": Parameter(
            "text", "normally open", ("normally open", "normally closed", "changeover", "double")
        ),
        "coil": Parameter("resistance", 85.0),
        "inductance": Parameter("inductance", 0.3),
        "pull-in": Parameter("voltage", 7.0),
        "drop-out": Parameter("voltage", 2.5),
        "suppression": Parameter("text", "none", ("none", "diode", "resistor")),
        "suppression resistance": Parameter("resistance", 680.0),
        "serves": Parameter("text", ""),
        "like": Parameter("text", ""),
    },
    _pins,
    _elements,
    _ways,
    removable=True,
)
