"""Ratiometric pressure sensor: + supply, s signal, − ground.

``V_s = V (0.1 + 0.8 p / range)``, so 0.5 V to 4.5 V on a supply of 5 V, and no further than 5 % and
95 % beyond the range (common practice, no source). The output is a divider of the supply with the
stated output impedance R: R / x to the supply and R / (1 - x) to ground, x being V_s / V. So the
signal follows the supply, goes to the supply with the ground off, to ground with the supply off.

A drift is a share of the supply by which the signal is too high.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.parts.positions import Stand, stands
from sim.parts.potentiometer import noise, supply_short

LOWEST, SPAN = 0.1, 0.8
LIMITS = (0.05, 0.95)
PINS = ("+", "s", "-")


def signal_share(pressure: float, full: float) -> float:
    """Return the share of the supply that the signal has at a pressure; both in Pa."""
    return min(max(LOWEST + SPAN * pressure / full, LIMITS[0]), LIMITS[1])


def _at(part: Part, stand: Stand) -> list[Element]:
    name, ohms = part.name, part.number("output impedance")
    pressure = part.severity("stuck") if part.has("stuck") else stand.value
    share = signal_share(pressure or 0.0, part.number("range"))
    share = min(share + (part.severity("drift") or 0.0), LIMITS[1])
    up, down = conductance(ohms / share), conductance(ohms / (1.0 - share))
    inner = f"{name} inner"
    return [
        Element(f"{name} upper{stand.label}", f"{name}.+b", inner, up, positions=stand.gate),
        Element(f"{name} lower{stand.label}", inner, f"{name}.-b", down, positions=stand.gate),
    ]


def _pins(_part: Part) -> tuple[str, ...]:
    return PINS


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    inside = [
        element
        for stand in stands(part, "pressure", part.number("pressure"))
        for element in _at(part, stand)
    ]
    bond = 0.0 if part.has("output open") else conductance(1.0)
    output = Element(f"{name} output", f"{name}.sb", f"{name} inner", bond, motion=noise(part))
    return (*(joint(part, pin) for pin in PINS), *inside, output, supply_short(part))


def _ways(part: Part) -> tuple[Way, ...]:
    return (
        Way("output open", None, (), 0.7),
        Way("stuck", None, (part.number("range") / 4,), 0.5, "pressure"),
        Way("drift", None, (0.1, 0.3), 0.6, "fraction", most=0.8),
        Way("supply shorted", None, (), 0.2),
        Way("noise", None, (0.2,), 0.1, "voltage"),
        *(way for pin in PINS for way in joint_ways(pin, likelihood=0.4)),
    )


FAMILY = Family(
    "pressure sensor",
    {
        "range": Parameter("pressure", 10e5),
        "output impedance": Parameter("resistance", 1e3),
        "pressure": Parameter("pressure", 0.0),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    setting="pressure",
)
