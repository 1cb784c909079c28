"""Key switch and driver's switches: contacts closed in some positions of a control.

A switch has terminals `in` and `out`; with an indicator lamp also `lamp`, the lamp lying between
the switched side and `lamp`. The key switch feeds terminals 75 (accessory), 15 (run) and 50
(crank) of DIN 72552; terminal 15 stays live while cranking.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.parts.lamp import filament

CONTACT = 0.005  # ohm, common practice, no source
WELDED = 0.005  # ohm
KEY_CONTACTS = {"accessory": ("accessory", "run"), "run": ("run", "crank"), "crank": ("crank",)}


def _contact(
    part: Part, a: str, b: str, positions: tuple[str, ...], label: str
) -> tuple[Element, ...]:
    resistance = CONTACT + (part.severity("contact burnt") or 0.0)
    siemens = 0.0 if part.has("contact open") else conductance(resistance)
    welded = conductance(WELDED) if part.has("stuck closed") else 0.0
    return (
        Element(f"{part.name} {label}", a, b, siemens, positions=positions),
        Element(f"{part.name} {label} welded", a, b, welded),
    )


def _pins(part: Part) -> tuple[str, ...]:
    return ("in", "out", "lamp") if part.values["lamp voltage"] else ("in", "out")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    closed = tuple(str(part.values["closed in"]).split("|"))
    elements = [
        joint(part, "in"),
        *_contact(part, f"{name}.inb", f"{name}.outb", closed, "contact"),
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
        Way("contact burnt", None, (30.0, 150.0), 0.6),
        Way("stuck closed", None, (), 0.3),
        *joint_ways("in", likelihood=0.3),
        *joint_ways("out", likelihood=0.3),
    ]
    if part.values["lamp voltage"]:
        ways += [Way("lamp open", None, (), 0.5), Way("open", "lamp", (), 0.3)]
    return tuple(ways)


def _key_pins(_part: Part) -> tuple[str, ...]:
    return ("in", *KEY_CONTACTS)


def _key_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    elements = [joint(part, "in")]
    for pin, positions in KEY_CONTACTS.items():
        elements += _contact(part, f"{part.name}.inb", f"{part.name}.{pin}b", positions, pin)
        elements.append(joint(part, pin))
    return tuple(elements)


def _key_ways(_part: Part) -> tuple[Way, ...]:
    return (Way("contact open", None, (), 0.3), *joint_ways("in", likelihood=0.2))


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
