"""Text -> value of a part's parameter, and whether the values together make a part.

Circuit files and the command line both go through here, so that both refuse the same things.
"""

from __future__ import annotations

from sim.circuit import AMBIENT, Part
from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.family import Parameter
from sim.quantity import ZERO_CELSIUS, parse

COLDEST = -ZERO_CELSIUS  # degC


def read_value(parameter: Parameter, key: str, text: str) -> float | str | bool:
    """Return the value of a parameter in SI.

    Raises
    ------
    QuantityError
        The text is not what the parameter takes, or the number is out of bounds: a fraction lies
        from 0 to 1; a temperature is above absolute zero;
        everything else is above 0, or 0 where that is the default.
    """
    if parameter.quantity == "flag":
        if text not in {"yes", "no"}:
            raise QuantityError(f"{key} must be yes or no, got {text!r}")
        return text == "yes"
    if parameter.quantity == "text":
        if parameter.words and text not in parameter.words:
            raise QuantityError(f"{key} must be {' or '.join(parameter.words)}, got {text!r}")
        return text
    value = parse(text, parameter.quantity)
    _check_bounds(parameter, key, text, value)
    return value


def _check_bounds(parameter: Parameter, key: str, text: str, value: float) -> None:
    if parameter.quantity == "fraction":
        if not 0.0 <= value <= 1.0:
            raise QuantityError(f"{key} must lie from 0 % to 100 %, got {text!r}")
    elif parameter.quantity == "temperature":
        if value < COLDEST:
            raise QuantityError(f"{key} must be above {COLDEST} degC, got {text!r}")
    elif value < 0.0 or (value == 0.0 and parameter.default != 0.0):
        raise QuantityError(f"{key} must be above 0, got {text!r}")
    if parameter.quantity == "number" and value != round(value):
        raise QuantityError(f"{key} must be a whole number, got {text!r}")


def check_values(part: Part) -> None:
    """Refuse values that are each in bounds but make no part together.

    Raises
    ------
    QuantityError
        For example a lamp with a voltage and no power, or a relay that drops out above pull-in.
    """
    try:
        FAMILIES[part.kind].elements(part, AMBIENT)
    except (ArithmeticError, ValueError) as error:
        zero = ", ".join(
            key for key, value in part.values.items() if value == 0.0 and value is not False
        )
        raise QuantityError(
            f"{part.name}: these values make no {part.kind}; look at {zero or 'all of them'}"
        ) from error
