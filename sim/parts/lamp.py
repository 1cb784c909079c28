"""Filament lamp: current grows less than in proportion, because the filament heats.

``R(V) = R_cold + (R_hot - R_cold) (|V| / V_nominal) ^ beta``. The cold filament has 1 / 13.7 of
the hot resistance (OpenStax College Physics 2e, car headlight example: 4.80 ohm hot, 0.350 ohm
cold). beta is chosen so that at the nominal voltage I grows as V^0.55 (published re-rating
exponent): ``beta = 0.45 R_hot / (R_hot - R_cold)``.

Light grows as V^3.4, of a halogen lamp as V^2.8 (between the 2.64 and 3.02 of the H17 sheet of UN
R37). A halogen lamp is given by its test voltage and the most watts it may take there (37 W at
13.2 V), not by the watts of its name: those are no watts at 12.0 V.

In a waveform the filament warms up and cools (`sim.solver.filament`): switched on cold it takes
13.7 times its current. Its heat capacity follows from its size. A wire of diameter d and length l
that takes I and gives off all its power P by radiating q for each area of its surface has

    P = q pi d l,   P = I^2 rho 4 l / (pi d^2),   so   d^3 = 4 rho I^2 / (pi^2 q)

and the mass ``density d P / (4 q)``: the heat capacity goes as P I^(2/3), and lamps of more current
warm up more slowly. ``q = e sigma T^4``, with T where tungsten, whose resistance goes as T^1.2, has
13.7 times its cold resistance: 2600 K. Nothing here is fitted. A 21 W lamp has 0.107 mm, 14 mg and
2.1 mJ/K, and 90 % of its light after 0.23 s; brake lamps take about 0.2 s to 0.25 s (Sivak,
Flannagan, Sato, Traube & Aoki, Ergonomics 37(6), 1994, from memory). That coils shade themselves,
that gas cools them and that halogen lamps run hotter is left out (ours).
"""

from __future__ import annotations

import math

from sim.circuit import Part
from sim.parts.family import Element, Family, Law, Motion, Parameter, Way, joint, joint_ways

HOT_OVER_COLD = 13.7
CURRENT_EXPONENT = 0.55
LIGHT_EXPONENT, HALOGEN_LIGHT_EXPONENT = 3.4, 2.8

# Tungsten
ROOM, GROWTH = 293.15, 1.2  # K, and the exponent of its resistance: those of `sim.solver.filament`
RESISTIVITY = 5.6e-8  # ohm m at 20 degC, OpenStax College Physics 2e, table of resistivities
DENSITY = 19.3e3  # kg/m^3, OpenStax College Physics 2e, table of densities
SPECIFIC_HEAT = 150.0  # J/(kg K), mean up to 2600 K; 134 at 20 degC: handbooks, from memory
EMISSIVITY = 0.30  # total, at 2600 K: CRC Handbook, from memory
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m^2 K^4), CODATA


def filament_shape(voltage: float, power: float) -> tuple[float, float, float]:
    """Return (cold ohms, k, beta) of ``R(V) = cold + k |V|^beta`` for nominal V and W."""
    hot = voltage**2 / power
    cold = hot / HOT_OVER_COLD
    beta = (1 - CURRENT_EXPONENT) * hot / (hot - cold)
    return cold, (hot - cold) / voltage**beta, beta


def heat_capacity(voltage: float, power: float) -> float:
    """Return the heat capacity in J/K of a filament for nominal V and W."""
    hot = ROOM * math.pow(HOT_OVER_COLD, 1 / GROWTH)
    radiated = EMISSIVITY * STEFAN_BOLTZMANN * hot**4
    amps = power / voltage
    diameter = math.cbrt(4 * RESISTIVITY * HOT_OVER_COLD * amps**2 / (math.pi**2 * radiated))
    return SPECIFIC_HEAT * DENSITY * diameter * power / (4 * radiated)


def light_share(volts: float, nominal: float, *, halogen: bool = False) -> float:
    """Return the light of a lamp at a voltage, as a share of that at its nominal voltage."""
    exponent = HALOGEN_LIGHT_EXPONENT if halogen else LIGHT_EXPONENT
    return math.pow(abs(volts) / nominal, exponent)


def filament(name: str, a: str, b: str, voltage: float, power: float, *, whole: bool) -> Element:
    """Return a filament between two points; `whole` is False for a burnt-out one."""
    return Element(
        name,
        a,
        b,
        float(whole),
        law=Law.LAMP,
        shape=filament_shape(voltage, power),
        motion=Motion(capacitance=heat_capacity(voltage, power)),
    )


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
