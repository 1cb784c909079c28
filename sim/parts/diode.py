"""Diode, Zener diode and suppressor: what lets current through one way, or from a voltage up.

Diode: Shockley's equation with 1 nA and n = 1.7 at 25 degC, a 1 A silicon rectifier (common
practice, no source): 0.90 V at 1 A, 0.60 V at 1 mA. Zener diode: that, and backwards a second one
behind an EMF, ``I = Is (exp((V - E) / s) - 1)`` with ``s = I_test Z_test``, which has the
data-sheet slope Z_test at the test current, and E such that V = V_z there. Defaults: Z_test 9 ohm
at 21 mA, 1N4742A data sheet (12 V, 1 W). Suppressor: two of these, one each way, behind the
resistance of its bulk. Defaults after a SMBJ24CA data sheet (26.7 V to 29.5 V at 1 mA, 38.9 V at
15.4 A): 28 V at 1 mA with 50 ohm of slope there (ours), bulk 0.65 ohm.

All are taken as cold: the surge that they clamp is over before they warm.
"""

from __future__ import annotations

import math

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Law, Parameter, Way, conductance, joint, joint_ways
from sim.parts.relay import DIODE_SATURATION, DIODE_SLOPE

KNEE = 1e-12  # A, Is of a breakdown; ours
SHORTED = 0.05  # ohm, ours
LEAKS = (200.0, 5000.0)  # ohm, ours


def breakdown(volts: float, current: float, slope: float) -> tuple[float, float]:
    """Return (EMF in V, exponential slope in V) of a breakdown.

    Parameters
    ----------
    volts, current : float
        A point of it, V and A.
    slope : float
        Its differential resistance there, ohm.

    Raises
    ------
    QuantityError
        So soft a breakdown that it would conduct at no voltage.
    """
    scale = current * slope
    emf = volts - scale * math.log(current / KNEE + 1.0)
    if emf <= 0.0:
        raise QuantityError(
            f"a breakdown at {volts:g} V must have less than {slope:g} ohm at {current:g} A"
        )
    return emf, scale


def _rectifier(name: str, a: str, b: str, *, fitted: bool) -> Element:
    shape = (DIODE_SATURATION, DIODE_SLOPE, 0.0)
    return Element(name, a, b, float(fitted), law=Law.DIODE, shape=shape)


def _breakdown(part: Part, label: str, a: str, b: str, *, fitted: bool) -> Element:
    emf, scale = breakdown(
        part.number("breakdown"), part.number("test current"), part.number("slope")
    )
    shape = (KNEE, scale, 0.0)
    return Element(f"{part.name} {label}", a, b, float(fitted), emf, Law.DIODE, shape)


def _leak(part: Part, a: str, b: str) -> Element:
    """Return what a shorted or leaking one has across it."""
    siemens = conductance(SHORTED) if part.has("shorted") else 0.0
    leak = part.severity("leakage")
    if leak is not None:
        siemens += conductance(leak)
    return Element(f"{part.name} short", a, b, siemens)


def _pins(_part: Part) -> tuple[str, ...]:
    return ("a", "k")


def _diode_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    a, k = f"{part.name}.ab", f"{part.name}.kb"
    whole, turned = not part.has("open"), part.has("reversed")
    return (
        joint(part, "a"),
        _rectifier(f"{part.name} diode", a, k, fitted=whole and not turned),
        _rectifier(f"{part.name} diode turned", k, a, fitted=whole and turned),
        _leak(part, a, k),
        joint(part, "k"),
    )


def _zener_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    a, k = f"{part.name}.ab", f"{part.name}.kb"
    whole = not part.has("open")
    return (
        joint(part, "a"),
        _rectifier(f"{part.name} diode", a, k, fitted=whole),
        _breakdown(part, "breakdown", k, a, fitted=whole),
        _leak(part, a, k),
        joint(part, "k"),
    )


def _suppressor_pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _suppressor_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    a, b = f"{part.name} inner", f"{part.name}.2b"
    whole = not part.has("open")
    bulk = conductance(part.number("bulk"))
    return (
        joint(part, "1"),
        Element(f"{part.name} bulk", f"{part.name}.1b", a, bulk),
        _breakdown(part, "forward", a, b, fitted=whole),
        _breakdown(part, "backward", b, a, fitted=whole),
        _leak(part, a, b),
        joint(part, "2"),
    )


def _inner_ways() -> tuple[Way, ...]:
    return (
        Way("open", None, (), 0.6),
        Way("shorted", None, (), 0.8),
        Way("leakage", None, LEAKS, 0.3),
    )


def _diode_ways(_part: Part) -> tuple[Way, ...]:
    turned = "the ring on the diode is at the other end"
    return (
        *_inner_ways(),
        Way("reversed", None, (), 0.2, seen=turned),
        *joint_ways("a", likelihood=0.3),
        *joint_ways("k", likelihood=0.3),
    )


def _zener_ways(_part: Part) -> tuple[Way, ...]:
    return (*_inner_ways(), *joint_ways("a", likelihood=0.3), *joint_ways("k", likelihood=0.3))


def _suppressor_ways(_part: Part) -> tuple[Way, ...]:
    return (*_inner_ways(), *joint_ways("1", likelihood=0.3), *joint_ways("2", likelihood=0.3))


DIODE = Family("diode", {}, _pins, _diode_elements, _diode_ways, separable=True)
ZENER = Family(
    "Zener diode",
    {
        "breakdown": Parameter("voltage"),
        "test current": Parameter("current", 0.021),
        "slope": Parameter("resistance", 9.0),
    },
    _pins,
    _zener_elements,
    _zener_ways,
    separable=True,
)
SUPPRESSOR = Family(
    "suppressor",
    {
        "breakdown": Parameter("voltage", 28.0),
        "test current": Parameter("current", 0.001),
        "slope": Parameter("resistance", 50.0),
        "bulk": Parameter("resistance", 0.65),
    },
    _suppressor_pins,
    _suppressor_elements,
    _suppressor_ways,
    separable=True,
)
