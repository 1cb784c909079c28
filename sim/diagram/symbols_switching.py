"""Symbols of what opens and closes: switches, relays, the key switch.

Contacts are drawn as they stand at rest. After the general conventions of IEC 60617, as far as
they are common knowledge; the drawings are ours.
"""

from __future__ import annotations

from dataclasses import replace

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.lettering import pin_text
from sim.diagram.symbol import (
    BODY,
    PLUG,
    REACH,
    SIDE,
    Pin,
    Symbol,
    circle,
    mirrored,
    on_axis,
    stroke,
)
from sim.parts.selector import closed_positions

ASIDE = 40.0  # px from the axis to a second contact on the left


def coil(part: Part, names: tuple[str, ...], *, link_left: bool) -> Symbol:
    """Coil; what is across it stands on the side that no link leaves from."""
    marks = stroke("M0 24v32") + stroke("M-20 30h40v20h-40z", "sym")
    bodies, grip = (Box(-20, 24, 40, BODY),), (-20.0, 20.0)
    suppression = part.values["suppression"]
    if suppression in {"diode", "resistor"}:
        side = 32 if link_left else -32
        marks += stroke(f"M0 24H{side}V56H0")
        if suppression == "diode":
            up = names[0] == "86"  # its cathode lies at 86
            bar, base = (35, 46) if up else (45, 34)
            marks += stroke(f"M{side - 7} {bar}h14")
            marks += stroke(f"M{side - 7} {base}h14L{side} {bar}z", "solid")
        else:
            marks += stroke(f"M{side - 5} 30h10v20h-10z", "sym")
        bodies = (Box(-20 if link_left else -40, 23, 60, BODY + 2),)
        grip = (-20.0, 40.0) if link_left else (-40.0, 20.0)
    return Symbol(on_axis(part, names), bodies, marks, 40.0, grip=grip)


def _contact_marks(*, closed: bool) -> str:
    """Return a contact between y = 24 and y = 56, at rest closed or open."""
    if closed:
        return stroke("M0 24v8h10M0 56v-6L7 28")
    return stroke("M0 24v8M0 56v-6L-12 31")


def contact(part: Part, names: tuple[str, ...]) -> Symbol:
    """Contact of a relay as it stands at rest."""
    if "87a" in names or "87b" in names:
        return _two_contacts(part, names)
    closed = part.values["contact"] == "normally closed"
    grip = (3.5, 3.5) if closed else (-6.0, -6.0)
    body = (Box(-13, 24, 26, BODY),)
    return Symbol(on_axis(part, names), body, _contact_marks(closed=closed), 40.0, grip=grip)


def _two_contacts(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return a common terminal, and two others side by side: one or the other, or both."""
    low = 2 * REACH + BODY
    down = names if names[0] == "30" else (names[1], names[0], *names[2:])
    changeover = names[2] == "87a"
    if changeover:
        marks = stroke("M0 24v6L-16 50M-40 56v-8h27M0 56v-8")
    else:
        marks = stroke("M0 24v8M0 24h-40v8M0 56v-6L-12 31M-40 56v-6l-12 -19")
    text_at = (-ASIDE - 10.0, low - 8.0)
    aside = Pin(names[2], (-ASIDE, low), (-ASIDE, low - REACH), names[2], text_at)
    body = Box(-ASIDE - 12, 24, ASIDE + 22, BODY)
    grip = (-46.0, -6.0) if not changeover else (-8.0, -8.0)
    symbol = Symbol((*on_axis(part, down), aside), (body,), marks, 40.0, grip=grip)
    if down == names:
        return symbol
    turned = mirrored(symbol)
    upper, lower, *others = turned.pins
    return replace(turned, pins=(lower, upper, *others))


def switch(part: Part, names: tuple[str, ...]) -> Symbol:
    """Contact worked by hand; an indicator lamp hangs on its switched side, to the left."""
    marks = _contact_marks(closed=False) + stroke("M-6 40H-26", "dash")
    marks += stroke("M-26 33v14") if part.values["latching"] else stroke("M-22 33h-4v14h4")
    pins: tuple[Pin, ...] = on_axis(part, names)
    bodies: tuple[Box, ...] = (Box(-27, 24, 37, BODY),)
    if "lamp" in names:
        marks += stroke("M0 56h-48") + stroke("M-48 56v40") + circle((-48, 76), 10)
        marks += stroke("M-55 69l14 14m0 -14l-14 14")
        pins += (Pin("lamp", (-SIDE, 120.0), (-SIDE, 96.0), "lamp", (-39.0, 112.0), "start"),)
        bodies += (Box(-58, 55, 58, 42),)
    return Symbol(pins, bodies, marks, 40.0)


def sensor_switch(part: Part, names: tuple[str, ...]) -> Symbol:
    """Contact that a pressure, a temperature or a level works: the square on its left."""
    marks = _contact_marks(closed=False) + stroke("M-6 40H-20", "dash")
    marks += stroke("M-34 33h14v14h-14z", "sym") + stroke("M-34 47l14 -14", "fine")
    return Symbol(on_axis(part, names), (Box(-34, 24, 44, BODY),), marks, 40.0)


def selector(part: Part, names: tuple[str, ...]) -> Symbol:
    """One arm, as it stands at rest, and a contact for each output, side by side below it."""
    others = [name for name in names if name != "in"]
    low = 2 * REACH + BODY
    pins: tuple[Pin, ...] = on_axis(part, ("in", others[0]))
    arm = _resting(part)
    marks = stroke("M0 24v8L-9 50" if arm is None else f"M0 24v8L{ASIDE * arm:g} 48")
    marks += stroke("M-6 40H-22" if arm is None else "M0 36H-22", "dash") + stroke("M-22 30v14")
    for place, name in enumerate(others):
        x = ASIDE * place
        marks += stroke(f"M{x:g} 56v-8") + circle((x, 47), 2.0, "solid")
        if place:
            pins += (Pin(name, (x, low), (x, low - REACH), name, (x - 10.0, low - 8.0)),)
    width = ASIDE * (len(others) - 1)
    symbol = Symbol(pins, (Box(-23, 24, 33 + width, BODY),), marks, 40.0)
    if names[0] == "in":
        return symbol
    turned = mirrored(symbol)
    first, second, *rest = turned.pins
    return replace(turned, pins=(second, first, *rest))


def _resting(part: Part) -> int | None:
    """Return which output a selector feeds at rest, counted from 0; None if none."""
    if not part.settings:
        return None
    closed = closed_positions(part)
    return next((k for k, where in enumerate(closed) if part.settings[0] in where), None)


def key(part: Part, names: tuple[str, ...]) -> Symbol:
    """Key switch, drawn across: feed on the left, its positions one above the other, key off."""
    first = Pin(names[0], (0.0, 0.0), (24.0, 0.0), pin_text(part, names[0]), (13.0, -9.0), "middle")
    pins, marks = [first], stroke("M24 0h13L57 -13")
    for place, name in enumerate(names[1:]):
        y = PLUG * (place - 1)
        text = pin_text(part, name)
        pins.append(Pin(name, (96.0, y), (72.0, y), text, (84.0, y - 9.0), "middle"))
        marks += stroke(f"M62 {y:g}h10") + circle((60, y), 2.5)
    low = PLUG * (len(names) - 3)
    marks += stroke("M46 -6V-21", "dash") + stroke("M40 -21h12")
    return Symbol(tuple(pins), (Box(24, -PLUG - 4, 48, low + PLUG + 8),), marks, 0.0)
