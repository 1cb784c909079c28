"""What is written on a diagram: names, ratings, colour codes, and how wide a text comes out.

Colour codes are those of IEC 60757 (BK, BN, RD, ...); terminal numbers of a key switch are those of
DIN 72552. The colours themselves are ours: near enough to the insulation to be recognised, apart
enough to be told from each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.circuit import Circuit, Part
from sim.errors import CircuitFileError
from sim.language import msg, say
from sim.quantity import write

TEXT, SMALL = 12.0, 11.0  # px
MONO = 0.61  # em, advance of a fixed-width face

#: Colour of insulation -> code of IEC 60757 and how it is shown.
COLOURS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "black": ("BK", "#16181b"),
        "brown": ("BN", "#7a4a2a"),
        "red": ("RD", "#c4281f"),
        "orange": ("OG", "#ec7a14"),
        "yellow": ("YE", "#ecbf14"),
        "green": ("GN", "#2f8a3c"),
        "blue": ("BU", "#2f6fc0"),
        "violet": ("VT", "#7d4bb0"),
        "grey": ("GY", "#868d96"),
        "white": ("WH", "#f7f7f4"),
        "pink": ("PK", "#ee9ab4"),
        "turquoise": ("TQ", "#22b0ac"),
    }
)
#: What a supply rail or ground is, by its terminal number of DIN 72552.
RAILS: Mapping[str, str] = MappingProxyType(
    {
        "30": msg("battery feed"),
        "15": msg("key on"),
        "75": msg("accessory"),
        "50": msg("crank"),
        "31": msg("ground"),
    }
)
#: Terminals that have a number of DIN 72552 beside the name by which the circuit file calls them.
NUMBERS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {"key switch": {"in": "30", "accessory": "75", "run": "15", "crank": "50"}}
)

#: Parameters of which the first that a part has is written beside it, and their quantities.
_NUMBERS_WORTH_KNOWING = (
    ("rating", "current"),
    ("power", "power"),
    ("coil", "resistance"),
    ("current", "current"),
    ("resistance", "resistance"),
    ("breakdown", "voltage"),
)

# Advances in em of a wide sans-serif face, rounded up; every other character takes `_WIDE`.
_ADVANCES = ((0.36, "ijlIJ'|.,·:;/ -"), (0.43, "ft()[]r!²"), (0.88, "wM×−+=Ω"), (1.04, "m%W@"))
_ADVANCE = {letter: advance for advance, letters in _ADVANCES for letter in letters}
_WIDE, _CAPITAL, _BOLD = 0.645, 0.76, 1.11


def text_width(text: str, size: float, *, bold: bool = False, mono: bool = False) -> float:
    """Return how wide a text comes out at most, in px, for a size in px."""
    if mono:
        return MONO * size * len(text)
    em = sum(_ADVANCE.get(c, _CAPITAL if c.isupper() else _WIDE) for c in text)
    return em * size * (_BOLD if bold else 1.0)


def wire_colours(wire: Part) -> tuple[str, ...]:
    """Return the colours of a wire's insulation, the tracer (if any) last.

    Raises
    ------
    CircuitFileError
        A colour has no code.
    """
    colours = tuple(word.strip() for word in str(wire.values["colour"]).split("/"))
    for colour in colours:
        if colour not in COLOURS:
            known = ", ".join(COLOURS)
            raise CircuitFileError(f"{wire.name}: colour {colour!r} unknown; colours are {known}")
    return colours


def wire_area(wire: Part) -> str:
    """Return a cross-section in mm2 as the trade writes it: 0.75, 4.0, 25."""
    square_mm = round(wire.number("area") * 1e6, 3)
    one_decimal = 1.0 <= square_mm < 10.0 and round(square_mm, 1) == square_mm  # noqa: PLR2004
    return f"{square_mm:.1f}" if one_decimal else f"{square_mm:g}"


def wire_code(wire: Part) -> str:
    """Return colour code and cross-section in mm2, such as "BK/WH 4.0"."""
    codes = "/".join(COLOURS[colour][0] for colour in wire_colours(wire))
    return f"{codes} {wire_area(wire)}"


def pin_text(part: Part, pin: str) -> str:
    """Return what stands beside a terminal."""
    if part.kind == "battery":
        return pin.replace("-", "−")
    return NUMBERS.get(part.kind, {}).get(pin, pin)


def wording(circuit: Circuit, part: Part, key: str) -> tuple[str, str, str]:
    """Return name, noun and rating (or place) of what an item of the diagram shows."""
    noun = {
        "blade fuse": "",
        "fusible link": "",
        "connector": "",
        "ground stud": "",
        "splice": "",
        "switch": _operated_by(circuit, part) or say("switch"),
        "selector switch": _operated_by(circuit, part) or say("switch"),
    }.get(part.kind, say(part.kind))
    if part.kind == "relay":
        noun = key.removeprefix(part.name).strip()
        rating = str(part.values["serves"]) if noun == "contact" else _rating(part)
        return part.name, say(noun), rating
    if part.kind == "bus unit" and part.values["serves"]:
        noun = str(part.values["serves"])
    return part.name, noun, _rating(part)


def _operated_by(circuit: Circuit, part: Part) -> str:
    return next((name for name, c in circuit.controls.items() if part.name in c.sets), "")


def _rating(part: Part) -> str:
    """Return the one number worth knowing, or the place of what has none."""
    if part.kind in {"connector", "ground stud", "splice"}:
        return part.at
    if part.kind == "twin lamp":
        return "/".join(f"{part.number(f'{which} power'):g}" for which in ("main", "tail")) + " W"
    for name, quantity in _NUMBERS_WORTH_KNOWING:
        if part.values.get(name):
            return write(part.number(name), quantity).replace("ohm", "Ω")
    if "capacity" in part.values:
        return f"{part.number('capacity') / 3600:g} Ah"
    return ""


def described(part: Part) -> str:
    """Return name, kind and place of a part in words, for those who hover or listen."""
    serves = str(part.values.get("serves", ""))
    what = f"{say(part.kind)}, {serves}" if serves else say(part.kind)
    rating = "" if part.kind in {"connector", "ground stud", "splice"} else _rating(part)
    return ", ".join(word for word in (f"{part.name} {what}", rating, part.at) if word)
