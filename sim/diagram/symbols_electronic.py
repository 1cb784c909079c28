"""Symbols of what is electronic: sensors, drivers, transceivers, units that sleep.

After the general conventions of IEC 60617, as far as they are common knowledge; the drawings are
ours. Terminals that belong to no current path stand on the left.
"""

from __future__ import annotations

from dataclasses import replace

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.symbol import BODY, REACH, Pin, Symbol, circle, on_axis, side_pin, stroke

LINE = 32.0  # px between the lines of a bus at a unit


def thermistor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Resistor with the slanted line, its foot level, of what depends on something."""
    marks = stroke("M0 24v32") + stroke("M-7 26h14v28h-14z", "sym") + stroke("M-22 53h8L15 27")
    return Symbol(on_axis(part, names), (Box(-22, 24, 37, BODY),), marks, 40.0)


def potentiometer(part: Part, names: tuple[str, ...]) -> Symbol:
    """Resistor with a wiper from the left."""
    marks = stroke("M0 24v32") + stroke("M-7 26h14v28h-14z", "sym")
    marks += stroke("M-24 40h10") + stroke("M-16 35.5l8 4.5l-8 4.5z", "solid")
    pins = (*on_axis(part, names), side_pin(part, names[2], 40.0, 24.0))
    return Symbol(pins, (Box(-24, 24, 31, BODY),), marks, 40.0)


def reluctance_sensor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Winding beside a tooth."""
    marks = stroke("M0 24v2a5 4.7 0 0 1 0 9.4a5 4.7 0 0 1 0 9.4a5 4.7 0 0 1 0 9.4v2")
    marks += stroke("M-7 27v26", "thick") + stroke("M-20 28v6h6v12h-6v6", "fine")
    return Symbol(on_axis(part, names), (Box(-20, 24, 26, BODY),), marks, 40.0)


def _housing(part: Part, names: tuple[str, ...], height: float, inside: str) -> Symbol:
    """Return a box on the axis, further terminals on its left, with a drawing in it."""
    rows = max(0, len(names) - 2)
    height = max(height, 8.0 + REACH * rows)
    marks = stroke(f"M-20 24h40v{height:g}h-40z", "sym") + inside
    pins = on_axis(part, names, height)
    start = REACH + height / 2 - REACH / 2 * (rows - 1)
    start -= start % 8.0
    sides = tuple(
        side_pin(part, name, start + REACH * row, 20.0 + 4.0) for row, name in enumerate(names[2:])
    )
    for pin in sides:
        marks += stroke(f"M-24 {pin.outer[1]:g}h4")
    left = 24.0 if rows else 20.0
    return Symbol((*pins, *sides), (Box(-left, 24, left + 20, height),), marks, REACH + height / 2)


def pressure_sensor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with a diaphragm that bulges."""
    inside = stroke("M-12 34v28M12 34v28") + stroke("M-12 48q12 -16 24 0", "fine")
    return _housing(part, names, 48.0, inside)


def hall_sensor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with a plate crossed by its two diagonals."""
    inside = stroke("M-9 39h18v18h-18z", "fine") + stroke("M-9 39l18 18M9 39l-18 18", "fine")
    return _housing(part, names, 48.0, inside)


def transceiver(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with an arrow each way."""
    inside = stroke("M-10 44h18m-5 -4l5 4l-5 4M10 56h-18m5 -4l-5 4l5 4", "fine")
    return _housing(part, names, 56.0, inside)


def bus_unit(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with an arrow each way, its lines far enough apart for their long names."""
    rows = max(1, len(names) - 2)
    height = 16.0 + LINE * rows
    low = REACH + height
    marks = stroke(f"M-20 24h40v{height:g}h-40z", "sym")
    marks += stroke("M-10 40h18m-5 -4l5 4l-5 4M10 52h-18m5 -4l-5 4l5 4", "fine")
    plain = (side_pin(part, name, 48.0 + LINE * row, 24.0) for row, name in enumerate(names[2:]))
    sides = tuple(replace(pin, text_at=(-44.0, pin.outer[1] - 10.0)) for pin in plain)
    for pin in sides:
        marks += stroke(f"M-24 {pin.outer[1]:g}h4")
    pins = (*on_axis(part, names, height), *sides)
    return Symbol(pins, (Box(-24, 24, 44, height),), marks, low - height / 2)


def sleeping_unit(part: Part, names: tuple[str, ...]) -> Symbol:
    """Box with a clock: it falls asleep after a time."""
    inside = circle((0, 48), 10) + stroke("M0 48v-7M0 48l5 3", "fine")
    return _housing(part, names, 48.0, inside)


def driver(part: Part, names: tuple[str, ...]) -> Symbol:
    """Transistor between the terminals on the axis; its input, and a supply of its own, left."""
    height = 48.0 + REACH * max(0, len(names) - 3)
    low = REACH + height
    mosfet = any(str(value).lower() == "mosfet" for value in part.values.values())
    marks = stroke(f"M-20 24h40v{height:g}h-40z", "sym")
    if mosfet:
        marks += stroke(f"M0 24v14h-6M-6 58h6V{low:g}M0 48h-6V58")
        marks += stroke("M-6 34v8M-6 44v8M-6 54v8") + stroke("M-11 36v24M-11 48h-13")
    else:
        marks += stroke(f"M0 24v11L-10 44M-10 52L0 61V{low:g}") + stroke("M-10 38v20", "thick")
        marks += stroke("M-24 48h14") + stroke("M0 61l-7 -2l4 -4z", "solid")
    first, *others = names[2:]
    pins: tuple[Pin, ...] = (*on_axis(part, names, height), side_pin(part, first, 48.0, 24.0))
    for row, name in enumerate(others, start=1):
        pins += (side_pin(part, name, 48.0 + REACH * row, 24.0),)
        marks += stroke(f"M-24 {48.0 + REACH * row:g}h4")
    return Symbol(pins, (Box(-24, 24, 44, height),), marks, REACH + height / 2)
