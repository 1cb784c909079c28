"""Points, parts, wires and suspects in the words of the shop floor, for the panels."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from grader.suspectwords import UNITS
from sim.circuit import BODY, Circuit, Part
from sim.instruments.oscilloscope import CHANNELS
from sim.language import msg, say
from sim.parts import FAMILIES
from sim.parts.family import own_side
from sim.reading import SAMPLES
from sim.retold import retold
from sim.vocabulary import inside

#: Insulation colour -> code of IEC 60757.
COLOUR_CODES = {
    "black": "BK",
    "blue": "BU",
    "brown": "BN",
    "green": "GN",
    "grey": "GY",
    "orange": "OG",
    "pink": "PK",
    "red": "RD",
    "turquoise": "TQ",
    "violet": "VT",
    "white": "WH",
    "yellow": "YE",
}
#: Kind -> what the two sides of its terminals are called: (harness side, its own side).
SIDES = {
    "connector": (msg("half a"), msg("half b")),
    "relay": (msg("socket"), msg("relay")),
    "blade fuse": (msg("holder"), msg("blade")),
    "heater grid": (msg("wire end"), msg("tab")),
    "switch": (msg("plug"), msg("switch")),
    "key switch": (msg("plug"), msg("switch")),
    "horn": (msg("plug"), msg("horn")),
}
#: A point or a joint as circuit files write it: its part, then its own marking.
_POINT = re.compile(r"\b[A-Za-z]\w*\.[\w+-]+")
#: What they are called of any other kind.
PLAIN_SIDES = (msg("plug"), msg("part"))


def minutes_text(minutes: float) -> str:
    """Return minutes as they are shown everywhere: one digit after the point."""
    return f"{minutes:.1f}"


def capital(text: str) -> str:
    """Return a text with its first letter made a capital, the rest left alone."""
    return text[:1].upper() + text[1:]


def part_title(circuit: Circuit, part: Part) -> str:
    """Return what a part is, in a few words, such as ``heater switch`` or ``fuse, 30 A``."""
    for control in circuit.controls.values():
        if part.name in control.sets:
            return say("key switch") if part.kind == "key switch" else control.name
    if part.kind == "blade fuse":
        return say("fuse, {amps} A", amps=f"{part.number('rating'):g}")
    if part.kind == "fusible link":
        return say("link, {amps} A", amps=f"{part.number('rating'):g}")
    if part.kind == "relay" and part.values["serves"]:
        return say("relay, {serves}", serves=part.values["serves"])
    if part.kind == "bus unit" and part.values["serves"]:
        return say("control unit, {serves}", serves=part.values["serves"])
    return say(part.kind)


def owner(point: str) -> str:
    """Return the part that a point belongs to."""
    return point.partition(".")[0]


def is_own_side(circuit: Circuit, point: str) -> bool:
    """Tell whether a point is on the part's own side of a joint, not the harness side."""
    part = circuit.parts[owner(point)]
    return point.removeprefix(f"{part.name}.") not in _harness_pins(part)


def _harness_pins(part: Part) -> tuple[str, ...]:
    pins = FAMILIES[part.kind].pins(part)
    return tuple(f"{pin}a" for pin in pins) if part.kind == "connector" else pins


def pin_of(circuit: Circuit, point: str) -> str:
    """Return the terminal's own marking, without part and side."""
    part = circuit.parts[owner(point)]
    text = point.removeprefix(f"{part.name}.")
    if part.kind == "connector":
        return text[:-1]
    if part.kind == "battery":
        return text.replace("-", "−")
    pins = FAMILIES[part.kind].pins(part)
    return next((pin for pin in pins if own_side(part, pin, pins) == point), text)


def point_words(circuit: Circuit, point: str, apart: Iterable[str] = ()) -> str:
    """Return a point as it is called at the bench, such as ``C41 pin 1, half a``."""
    if not point:
        return say("in the air")
    if point == BODY:
        return say("body (31)")
    part, pin = circuit.parts[owner(point)], pin_of(circuit, point)
    if part.kind == "fusible link":
        rail = next((name for name, at in circuit.rails.items() if at == point), "")
        return say("link, terminal {rail}", rail=rail) if rail else say("link, end {pin}", pin=pin)
    if part.kind == "blade fuse" and part.name not in set(apart):
        return say("{part} top {pin}", part=part.name, pin=pin)
    side = say(SIDES.get(part.kind, PLAIN_SIDES)[is_own_side(circuit, point)])
    special = {
        "battery": say("battery {pin}", pin=pin),
        "ground stud": say("{part} stud", part=part.name),
        "connector": say("{part} pin {pin}, {side}", part=part.name, pin=pin, side=side),
    }
    return special.get(part.kind, f"{part.name} {side} {pin}")


