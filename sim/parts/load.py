"""Resistive loads: the printed grid of a heated window, and a horn taken as its mean resistance.

A grid has n equal lines in parallel between two bus bars, nominal power P at voltage V: each line
has n V^2 / P. ``line open`` leaves n - severity lines; the solder tabs are the joints 1 and 2.
A mat of one wire is a grid of one line, which has nothing but all of its lines to lose.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _between(part: Part, siemens: float, label: str) -> tuple[Element, ...]:
    name = part.name
    load = Element(f"{name} {label}", f"{name}.1b", f"{name}.2b", siemens)
    return (joint(part, "1"), load, joint(part, "2"))


def _grid_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    lines = part.number("lines")
    left = lines - (part.severity("line open") or 0.0)
    if part.has("all lines open"):
        left = 0.0
    whole = part.number("power") / part.number("voltage") ** 2
    return _between(part, whole * left / lines, "grid")


def _grid_ways(part: Part) -> tuple[Way, ...]:
    lines = part.number("lines")
    # A quarter and a half of the lines, but one at least and never all: that is a way of its own.
    counted = {min(max(float(round(lines * share)), 1.0), lines - 1.0) for share in (0.25, 0.5)}
    some = tuple(sorted(counted - {0.0}))
    gap = Way("line open", None, some, 1.5, "number", "a gap in some of the lines", lines)
    return (
        *((gap,) if some else ()),
        Way("all lines open", None, (), 0.5, seen="a scratch down the bus bar"),
        *joint_ways("1"),
        *joint_ways("2"),
    )


def _horn_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    whole = conductance(part.number("voltage") ** 2 / part.number("power"))
    return _between(part, 0.0 if part.has("open") else whole, "coil")


def _horn_ways(_part: Part) -> tuple[Way, ...]:
    return (Way("open", None, (), 1.5), *joint_ways("1"), *joint_ways("2"))


_RATED = {"voltage": Parameter("voltage", 12.0), "power": Parameter("power")}
GRID = Family(
    "heater grid",
    {**_RATED, "lines": Parameter("number", 12.0)},
    _pins,
    _grid_elements,
    _grid_ways,
    separable=True,
    nominal_power=lambda part: part.number("power"),
    load="grid",
    probing="open",
)
HORN = Family(
    "horn",
    _RATED,
    _pins,
    _horn_elements,
    _horn_ways,
    separable=True,
    nominal_power=lambda part: part.number("power"),
    load="coil",
)
