"""`halfsplit parts`: the kinds of parts, one kind's keys and faults, or the parts of a circuit."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Iterator, Sequence

from lessons.catalogue import circuit_path, shipped_circuits
from sim.circuit import Circuit, Part
from sim.circuitfile import read_circuit
from sim.circuitparts import MADE_ELSEWHERE, kinds
from sim.errors import CircuitFileError
from sim.faults import possible_faults, write_faults
from sim.kindsheet import KindSheet, kind_sheet
from sim.mistakes import perhaps
from sim.parts import FAMILIES
from sim.parts.family import Way
from sim.quantity import usual

LINE = 100  # columns of the page
NARROW, WIDE, WIDER, WIDEST = 22, 24, 38, 44  # columns of a name, a list, a fault, a long fault
MOST = 3  # entries of an example that a line has room for


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "parts", help="list the kinds of parts for circuit files, or a circuit's parts and faults"
    )
    parser.add_argument(
        "what",
        metavar="KIND|CIRCUIT",
        nargs="*",
        help="a kind, such as relay; a shipped circuit's id or a circuit file (default: all kinds)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what was asked for."""
    what = " ".join(arguments.what)  # a kind may be two words
    if not what:
        lines = overview()
    elif what in kinds():
        lines = of_kind(kind_sheet(what))
    else:
        lines = of_circuit(_circuit(what))
    print("\n".join(lines))
    return 0


def _circuit(what: str) -> Circuit:
    try:
        path = circuit_path(what)
    except CircuitFileError as error:
        if what.endswith(".yaml"):
            raise
        text = f"{what!r} is neither a kind of part nor a circuit"
        if what in MADE_ELSEWHERE:
            text = f"a {what} is made by {MADE_ELSEWHERE[what]} of a circuit file"
        near = perhaps(what, (*kinds(), *shipped_circuits()))
        raise CircuitFileError(
            f"{text}; halfsplit parts lists the kinds, halfsplit parts CIRCUIT all faults{near}"
        ) from error
    return read_circuit(path)


def overview() -> Iterator[str]:
    """Give a line for each kind: its terminals, and what has to be written of it."""
    yield f"{'kind':{NARROW}}{'terminals':{WIDE}}to be written"
    for kind in kinds():
        sheet = kind_sheet(kind)
        needed = ", ".join(f"{key}: {text}" for key, text in sheet.example[:MOST])
        more = ", ..." if len(sheet.example) > MOST else ""
        pins = " ".join(sheet.terminals[0][1])
        yield f"{kind:{NARROW}}{pins:{WIDE}}{needed}{more}".rstrip()
    yield ""
    yield "halfsplit parts KIND says which keys a kind has, and how it fails."


def of_kind(sheet: KindSheet) -> Iterator[str]:
    """Give all that an author has to know of a kind."""
    yield sheet.kind
    yield from textwrap.wrap(sheet.about, LINE, initial_indent="  ", subsequent_indent="  ")
    example = ", ".join([f"kind: {sheet.kind}", *map(_entry, sheet.example), "at: PLACE"])
    yield ""
    yield from textwrap.wrap(
        f"P1: {{{example}}}", LINE, initial_indent="  ", subsequent_indent="       "
    )
    yield "\nterminals"
    for when, pins in sheet.terminals:
        yield f"  {' '.join(pins)}{f'   with {when}' if when else ''}"
    if sheet.setting:
        yield f"\nPositions of a control that sets it carry a {sheet.setting} in their words."
    yield (
        "\nkeys (beside kind, at and felt at)"
        if sheet.keys
        else "\nno keys beside kind, at, felt at"
    )
    for key in sheet.keys:
        default = "to be written" if key.default is None else f"if not given: {key.default}"
        yield from _hanging(key.name, f"{key.takes}; {default}")
    yield "\nfails by"
    yield from _ways([way for way in sheet.ways if way.likelihood])
    if rare := [way for way in sheet.ways if not way.likelihood]:
        yield "\nand only where a circuit file gives it a likelihood, by"
        yield from _ways(rare)


def _entry(pair: tuple[str, str]) -> str:
    key, text = pair
    return f'{key}: "{text}"' if "," in text else f"{key}: {text}"


def _hanging(name: str, text: str, wide: int = NARROW) -> list[str]:
    """Return a name and its text beside it, wrapped; a long name has a line of its own."""
    if len(name) > wide:
        return [f"  {name}", *([" " * (wide + 4) + text] if text else [])]
    first, others = f"  {name:{wide}}  ", " " * (wide + 4)
    lines = textwrap.wrap(text, LINE, initial_indent=first, subsequent_indent=others)
    return lines or [first.rstrip()]


def _ways(ways: Sequence[Way]) -> Iterator[str]:
    """Give a line for each way of failing; terminals that fail alike share one."""
    alike: dict[tuple[str, str], list[str]] = {}
    for way in ways:
        alike.setdefault((way.name, _way_words(way)), []).append(way.pin or "")
    for (name, words), pins in alike.items():
        points = ", ".join(f"P1.{pin}" if pin else "P1" for pin in pins)
        yield from _hanging(f"{points}={name}", words, WIDER)


def _way_words(way: Way) -> str:
    worst = ", ".join(usual(severity, way.quantity) for severity in way.severities)
    share = f"likelihood {way.likelihood:.2g}" if way.likelihood else ""
    seen = f"shows {way.seen}" if way.seen else ""
    return "; ".join(text for text in (worst, share, seen) if text)


def of_circuit(circuit: Circuit) -> Iterator[str]:
    """Give each part and wire with its terminals and every fault, by the name that cases use."""
    faults: dict[str, list[str]] = {}
    for one, likelihood in possible_faults(circuit):
        line = f"  {write_faults(circuit, one):{WIDEST}}  {likelihood:.3g}".rstrip()
        faults.setdefault(one[0].part, []).append(line)
    yield f"{circuit.title}: parts, terminals, faults and their likelihoods"
    for part in circuit.parts.values():
        yield f"\n{_part_words(part)}"
        yield from faults.get(part.name, ["  no fault"])


def _part_words(part: Part) -> str:
    pins = " ".join(FAMILIES[part.kind].pins(part))
    where = f", {part.at}" if part.at else ""
    named = part.name if part.kind == "wire" else f"{part.name}, {part.kind}"
    return f"{named}{where}, terminals {pins}"
