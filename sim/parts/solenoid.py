"""Solenoid (valve, clutch, shut-off) and fuel injector: a winding with resistance and inductance.

``I = V / R`` at rest and ``V = R I + L dI/dt`` in time. With a share x of the turns shorted, R
shrinks by 1 - x and L by (1 - x)^2 (L goes with the square of the turns; leakage and the ring of
shorted turns itself are left out). A coil shorted through has 0.3 ohm left.

Injectors: those driven by full voltage have 12 to 16 ohm, those driven by peak and hold 2 to 3 ohm
(common practice, no source); inductances are from memory. Values are for 20 degC.
A capacitance across the winding takes its current when nothing else does.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import (
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.relay import DIODE_SATURATION, DIODE_SLOPE, SHORTED_DIODE

SHORTED_COIL = 0.3  # ohm, ours
WINDING_CAPACITANCE = 10e-9  # F, that and eddy currents hold a free kick to some kV; ours
#: ohm and H by type of injector
INJECTORS = {"high ohm": (14.5, 12e-3), "low ohm": (2.4, 2.5e-3)}


def winding(part: Part, ohms: float, henries: float) -> Element:
    """Return the part's winding between its own terminals, with its faults."""
    left = 1.0 - (part.severity("shorted turns") or 0.0)
    resistance = SHORTED_COIL if part.has("shorted") else ohms * left
    siemens = 0.0 if part.has("open") else conductance(resistance)
    name = part.name
    motion = Motion(henries * left * left, WINDING_CAPACITANCE)
    return Element(f"{name} coil", f"{name}.1b", f"{name}.2b", siemens, motion=motion)


def winding_ways() -> tuple[Way, ...]:
    """Return how a winding fails."""
    return (
        Way("open", None, (), 1.0),
        Way("shorted turns", None, (0.4,), 0.4, "fraction", most=0.9),
        Way("shorted", None, (), 0.2),
        *joint_ways("1"),
        *joint_ways("2"),
    )


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    inside = [winding(part, part.number("resistance"), part.number("inductance"))]
    if part.values["suppression"] == "diode":
        name, plus, minus = part.name, f"{part.name}.1b", f"{part.name}.2b"
        shape = (DIODE_SATURATION, DIODE_SLOPE, 0.0)
        shorted = conductance(SHORTED_DIODE) if part.has("diode shorted") else 0.0
        inside += [
            Element(f"{name} diode", minus, plus, 1.0, law=Law.DIODE, shape=shape),
            Element(f"{name} diode short", minus, plus, shorted),
        ]
    return (joint(part, "1"), *inside, joint(part, "2"))


def _ways(part: Part) -> tuple[Way, ...]:
    if part.values["suppression"] == "diode":
        return (*winding_ways(), Way("diode shorted", None, (), 0.3))
    return winding_ways()


def _injector_values(part: Part) -> tuple[float, float]:
    ohms, henries = INJECTORS[str(part.values["type"])]
    return part.number("resistance") or ohms, part.number("inductance") or henries


def _injector_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    return (joint(part, "1"), winding(part, *_injector_values(part)), joint(part, "2"))


def _injector_ways(_part: Part) -> tuple[Way, ...]:
    return winding_ways()


FAMILY = Family(
    "solenoid",
    {
        "resistance": Parameter("resistance"),
        "inductance": Parameter("inductance", 0.05),
        "voltage": Parameter("voltage", 12.0),
        "suppression": Parameter("text", "none", ("none", "diode")),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") ** 2 / part.number("resistance"),
    load="coil",
)
INJECTOR = Family(
    "injector",
    {
        "type": Parameter("text", "high ohm", tuple(INJECTORS)),
        "resistance": Parameter("resistance", 0.0),
        "inductance": Parameter("inductance", 0.0),
        "voltage": Parameter("voltage", 12.0),
    },
    _pins,
    _injector_elements,
    _injector_ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") ** 2 / _injector_values(part)[0],
    load="coil",
)
