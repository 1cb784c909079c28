"""The evidence: what was done, under which conditions, what it showed, what it took, own notes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from grader.record import Entry
from grader.suspectwords import UNITS
from grader.wording import describe
from lessons.workbench.desk import Desk
from lessons.workbench.panels.meter import dial
from lessons.workbench.panels.scan import scan_view
from lessons.workbench.panels.screen import screen_of
from lessons.workbench.standing import standings
from lessons.workbench.steps import is_line, step_numbers
from lessons.workbench.words import (
    capital,
    figure_name,
    figures,
    in_shop_words,
    reading_words,
    retold,
)
from sim.action import action_from_json
from sim.circuit import Circuit
from sim.language import say

#: Unit on a display -> factor, and the unit without its prefix.
SCALED = {
    "mV": (1e-3, "V"),
    "mA": (1e-3, "A"),
    "kohm": (1e3, "ohm"),
    "Mohm": (1e6, "ohm"),
}
_NOTE = re.compile(r"(\d+): (.*)", re.DOTALL)


def evidence_view(desk: Desk) -> list[dict[str, Any]]:
    """Return the lines of the evidence, in order."""
    stood = standings(desk.first, desk.entries)
    notes, numbers = own_notes(desk.entries), step_numbers(desk.entries)
    expected = predictions(desk.entries)
    return [
        {
            "n": numbers[entry.number],
            "entry": entry.number,
            "what": what(entry, desk.circuit, stood[index].apart),
            "kind": "ask" if "ask" in entry.data.get("do", {}) else entry.kind,
            "conditions": stood[index].words(desk.circuit) if _has_conditions(entry) else "",
            "reading": outcome(entry),
            "number": number_of(entry),
            "expected": expected.get(entry.number, ""),
            "minutes": f"{float(entry.data['minutes']):.1f}",
            "harm": [retold(harm) for harm in entry.data.get("harm", [])],
            "note": notes.get(entry.number, ""),
        }
        for index, entry in enumerate(desk.entries)
        if is_line(entry)
    ]


def _has_conditions(entry: Entry) -> bool:
    return entry.kind == "act" and "ask" not in entry.data["do"]


def what(entry: Entry, circuit: Circuit, apart: Iterable[str] = ()) -> str:
    """Return what was done, in words; `apart` is what was apart then."""
    if entry.kind == "call":
        return say("Called {unit}: {option}", unit=entry.data["unit"], option=entry.data["option"])
    do = entry.data["do"]
    if "ask" in do:
        return say("Asked: {question}", question=do["ask"])
    return capital(in_shop_words(circuit, describe(action_from_json(do)), apart))


def outcome(entry: Entry) -> str:
    """Return what was shown, in words."""
    if entry.kind == "call":
        return say("done; now verify it")
    shown = entry.data.get("shown")
    if shown and "ask" in entry.data["do"]:
        return str(shown["words"])
    return reading_words(shown) if shown else ""


def number_of(entry: Entry) -> dict[str, Any] | None:
    """Return a reading as a number in V, A, ohm or whatever it is without prefix, if it is one."""
    shown = entry.data.get("shown", {})
    value, unit = str(shown.get("value", "OL")), str(shown.get("unit", ""))
    if value == "OL":
        return None
    factor, plain = SCALED.get(unit, (1.0, unit))
    return {"value": float(value) * factor, "unit": UNITS.get(plain, plain)}


def own_notes(entries: Sequence[Entry]) -> dict[int, str]:
    """Return the student's last note beside each line, by the line's entry number."""
    found = {}
    for entry in entries:
        match = _NOTE.fullmatch(str(entry.data["text"])) if entry.kind == "note" else None
        if match:
            found[int(match[1])] = match[2]
    return found


def predictions(entries: Sequence[Entry]) -> dict[int, str]:
    """Return what was expected of each line, by the line's entry number.

    A record has it in an entry of its own, right before the reading; a demonstration beside it.
    """
    found, said = {}, Entry(0, "note", {})
    for entry in entries:
        if entry.kind == "act":
            text = str(entry.data.get("expected", ""))
            if said.kind == "predict" and said.data["do"] == entry.data["do"]:
                text = str(said.data["expect"])
            if text:
                found[entry.number] = text
        said = entry
    return found


def latest(desk: Desk) -> dict[str, Any] | None:
    """Return the last thing that showed something, as the read-out shows it."""
    for entry in reversed(desk.entries):
        if entry.kind == "act" and "shown" in entry.data:
            return _readout(desk, entry)
    return None


def _readout(desk: Desk, entry: Entry) -> dict[str, Any]:
    shown, do = entry.data["shown"], entry.data["do"]
    stood = standings(desk.first, desk.entries)[desk.entries.index(entry)]
    unit = str(shown.get("unit", ""))
    scale = ""
    if "range" in shown:
        scale = say("range {range}", range=f"{shown['range']} {UNITS.get(unit, unit)}")
    value, kind = str(shown.get("value", "")), str(shown.get("range", ""))
    return {
        "n": step_numbers(desk.entries)[entry.number],
        "entry": entry.number,
        "what": what(entry, desk.circuit, stood.apart),
        "also": [[figure_name(name), text] for name, text in figures(shown)],
        "dial": dial(value, unit, kind) if value else None,
        "screen": screen_of(shown, do) if "scope" in do else None,
        "scan": scan_view(desk.circuit, shown, do) if "scan" in do else None,
        "value": str(shown.get("value", "")),
        "unit": UNITS.get(unit, unit),
        "range": scale,
        "words": str(shown.get("words", "")) if "ask" in do else retold(shown.get("words", "")),
        "steady": bool(shown.get("steady", True)),
        "conditions": "" if "ask" in do else stood.words(desk.circuit),
        "expected": predictions(desk.entries).get(entry.number, ""),
        "harm": [retold(harm) for harm in entry.data.get("harm", [])],
    }
