"""Symbols of what turns and pulls: motors, starter, alternator, solenoids, injectors.

After the general conventions of IEC 60617, as far as they are common knowledge; the drawings are
ours.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.diagram.geometry import Box
from sim.diagram.symbol import (
    APART,
    BODY,
    Symbol,
    circle,
    letter_g,
    letter_m,
    on_axis,
    side_pin,
    stroke,
)


def motor(part: Part, names: tuple[str, ...]) -> Symbol:
    """Circle with M."""
    marks = circle((0, 40), 16) + letter_m(0, 40)
    return Symbol(on_axis(part, names), (Box(-16, 24, 32, BODY),), marks, 40.0)


def solenoid(part: Part, names: tuple[str, ...]) -> Symbol:
    """Coil with the plunger it draws in."""
    marks = stroke("M0 24v32") + stroke("M-20 30h40v20h-40z", "sym")
    marks += stroke("M20 40h12M32 33v14")
    return Symbol(on_axis(part, names), (Box(-20, 24, 53, BODY),), marks, 40.0)


def injector(part: Part, names: tuple[str, ...]) -> Symbol:
    """Coil with a needle."""
    marks = stroke("M0 24v32") + stroke("M-20 30h40v20h-40z", "sym")
    marks += stroke("M20 40h6") + stroke("M26 35l12 5l-12 5z", "solid")
    return Symbol(on_axis(part, names), (Box(-20, 24, 58, BODY),), marks, 40.0)


def starter(part: Part, names: tuple[str, ...]) -> Symbol:
    """Motor behind the contact of its solenoid, in one housing; 50 on the left."""
    height = 80.0
    marks = stroke("M-40 24H20V104H-40z", "dash")
    marks += stroke("M0 24v8M0 62v-12L-12 32") + stroke("M-18 44h8", "dash")
    marks += stroke("M-40 48H-34V36") + stroke("M-34 52v6H0")
    marks += stroke("M-40 36h16v16h-16z", "sym") + circle((0, 78), 16) + letter_m(0, 78)
    marks += stroke("M0 94v10")
    pins = (*on_axis(part, names, height), side_pin(part, names[2], 48.0, 40.0))
    return Symbol(pins, (Box(-40, 24, 60, height),), marks, 64.0)


def alternator(part: Part, names: tuple[str, ...]) -> Symbol:
    """Circle with G, and the diodes behind it, in one housing; L on the left."""
    height = 72.0
    marks = stroke("M-32 24H20V96H-32z", "dash") + stroke("M0 24v14M0 60v36")
    marks += stroke("M-8 42h16") + stroke("M-8 55h16L0 42z", "solid") + stroke("M0 55v6")
    marks += circle((0, 76), 15) + letter_g(0, 76)
    pins = on_axis(part, names, height)
    sides = tuple(
        side_pin(part, name, 48.0 + APART * place, 32.0) for place, name in enumerate(names[2:])
    )
    for pin in sides:
        marks += stroke(f"M-32 {pin.outer[1]:g}h8")
    return Symbol((*pins, *sides), (Box(-32, 24, 52, height),), marks, 60.0)
