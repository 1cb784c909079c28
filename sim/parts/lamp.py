"""Filament lamp: current grows less than in proportion, because the filament heats.

``R(V) = R_cold + (R_hot - R_cold) (|V| / V_nominal) ^ beta``. The cold filament has 1 / 13.7 of
the hot resistance (OpenStax College Physics 2e, car headlight example: 4.80 ohm hot, 0.350 ohm
cold). beta is chosen so that at the nominal voltage I grows as V^0.55 (published re-rating
exponent): ``beta = 0.45 R_hot / (R_hot - R_cold)``.

Light grows as V^3.4, of a halogen lamp as V^2.8 (between the 2.64 and 3.02 of the H17 sheet of UN
R37). A halogen lamp is given by its test voltage and the most watts it may take there (37 W at
13.2 V), not by the watts of its name: those are no watts at 12.0 V.
"""

from __future__ import annotations

import math

from sim.circuit import Part
from sim.parts.family import Element, Family, Law, Parameter, Way, joint, joint_ways

HOT_OVER_COLD = 13.7
CURRENT_EXPONENT = 0.55
LIGHT_EXPONENT, HALOGEN_LIGHT_EXPONENT = 3.4, 2.8


def filament_shape(voltage: float, power: float) -> tuple[float, float, float]:
    """Return (cold ohms, k, beta) of ``R(V) = cold + k |V|^beta`` for nominal V and W."""
    hot = voltage**2 / power
    cold = hot / HOT_OVER_COLD
    beta = (1 - CURRENT_EXPONENT) * hot / (hot - cold)
    return cold, (hot - cold) / voltage**beta, beta


def light_share(volts: float, nominal: float, *, halogen: bool = False) -> float:
    """Return the light of a lamp at a voltage, as a share of that at its nominal voltage."""
    exponent = HALOGEN_LIGHT_EXPONENT if halogen else LIGHT_EXPONENT
    return math.pow(abs(volts) / nominal, exponent)


def filament(name: str, a: str, b: str, voltage: float, power: float, *, whole: bool) -> Element:
    """Return a filament between two points; `whole` is False for a burnt-out one."""
    return Element(name, a, b, float(whole), law=Law.LAMP, shape=filament_shape(voltage, power))


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    lamp = filament(
        f"{name} filament",
        f"{name}.1b",
        f"{name}.2b",
        part.number("voltage"),
        part.number("power"),
        whole=not part.has("open"),
    )
    return (joint(part, "1"), lamp, joint(part, "2"))


def _ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 3.0, seen="the filament is broken"),
        *joint_ways("1"),
        *joint_ways("2"),
    )


FAMILY = Family(
    "lamp",
    {"voltage": Parameter("voltage", 12.0), "power": Parameter("power")},
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("power"),
    load="filament",
)
