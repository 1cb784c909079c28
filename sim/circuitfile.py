"""Circuit file -> Circuit. Every mistake is one line: file:line, what is wrong, what is right.

The format is described in DEVELOPERS.md, "How to add a circuit"; it is YAML in which every value is
text until the parameter that holds it says which quantity it is. All mistakes of a file are found
in one reading (`read_through`); what the circuit says as a whole is looked at in
`sim.circuitchecks`.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from sim.circuit import Circuit
from sim.circuitentries import FORMAT, VERSION, CircuitEntry
from sim.circuitmodules import read_modules
from sim.circuitnotices import read_effects, read_notes
from sim.circuitpad import Pad
from sim.circuitparts import read_controls, read_parts, read_places, with_settings
from sim.circuitwires import read_rails, read_wires, with_looms
from sim.errors import CircuitFileError
from sim.mistakes import Mistake, in_order
from sim.shapes import shape_mistakes
from sim.yamltext import Document, TextError, read_document

LONGEST = 10  # digits of a version, from which it is no number any more
#: Without one of these nothing can be said of the others.
FOUNDATIONS = frozenset({"places", "parts", "rails", "controls", "wires"})


@dataclass(frozen=True, slots=True)
class Reading:
    """What a circuit file says, as far as it can be read.

    Attributes
    ----------
    circuit : Circuit or None
        Without the entries that are broken; None where nothing can be made of the file.
    mistakes : tuple of Mistake
        In the order of the file.
    broken : frozenset of str
        Parts and wires (`wire 8`) that could not be read, or of which something is a guess.
    """

    document: Document
    circuit: Circuit | None
    mistakes: tuple[Mistake, ...]
    broken: frozenset[str] = frozenset()


def check_header(document: Document, form: str, version: int) -> None:
    """Refuse a file of another format or version, for the first of its mistakes.

    Raises
    ------
    TextError
        One line with file and line.
    """
    wrong = _wrong_header(document, form, version)
    if wrong:
        raise TextError(str(next(iter(document.mistakes), wrong)))


def _wrong_header(document: Document, form: str, version: int) -> str:
    got = document.data.get("format")
    if got != form:
        return f"{document.at('format')}: format must be {form!r}, got {got!r}"
    written, at = str(document.data.get("version", "")), document.at("version")
    if not (written.isascii() and written.isdigit() and len(written) < LONGEST):
        return f"{at}: version must be a whole number, got {written!r}"
    if int(written) == version:
        return ""
    word = "new: update halfsplit" if int(written) > version else "old: see README, Changes"
    return f"{at}: {form} version {written} is too {word} (reads {version})"


def read_circuit(path: Path) -> Circuit:
    """Read a circuit file.

    Raises
    ------
    CircuitFileError
        One line that names file and line, what is wrong and what would be right: the first
        mistake of the file, and how many more there are.
    """
    reading = read_through(path)
    if reading.mistakes or reading.circuit is None:
        first = next(iter((*reading.document.mistakes, *reading.mistakes)))
        more = len(reading.mistakes) - 1
        rest = f" (and {more} more: see halfsplit check)" if more else ""
        raise CircuitFileError(f"{first}{rest}")
    return reading.circuit


def read_through(path: Path) -> Reading:
    """Read a circuit file to its end, whatever is wrong in it.

    Raises
    ------
    CircuitFileError
        The file cannot be read at all, is not YAML, or is of another format or version.
    """
    try:
        document = read_document(path, tolerant=True)
        check_header(document, FORMAT, VERSION)
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
    except TextError as error:
        raise CircuitFileError(str(error)) from error
    entry, wrong, lost = shape_mistakes(document, CircuitEntry)
    mistakes = [*document.mistakes, *wrong]
    if entry is None or lost & FOUNDATIONS:
        return Reading(document, None, in_order(mistakes))
    pad = Pad(document, entry, mistakes)
    pad.broken |= set(pad.written("parts")) - set(entry.parts)
    pad.broken |= {f"wire {n}" for n in set(pad.written("wires")) - set(entry.wires)}
    circuit = replace(_circuit(pad), sha256=digest)
    return Reading(document, circuit, in_order(pad.mistakes), frozenset(pad.broken))


def _circuit(pad: Pad) -> Circuit:
    """Return the circuit of a file, without what is broken in it."""
    entry = pad.entry
    places = read_places(pad)
    parts = read_parts(pad)
    rails, links = read_rails(pad, parts)
    controls = read_controls(pad, parts)
    parts = with_settings(pad, parts, controls)
    wires = with_looms(pad, read_wires(pad, parts))
    circuit = Circuit(
        name=entry.id,
        title=entry.title,
        vehicle=entry.vehicle,
        places=places,
        parts={**parts, **links, **wires},
        rails=rails,
        controls=controls,
        effects=read_effects(pad, parts),
        diagram={name: tuple(items) for name, items in entry.diagram.items()},
        modules=read_modules(pad, parts),
    )
    return replace(circuit, notes=read_notes(pad, circuit))
