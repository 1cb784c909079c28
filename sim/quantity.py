"""Text with a unit <-> number in SI: "30 A", "2.5 mm2", "85 degC", "70 %".

Each kind of quantity lists the units that may be written and the factor (and offset) to the SI
unit used inside. A unit of another kind is refused with the units that would be right. Symbols
follow the SI Brochure (BIPM, 9th edition, 2019); "ohm", "degC" and "mm2" are the plain-ASCII
spellings that circuit files use.
"""

from __future__ import annotations

import math
import re
from decimal import Context

from sim.errors import QuantityError
from sim.mistakes import perhaps

#: kind -> {unit as written: factor to the SI unit}
UNITS: dict[str, dict[str, float]] = {
    "voltage": {"V": 1.0, "mV": 1e-3, "kV": 1e3},
    "current": {"A": 1.0, "mA": 1e-3, "uA": 1e-6},
    "resistance": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3, "Mohm": 1e6, "Ω": 1.0, "mΩ": 1e-3},
    "power": {"W": 1.0, "mW": 1e-3, "kW": 1e3},
    "charge": {"Ah": 3600.0, "mAh": 3.6, "C": 1.0},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3},
    "area": {"mm2": 1e-6, "mm²": 1e-6, "m2": 1.0},
    "temperature": {"degC": 1.0, "°C": 1.0, "K": 1.0},
    "rotation": {"rpm": 2 * math.pi / 60, "rad/s": 1.0},
    "pressure": {"Pa": 1.0, "hPa": 1e2, "kPa": 1e3, "bar": 1e5},
    "frequency": {"Hz": 1.0, "kHz": 1e3},
    "inductance": {"H": 1.0, "mH": 1e-3, "uH": 1e-6},
    "capacitance": {"F": 1.0, "mF": 1e-3, "uF": 1e-6, "nF": 1e-9, "pF": 1e-12},
    "torque": {"N m": 1.0, "mN m": 1e-3},
    "inertia": {"kg m2": 1.0, "g m2": 1e-3},
    "energy": {"J": 1.0, "mJ": 1e-3},
    "angle": {"deg": 1 / 360, "turn": 1.0},
    "fraction": {"%": 1e-2, "": 1.0},
    "number": {"": 1.0},
}
#: The SI unit each kind is kept in; temperature is kept in degrees Celsius (see `parse`).
SYMBOL = {
    "voltage": "V",
    "current": "A",
    "resistance": "ohm",
    "power": "W",
    "charge": "C",
    "time": "s",
    "length": "m",
    "area": "m2",
    "temperature": "degC",
    "rotation": "rad/s",
    "pressure": "Pa",
    "frequency": "Hz",
    "inductance": "H",
    "capacitance": "F",
    "torque": "N m",
    "inertia": "kg m2",
    "energy": "J",
    "angle": "turn",
    "fraction": "",
    "number": "",
}
#: Quantities that are written in one unit whatever their size.
FIXED = {"rotation": "rpm", "charge": "Ah", "area": "mm2", "length": "m"}
SMALL, LARGE = 0.1, 1e3  # a number that the first unit may have
ZERO_CELSIUS = 273.15  # K, SI Brochure 2.3.1

# Exact for what anybody writes: 70 % is 0.7 to the last bit. Without traps too much is infinite.
_DECIMALS = Context(prec=60, traps=[])

_TEXT = re.compile(
    r"\s*([-+]?(?:\d+(?:[ \u202f]\d{3})*(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S*(?: \S+)?)\s*"
)


def parse(text: str, kind: str) -> float:
    """Read a number with a unit of the given kind.

    Parameters
    ----------
    text : str
        For example ``"2.5 mm2"`` or ``"70 %"``.
    kind : str
        A key of `UNITS`.

    Returns
    -------
    float
        The value in the unit of `SYMBOL` (temperatures in degrees Celsius, kelvin converted).

    Raises
    ------
    QuantityError
        The text is no number, or its unit belongs to another kind.
    """
    units = UNITS[kind]
    allowed = ", ".join(unit or "no unit" for unit in units)
    with_unit = "without a unit" if allowed == "no unit" else f"with one of: {allowed}"
    found = _TEXT.fullmatch(text)
    if found is None:
        message = f"{kind}: got {text!r}, expected a number {with_unit}"
        raise QuantityError(message)
    unit = found[2]
    if unit not in units:
        such = f", such as {found[1]} {next(iter(units))}" if not unit else perhaps(unit, units)
        message = f"{kind}: got unit {unit!r} in {text!r}, expected one of: {allowed}{such}"
        raise QuantityError(message)
    written = _DECIMALS.create_decimal(found[1].replace(" ", "").replace("\u202f", ""))
    factor = _DECIMALS.create_decimal(repr(units[unit]))
    value = float(_DECIMALS.multiply(written, factor))
    if unit == "K":
        value -= ZERO_CELSIUS
    if not math.isfinite(value):
        message = f"{kind}: got {text!r}, expected a finite number"
        raise QuantityError(message)
    return value


def write(value: float, kind: str) -> str:
    """Write a value kept in SI as short text with the unit of `SYMBOL`, such as ``"1.2 ohm"``."""
    if kind == "fraction":
        return f"{value * 100:g} %"
    return f"{value:g} {SYMBOL[kind]}".strip()


def usual(value: float, quantity: str) -> str:
    """Write a value in SI as people do: in its first unit, if that gives 0.1 to 1000 of them.

    Parameters
    ----------
    value : float
    quantity : str
        A key of `UNITS`.
    """
    if quantity in {"fraction", "number", "temperature"} or value == 0.0:
        return write(value, quantity)
    sizes = {unit: abs(value) / one for unit, one in UNITS[quantity].items() if unit.isascii()}
    chosen = FIXED.get(quantity, next(iter(sizes)))
    if quantity not in FIXED and not SMALL <= sizes[chosen] < LARGE:
        chosen = min(sizes, key=lambda unit: abs(math.log10(sizes[unit]) - 1.0))
    return f"{value / UNITS[quantity][chosen]:.4g} {chosen}"
