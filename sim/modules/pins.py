"""The words that say what a pin of a control unit does, such as ``switches to ground, up to 2 A``.

What they mean electrically stands in `sim.parts.controlunit`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sim.errors import QuantityError
from sim.quantity import parse

BUS_RESISTANCE, BUS_LIMIT = 20.0, 0.1  # ohm, A of a master's transistor; ours
BUS_RHYTHM = 9600.0  # Hz: ones and noughts in turn at 19.2 kbit/s, the fastest of ISO 17987-4
TRANSISTOR = 0.03  # ohm, on; ours
SUPPLY, GROUND, INPUT_ROLE, REFERENCE = "supply", "ground", "input", "reference"
TO_GROUND, TO_SUPPLY = "switches to ground", "switches to supply"
OUTPUTS = (TO_GROUND, TO_SUPPLY)
SENSOR_GROUND = "sensor ground"
BUS = "LIN master"
TARGET = "target"  # of a source inside a part with rules of its own; never written in a file
ROLES = (SUPPLY, GROUND, SENSOR_GROUND, INPUT_ROLE, REFERENCE, *OUTPUTS, BUS)

_PULL = re.compile(r"pull-(?P<way>up|down) (?P<ohms>.+?)(?P<supply> to supply)?")
_PULSED = re.compile(r"pulsed at (?P<often>.+)")
_TEST = re.compile(r"lamp test (?P<long>.+) every (?P<apart>.+)")
_CLAMP = "clamp "


@dataclass(frozen=True, slots=True)
class PinWords:
    """What a pin does, read from its words.

    `limit` in A, resistances in ohm, 0 for none. `frequency` in Hz of an output that is pulsed, 0
    if it is not. While off it is on for `test_share` of the time, `test_frequency` times a second,
    to see whether its lamp is whole. `clamp` in V is what an output's transistor lets a coil kick
    to, 0 for none. `span` gives the volts of a `TARGET` at level 0 and
    at level 1.
    """

    role: str
    resistance: float = TRANSISTOR
    limit: float = 0.0
    pull_up: float = 0.0
    pull_down: float = 0.0
    to_supply: bool = False
    frequency: float = 0.0
    test_share: float = 0.0
    test_frequency: float = 0.0
    clamp: float = 0.0
    span: tuple[float, float] = (0.0, 0.0)


def read_pin(text: str) -> PinWords:
    """Read the words of one pin.

    Raises
    ------
    QuantityError
        One line: what was found and what would be right.
    """
    role, *rest = (word.strip() for word in text.split(","))
    if role not in ROLES:
        raise QuantityError(f"a pin is one of {', '.join(ROLES)}; got {role!r}")
    found: dict[str, float | bool] = {}
    for word in rest:
        found |= _read_word(role, word)
    numbers = [value for value in found.values() if not isinstance(value, bool)]
    if any(value <= 0.0 for value in numbers) or float(found.get("test_share", 0.5)) >= 1.0:
        raise QuantityError(f"a pin's values lie above 0, and a lamp test is short; got {text!r}")
    if role in (REFERENCE, *OUTPUTS) and "limit" not in found:
        raise QuantityError(f"{text!r}: say what it can give, such as `up to 2 A`")
    if role == BUS:
        found = {"resistance": BUS_RESISTANCE, "limit": BUS_LIMIT, "frequency": BUS_RHYTHM}
    return PinWords(role, **found)  # type: ignore[arg-type]  # bool only under to_supply


def _read_word(role: str, word: str) -> dict[str, float | bool]:
    """Read one word after the role; only outputs are pulsed, only they have a resistance."""
    pull, pulsed, test = (p.fullmatch(word) for p in (_PULL, _PULSED, _TEST))
    if pull and role in (INPUT_ROLE, *OUTPUTS):
        return {
            f"pull_{pull['way']}": parse(pull["ohms"], "resistance"),
            "to_supply": bool(pull["supply"]),
        }
    if word.startswith("up to ") and role in (REFERENCE, *OUTPUTS):
        return {"limit": parse(word.removeprefix("up to "), "current")}
    if word.startswith(_CLAMP) and role in OUTPUTS:
        return {"clamp": parse(word.removeprefix(_CLAMP), "voltage")}
    if pulsed and role in OUTPUTS:
        return {"frequency": parse(pulsed["often"], "frequency")}
    if test and role in OUTPUTS:
        long, apart = parse(test["long"], "time"), parse(test["apart"], "time")
        return {"test_share": long / apart, "test_frequency": 1.0 / apart} if apart else {}
    if role in OUTPUTS:
        return {"resistance": parse(word, "resistance")}
    raise QuantityError(f"{word!r} is nothing that a pin which is {role!r} can have")
