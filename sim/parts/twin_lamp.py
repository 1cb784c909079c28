"""Lamp with two filaments and one ground: brake and tail light, or main and dipped beam.

Each filament obeys the law of `sim.parts.lamp`. With the ground lost, the current of one filament
goes on through the other and out of its feed; filaments that touch join the two feeds.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.parts.lamp import filament

TOUCHING = 0.05  # ohm, ours
FILAMENTS = ("main", "tail")


def _pins(_part: Part) -> tuple[str, ...]:
    return (*FILAMENTS, "ground")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, elements = part.name, []
    for which in FILAMENTS:
        volts, watts = part.number("voltage"), part.number(f"{which} power")
        whole = not part.has(f"{which} filament open")
        a, b = f"{name}.{which}b", f"{name}.groundb"
        elements += [
            joint(part, which),
            filament(f"{name} {which} filament", a, b, volts, watts, whole=whole),
        ]
    touching = conductance(TOUCHING) if part.has("filaments touch") else 0.0
    bridge = Element(f"{name} bridge", f"{name}.mainb", f"{name}.tailb", touching)
    return (*elements, bridge, joint(part, "ground"))


def _ways(_part: Part) -> tuple[Way, ...]:
    ways = [
        Way("main filament open", None, (), 2.5, seen="one filament is broken"),
        Way("tail filament open", None, (), 2.5, seen="one filament is broken"),
        Way("filaments touch", None, (), 0.2, seen="one filament hangs on the other"),
    ]
    for pin in (*FILAMENTS, "ground"):
        ways += joint_ways(pin)
    return tuple(ways)


FAMILY = Family(
    "twin lamp",
    {
        "voltage": Parameter("voltage", 12.0),
        "main power": Parameter("power", 21.0),
        "tail power": Parameter("power", 5.0),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("main power"),
    load="main filament",
)
