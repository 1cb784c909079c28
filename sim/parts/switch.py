"""Key switch and driver's switches: contacts closed in some positions of a control.

A switch has terminals `in` and `out`; with an indicator lamp also `lamp`, the lamp lying between
the switched side and `lamp`. The key switch feeds terminals 75 (accessory), 15 (run) and 50
(crank) of DIN 72552; terminal 15 stays live while cranking. What its control says behind the word,
as in ``crank 250 rpm``, is for other parts that it sets.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import (
    JOINT_SEVERITIES,
    Element,
    Family,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
    passing_ways,
)
from sim.parts.lamp import filament

CONTACT = 0.005  # ohm, common practice, no source
WELDED = 0.005  # ohm
BURNT = (30.0, 150.0)  # ohm, ours
KEY_CONTACTS = {"accessory": ("accessory", "run"), "run": ("run", "crank"), "crank": ("crank",)}


def contact(
    part: Part, a: str, b: str, positions: tuple[str, ...], label: str, *, pin: str | None = None
) -> tuple[Element, ...]:
    """Return a contact that is closed in some positions, and the weld that may bridge it.

    Its faults are those of the whole part and those of the contact that leads to terminal `pin`.
    """
    burnt = sum(part.severity("contact burnt", at) or 0.0 for at in {None, pin})
    is_open = part.has("contact open") or part.has("contact open", pin)
    siemens = 0.0 if is_open else conductance(CONTACT + burnt)
    stuck = part.has("stuck closed") or part.has("stuck closed", pin)
    return (
        Element(f"{part.name} {label}", a, b, siemens, positions=positions),
        Element(f"{part.name} {label} welded", a, b, conductance(WELDED) if stuck else 0.0),
    )


def contact_ways(pin: str, *, likelihood: float) -> tuple[Way, ...]:
    """Return how the contact that leads to a terminal fails."""
    return (
        Way("contact open", pin, (), likelihood),
        Way("contact burnt", pin, BURNT, likelihood / 2),
        Way("stuck closed", pin, (), likelihood / 4),
    )


def _pins(part: Part) -> tuple[str, ...]:
    return ("in", "out", "lamp") if part.values["lamp voltage"] else ("in", "out")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    closed = tuple(str(part.values["closed in"]).split("|"))
    elements = [
        joint(part, "in"),
        *contact(part, f"{name}.inb", f"{name}.outb", closed, "contact"),
        joint(part, "out"),
    ]
    if part.values["lamp voltage"]:
        lamp = filament(
            f"{name}.lamp lamp",
            f"{name}.outb",
            f"{name}.lampb",
            part.number("lamp voltage"),
            part.number("lamp power"),
            whole=not part.has("lamp open"),
        )
        elements += [lamp, joint(part, "lamp")]
    return tuple(elements)


def _ways(part: Part) -> tuple[Way, ...]:
    ways = [
        Way("contact open", None, (), 1.0),
        Way("contact burnt", None, BURNT, 0.6),
        Way("stuck closed", None, (), 0.3),
        *joint_ways("in", likelihood=0.3),
        *joint_ways("out", likelihood=0.3),
    ]
    if part.values["lamp voltage"]:
        ways += [Way("lamp open", None, (), 0.5), Way("open", "lamp", (), 0.3)]
        ways += [Way("high resistance", "lamp", JOINT_SEVERITIES, 0.0), *passing_ways("lamp")]
    return tuple(ways)


def _key_pins(_part: Part) -> tuple[str, ...]:
    return ("in", *KEY_CONTACTS)


def _key_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    elements = [joint(part, "in")]
    for pin, words in KEY_CONTACTS.items():
        positions = tuple(p for p in part.settings if p.split()[0] in words) or words
        a, b = f"{part.name}.inb", f"{part.name}.{pin}b"
        elements += contact(part, a, b, positions, pin, pin=pin)
        elements.append(joint(part, pin))
    return tuple(elements)


def _key_ways(_part: Part) -> tuple[Way, ...]:
    ways = [Way("contact open", None, (), 0.3), *joint_ways("in", likelihood=0.2)]
    for pin in KEY_CONTACTS:
        ways += [*contact_ways(pin, likelihood=0.0), *joint_ways(pin, likelihood=0.0)]
    return tuple(ways)


FAMILY = Family(
    "switch",
    {
        "latching": Parameter("flag", default=True),
        "lamp voltage": Parameter("voltage", 0.0),
        "lamp power": Parameter("power", 0.0),
        "closed in": Parameter("text", "on"),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("lamp power"),
    load="lamp lamp",
)
KEY = Family("key switch", {}, _key_pins, _key_elements, _key_ways, separable=True)
