"""Symbols of what has two ends and does one thing: fuses, lamps, resistors, diodes, supply.

After the general conventions of IEC 60617, as far as they are common knowledge; the drawings are
ours.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.lettering import pin_text
from sim.diagram.symbol import BODY, FRAME, REACH, Pin, Symbol, circle, on_axis, stroke

ASIDE = 40.0  # px from the axis to a second path on the left


def fuse(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: rectangle with its strip along the axis."""
    marks = stroke("M-9 26h18v36h-18z", "sym") + stroke("M0 24v40")
    return Symbol(on_axis(part, names, 40.0), (Box(-9, 24, 18, 40),), marks, 44.0)


def link(_part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: fuse without a holder: bolted at both ends."""
    pins = (Pin(names[0], (0.0, 0.0)), Pin(names[1], (0.0, 48.0)))
    marks = stroke("M-9 6h18v36h-18z", "sym") + stroke("M0 0v48")
    return Symbol(pins, (Box(-9, 6, 18, 36),), marks, 24.0)


def lamp(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: circle with a cross."""
    marks = stroke("M0 24v32") + circle((0, 40), 13) + stroke("M-9 31l18 18M9 31l-18 18")
    return Symbol(on_axis(part, names), (Box(-13, 24, 26, BODY),), marks, 40.0)


def grid(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: frame with the lines of the grid."""
    bars = "".join(f"M-14 {y}h28" for y in (34, 41, 48, 55, 62))
    marks = stroke("M0 24v4M0 68v4") + stroke("M-20 28h40v40h-40z", "sym") + stroke(bars, "fine")
    return Symbol(on_axis(part, names, 48.0), (Box(-20, 24, 40, 48),), marks, 48.0)


def horn(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: box with a bell."""
    marks = stroke("M0 24v6M0 50v6")
    marks += stroke("M7 35l15 -9v28l-15 -9z", "sym") + stroke("M-7 30h14v20h-14z", "sym")
    return Symbol(on_axis(part, names), (Box(-7, 24, 29, BODY),), marks, 40.0)


def battery(part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: two cells, the long plates positive."""
    plus, minus = (pin_text(part, name) for name in names[:2])
    pins = (
        Pin(names[0], (0.0, 0.0), None, plus, (-12.0, 15.0)),
        Pin(names[1], (0.0, 64.0), None, minus, (-12.0, 60.0)),
    )
    marks = (
        stroke("M0 0v22M0 42v22")
        + stroke("M-16 22h32M-16 36h32")
        + stroke("M-8 29h16M-8 42h16", "thick")
    )
    return Symbol(pins, (Box(-16, 20, 32, 24), Box(-1, 6, 2, 52)), marks, 32.0)


def stud(_part: Part, names: tuple[str, ...]) -> Symbol:
    """Return the symbol: ring on the body."""
    bodies = Box(-14, 22, 28, 12), Box(-1, 6, 2, 18)
    return Symbol((Pin(names[0], (0.0, 0.0)),), bodies, stroke("M0 0v24") + FRAME, 12.0)


def breaker(part: Part, names: tuple[str, ...]) -> Symbol:
    """Contact that a bimetal opens: the square step beside it."""
    marks = stroke("M0 24v8M0 56v-6L-12 31") + stroke("M-24 34v6h-7v8h7v6", "fine")
    marks += stroke("M-7 40H-24", "dash")
    return Symbol(on_axis(part, names), (Box(-31, 24, 41, BODY),), marks, 40.0)


def twin_lamp(part: Part, names: tuple[str, ...]) -> Symbol:
    """Two filaments in one bulb with a common end; the second one hangs to the left."""
    marks = stroke("M0 24v32M-40 24v32H0")
    for x in (0.0, -ASIDE):
        marks += circle((x, 40), 12) + stroke(f"M{x - 8.5:g} 31.5l17 17m0 -17l-17 17")
    marks += stroke("M-57 24H17V60H-57z", "dash")
    at = (-ASIDE - 10.0, 16.0)
    second = Pin(names[2], (-ASIDE, 0.0), (-ASIDE, REACH), pin_text(part, names[2]), at)
    pins = (*on_axis(part, names), second)
    return Symbol(pins, (Box(-57, 24, 74, 36),), marks, 40.0)


def led_lamp(part: Part, names: tuple[str, ...]) -> Symbol:
    """Lamp with a diode in it, the way its current flows."""
    way = 1 if names[0] == "1" else -1
    marks = stroke("M0 24v32") + circle((0, 40), 14)
    marks += stroke(f"M-7 {40 - 6 * way}h14L0 {40 + 6 * way}z", "solid")
    marks += stroke(f"M-7 {40 + 6 * way}h14") + stroke("M13 28l7 -5m-4 0h4v4", "fine")
    return Symbol(on_axis(part, names), (Box(-14, 23, 34, BODY + 1),), marks, 40.0)


def diode(part: Part, names: tuple[str, ...]) -> Symbol:
    """Triangle onto a bar; a Zener diode's bar has a hook."""
    way = 1 if names[0] == "a" else -1
    bar, base = 40 + 8 * way, 40 - 7 * way
    hook = f"M-9 {bar}h18" + (f"v{-6 * way}" if part.kind == "Zener diode" else "")
    marks = stroke("M0 24v32") + stroke(f"M-9 {base}h18L0 {bar}z", "solid") + stroke(hook)
    return Symbol(on_axis(part, names), (Box(-9, 24, 18, BODY),), marks, 40.0)


def resistor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Rectangle along the axis."""
    marks = stroke("M0 24v32") + stroke("M-7 26h14v28h-14z", "sym")
    return Symbol(on_axis(part, names), (Box(-7, 24, 14, BODY),), marks, 40.0)


def suppressor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Two plates, in a dashed can."""
    marks = stroke("M0 24v12M0 44v12") + stroke("M-11 37h22M-11 43h22", "thick")
    marks += stroke("M-15 28h30v24h-30z", "dash")
    return Symbol(on_axis(part, names), (Box(-15, 24, 30, BODY),), marks, 40.0)


def resistor_pack(part: Part, names: tuple[str, ...]) -> Symbol:
    """Resistors one after the other, a tap on the left between each two."""
    taps = names[2:]
    height = BODY * (len(taps) + 1)
    marks = stroke(f"M0 24v{height:g}")
    pins: tuple[Pin, ...] = on_axis(part, names, height)
    for place in range(len(taps) + 1):
        marks += stroke(f"M-7 {28 + BODY * place:g}h14v24h-14z", "sym")
    for place, name in enumerate(taps):
        y = REACH + BODY * (place + 1)
        marks += stroke(f"M0 {y:g}h-24")
        text_at = (-36.0, y - 8.0)
        pins += (Pin(name, (-48.0, y), (-24.0, y), pin_text(part, name), text_at, "middle"),)
    return Symbol(pins, (Box(-24, 24, 31, height),), marks, REACH + height / 2)


def glow_plug(part: Part, names: tuple[str, ...]) -> Symbol:
    """Heating coil in a rod that is screwed into the body."""
    text = pin_text(part, names[0])
    pins = (Pin(names[0], (0.0, 0.0), (0.0, REACH), text, (-10.0, 16.0)),)
    marks = stroke("M0 24v32") + stroke("M-7 28h14v24h-14z", "sym")
    marks += stroke("M-3 33h6l-6 5h6l-6 5h6", "fine")
    marks += f'<g transform="translate(0 32)">{FRAME}</g>'
    return Symbol(pins, (Box(-15, 24, 30, 42),), marks, 40.0)
