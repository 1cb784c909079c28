"""What a kind of part takes and how it fails: everything that its family says, for authors.

A family says it in Python; here it is gathered for somebody who writes circuit files. Terminals
and ways of failing are those of a part as `EXAMPLES` writes it, and of every other one that a
choice of words makes of it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sim.circuit import Part
from sim.circuitparts import NOTHING, kinds, without_ratings
from sim.errors import CircuitFileError
from sim.mistakes import perhaps
from sim.parts import FAMILIES
from sim.parts.family import Parameter, Way
from sim.parts.values import read_value
from sim.quantity import UNITS, usual

#: What has to be written of a part of a kind that needs anything: the usual, as an example.
EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "blade fuse": {"rating": "10 A"},
    "circuit breaker": {"rating": "20 A"},
    "lamp": {"power": "21 W at 12 V"},
    "LED lamp": {"power": "3 W at 12 V"},
    "heater grid": {"power": "160 W at 12 V"},
    "horn": {"power": "60 W at 12 V"},
    "connector": {"pins": "2"},
    "resistor": {"resistance": "10 ohm"},
    "Zener diode": {"breakdown": "16 V"},
    "motor": {"current": "8 A"},
    "actuator": {"current": "8 A"},
    "solenoid": {"resistance": "20 ohm"},
    "sensor switch": {"closed": "below 0.5 bar"},
    "control unit": {
        "pin 30": "supply",
        "pin 31": "ground",
        "pin 4": "input, pull-up 2.49 kohm",
        "pin 5": "reference, up to 50 mA",
        "pin 9": "switches to ground, up to 2 A",
        "pin 10": "switches to supply, up to 10 A, pulsed at 100 Hz",
    },
}
#: What text without a list of words means.
TEXTS: Mapping[str, str] = {
    "at rest": "what it senses without a control, such as 3 bar",
    "closed": "below or above a pressure, temperature or share, such as below 0.5 bar",
    "closed in": "positions of its control, such as on or side+head; of each output, parted by |",
    "commanded by": "who orders, such as A4.13",
    "identifier": "of its frames, three hexadecimal digits",
    "like": "a part of the same number, with which it can be swapped",
    "listens to": "names of the units whose messages it counts on",
    "lost code": "code that the others set when they miss it, such as U0121",
    "serves": "what it is there for, in a word or two",
    "steps": "ohms from terminal to terminal, parted by |",
    "warmed by": "a control that warms it in every position but the first",
    "woken by": "names of controls, and wake for that terminal",
}


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a part in a circuit file.

    Attributes
    ----------
    name : str
    takes : str
        What may be written, in words.
    default : str or None
        What holds where nothing is written, as written; None where it must be.
    """

    name: str
    takes: str
    default: str | None


@dataclass(frozen=True, slots=True)
class KindSheet:
    """What an author has to know of a kind.

    Attributes
    ----------
    kind, about : str
        `about` is what its file says first of it.
    example : tuple of (str, str)
        Keys and values that make a part of it, beside `kind` and `at`.
    keys : tuple of Key
    terminals : tuple of (str, tuple of str)
        What makes the difference (empty for the example), and the terminals then.
    ways : tuple of Way
        How the example fails.
    setting : str
        The quantity that positions of a control carry which sets it; empty if they carry none.
    """

    kind: str
    about: str
    example: tuple[tuple[str, str], ...]
    keys: tuple[Key, ...]
    terminals: tuple[tuple[str, tuple[str, ...]], ...]
    ways: tuple[Way, ...]
    setting: str


def kind_sheet(kind: str) -> KindSheet:
    """Return what an author has to know of a kind.

    Raises
    ------
    CircuitFileError
        There is no such kind.
    """
    if kind not in kinds():
        known = f"kinds are {', '.join(kinds())}{perhaps(kind, kinds())}"
        raise CircuitFileError(f"no kind of part is called {kind!r}; {known}")
    family, part = FAMILIES[kind], example_part(kind)
    free = family.free
    keys = [_key(name, one) for name, one in family.parameters.items()]
    if "lamp voltage" in family.parameters:
        keys.append(Key("lamp", "both of these at once, such as 12 V 1.2 W", "nothing"))
    if free is not None:
        keys.append(Key(f"{free.prefix}N", free.description, "nothing"))
    about = (sys.modules[family.elements.__module__].__doc__ or "").partition("\n\n")[0]
    return KindSheet(
        kind=kind,
        about=" ".join(about.split()),
        example=tuple(EXAMPLES.get(kind, {}).items()),
        keys=tuple(keys),
        terminals=tuple(_terminals(part)),
        ways=tuple(family.ways(part)),
        setting=family.setting,
    )


def example_part(kind: str) -> Part:
    """Return a part of a kind as its example has it, the rest left as it is."""
    parameters, written = FAMILIES[kind].parameters, without_ratings(EXAMPLES.get(kind, {}))
    values = {
        key: read_value(one, key, written[key]) if key in written else one.default
        for key, one in parameters.items()
    }
    more = {key: text for key, text in written.items() if key not in parameters}
    found = {key: value for key, value in values.items() if value is not None}
    return Part("P1", kind, "", {**found, **more})


def _key(name: str, one: Parameter) -> Key:
    units = [unit for unit in UNITS.get(one.quantity, {}) if unit]
    if one.quantity == "flag":
        takes = "yes or no"
    elif one.words:
        takes = " or ".join(one.words)
    elif one.quantity in {"text", "number"}:
        takes = TEXTS.get(name, one.quantity)
    else:
        takes = f"{one.quantity} in {', '.join(units)}"
    return Key(name, takes, _written(one))


def _written(one: Parameter) -> str | None:
    if one.default is None:
        return None
    if isinstance(one.default, bool):
        return "yes" if one.default else "no"
    if isinstance(one.default, str):
        return "nothing" if one.default in NOTHING else one.default
    if one.default == 0.0 and one.quantity not in {"fraction", "temperature"}:
        return "nothing"
    return usual(one.default, one.quantity)


def _terminals(part: Part) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give the terminals of a part, and those of others where a word or a flag alters them."""
    family = FAMILIES[part.kind]
    plain = family.pins(part)
    yield "", plain
    for key, one in family.parameters.items():
        words: tuple[str | bool, ...] = one.words
        if one.quantity == "flag":
            words = (not one.default,)
        for word in words:
            pins = family.pins(replace(part, values={**part.values, key: word}))
            if pins != plain:
                shown = ("yes" if word else "no") if isinstance(word, bool) else word
                yield f"{key}: {shown}", pins
