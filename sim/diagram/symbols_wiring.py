"""Symbols of wiring: connectors, splices, and a box for whatever has no symbol of its own."""

from __future__ import annotations

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.lettering import pin_text
from sim.diagram.symbol import BODY, PLUG, REACH, SIDE, Pin, Symbol, circle, on_axis, stroke


def connector(_part: Part, names: tuple[str, ...]) -> Symbol:
    """Socket over plug; the two halves of a pin follow each other in `names`, the upper first."""
    pins: list[Pin] = []
    count = len(names) // 2
    marks = ""
    for place in range(count):
        x = PLUG * place
        text_at = (x - 11.0, 20.0)
        pins.append(Pin(names[2 * place], (x, 0.0), None, names[2 * place][:-1], text_at))
        pins.append(Pin(names[2 * place + 1], (x, PLUG)))
        marks += stroke(f"M{x:g} 0v10M{x - 8:g} 18a8 8 0 0 1 16 0") + stroke(f"M{x:g} 20v12")
        marks += stroke(f"M{x - 2.5:g} 14h5v12h-5z", "solid")
    # a link from the left stops short of the number
    width = PLUG * (count - 1) + 20
    return Symbol(tuple(pins), (Box(-10, 6, width, 20),), "", 16.0, marks, (-26.0, width - 10.0))


def splice(_part: Part, names: tuple[str, ...]) -> Symbol:
    """Dots with a leg for every wire: above, below, the others to the right."""
    rows = max(1, len(names) - 2)
    low = 2 * REACH + PLUG * (rows - 1)
    pins = [Pin(names[0], (0.0, 0.0)), Pin(names[1], (0.0, low))]
    marks = stroke(f"M0 0v{low:g}")
    bodies = [Box(-4, 20, 8, low - 40), Box(-1, 6, 2, low - 12)]
    for row, name in enumerate(names[2:]):
        y = REACH + PLUG * row
        pins.append(Pin(name, (REACH, y)))
        marks += stroke(f"M0 {y:g}h{REACH:g}")
        bodies.append(Box(0, y - 1, 18, 2))
    marks += "".join(circle((0, REACH + PLUG * row), 4.0, "solid") for row in range(rows))
    return Symbol(tuple(pins), tuple(bodies), marks, low - 6.0)


def plain(part: Part, names: tuple[str, ...]) -> Symbol:
    """Any other part: a rectangle, further terminals on its left."""
    rows = max(0, len(names) - 2)
    height = BODY + REACH * max(0, rows - 1)
    pins: tuple[Pin, ...] = on_axis(part, names, height)
    marks = stroke(f"M0 24v{height:g}") + stroke(f"M-16 28h32v{height - 8:g}h-32z", "sym")
    for row, name in enumerate(names[2:]):
        y = 40.0 + REACH * row
        text = pin_text(part, name)
        pins += (Pin(name, (-SIDE, y), (-24.0, y), text, (-36.0, y - 8.0), "middle"),)
        marks += stroke(f"M-24 {y:g}h8")
    left = 24.0 if rows else 16.0
    return Symbol(pins, (Box(-left, 24, left + 16, height),), marks, REACH + height / 2)