def element_words(circuit: Circuit, name: str) -> str:
    """Return an element of a solved circuit as a student knows it.

    ``K3.30`` is the joint of a terminal and becomes ``K3 socket 30``, ``C41.1`` becomes ``C41 pin
    1``; ``S4.lamp lamp`` is what is behind a terminal, ``S4 lamp``; what an element is called in
    one position of a control (``G1 field at standing``) it is called in all.
    """
    head, _, rest = name.partition(" ")
    owned, _, pin = head.partition(".")
    part = circuit.parts.get(owned)
    if part is None or part.kind == "wire":
        return name
    if rest:
        return f"{owned} {inside(rest.partition(' at ')[0])}"
    if not pin:
        return owned
    special = {"connector": msg("pin"), "splice": msg("crimp")}
    side = special.get(part.kind, SIDES.get(part.kind, PLAIN_SIDES)[0])
    return f"{owned} {say(side)} {pin}"


def in_shop_words(circuit: Circuit, text: str, apart: Iterable[str] = ()) -> str:
    """Return a text in which every point and joint bears the name that the choosers give it.

    Records, readings and suspects are written as in circuit files (``volts from F1.1b to body``);
    a student reads ``volts from F1 top 1 to body``. `apart` is what was apart at that moment; what
    the text itself says is pulled is apart too.
    """
    loose = set(apart)

    def said(found: re.Match[str]) -> str:
        name = found[0]
        part = circuit.parts.get(owner(name))
        if part is None or part.kind == "wire":
            return name
        pins = FAMILIES[part.kind].pins(part)
        joints = [f"{part.name}.{pin}" for pin in pins]
        points = [f"{part.name}.{pin}" for pin in _harness_pins(part)]
        if name in points or name in [own_side(part, pin, pins) for pin in pins]:
            pulled = name in joints or say("{part} pulled", part=part.name) in text
            return point_words(circuit, name, {part.name} if pulled else loose)
        return element_words(circuit, name) if name in joints else name

    return _POINT.sub(said, text)


def wire_words(part: Part) -> str:
    """Return a wire's code and cross-section, such as ``BK/WH 4``."""
    colours = str(part.values["colour"]).split("/")
    code = "/".join(COLOUR_CODES.get(colour, colour) for colour in colours)
    return f"{code} {part.number('area') * 1e6:g}"


def wires_at(circuit: Circuit, point: str) -> list[Part]:
    """Return the wires that end at a point."""
    wires = [part for part in circuit.parts.values() if part.kind == "wire"]
    return [wire for wire in wires if point in wire_ends(circuit, wire)]


def wire_ends(circuit: Circuit, wire: Part) -> tuple[str, str]:
    """Return the points that a wire runs from and to."""
    return circuit.point(str(wire.values["from"])), circuit.point(str(wire.values["to"]))


def run_words(circuit: Circuit, wire: Part) -> str:
    """Return from where to where a wire runs."""
    one, two = (point_words(circuit, end) for end in wire_ends(circuit, wire))
    return say("{one} to {two}", one=one, two=two)


def item_words(item: str) -> str:
    """Return an item of a diagram's track: a relay's two halves have a word of their own."""
    name, _, half = item.partition(" ")
    return f"{name} {say(half)}" if half in (msg("coil"), msg("contact")) else item


def reading_words(shown: Mapping[str, Any]) -> str:
    """Return what a record's `shown` says as one short text; the samples of curves are left out."""
    said = []
    if "value" in shown:
        unit = str(shown["unit"])
        unit = UNITS.get(unit, unit)
        said.append(f"{shown['value']} {unit}")
        if not shown.get("steady", True):
            said.append(say("wandering"))
    also = figures(shown)
    if "words" in shown and not (also and shown["words"] == "screen"):
        said.append(retold(shown["words"]))
    return ", ".join([*said, *(f"{figure_name(name)} {text}" for name, text in also)])


def figure_name(name: str) -> str:
    """Return what a further figure is called; those of a channel begin with its letter."""
    channel, _, figure = name.partition(" ")
    if channel in CHANNELS and figure:
        return f"{channel} {say(figure)}"
    return say(name)


def figures(shown: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return the further figures of a display, curves left out."""
    also = shown.get("also", {})
    return [(name, text) for name, text in also.items() if not name.endswith(SAMPLES)]
