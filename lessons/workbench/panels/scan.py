"""The scan tool's screen from what stands in the record: a table by unit, and what can be chosen.

The record has one line of text, ``A1: item; item | A2: item``, as the instrument said it. Here it
is taken apart again: codes with title and status, lines of data with name and value, a graph with
its moments. What fits none of these stays a sentence.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from grader.record import Entry
from lessons.workbench.words import part_title
from sim.circuit import Circuit
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.unit import UnitState
from sim.diagnosis.vehicle import control_units, parts_with_unit
from sim.language import say
from sim.quantity import parse
from sim.retold import retold

_CODE = re.compile(r"([PBCU][0-9A-F]{4}(?:-[0-9A-F]{2})?) (.*): ([^:]*)")
_STATUS = re.compile(
    r"(warning lamp|confirmed codes|code that froze the frame|monitor .+?) ((?:not )?complete|\S+)"
)
_VALUE = re.compile(r"(-?\d+(?:\.\d+)?) ?(.*)")
DATA = ("live data", "maker data", "freeze frame")
GRAPH = "graph"


def scan_view(circuit: Circuit, shown: Mapping[str, Any], do: Mapping[str, Any]) -> dict[str, Any]:
    """Return a scan tool's screen as it is drawn."""
    known = {unit.name: names_of(unit) for unit in control_units(circuit)}
    titles = {part.name: part_title(circuit, part) for part in parts_with_unit(circuit)}
    units = []
    for name, items in taken_apart(str(shown.get("words", "")), known):
        screen = _screen(str(do["scan"]), items, known.get(name, ()), do)
        units.append({"unit": name, "title": titles.get(name, ""), **screen})
    return {"task": str(do["scan"]), "units": units}


def taken_apart(words: str, units: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield each unit with what it said; what no unit said comes without a name."""
    for part in words.split(" | "):
        name, colon, said = part.partition(": ")
        if colon and name in units:
            yield name, said
        else:
            yield "", part


def names_of(unit: UnitState) -> tuple[str, ...]:
    """Return the names that lines of a unit's data can begin with, the longest first."""
    names = {one.name for one in unit.readable} | {one.name for one in PARAMETERS.values()}
    return tuple(sorted(names, key=lambda name: (-len(name), name)))


def _screen(
    task: str, said: str, names: Sequence[str], do: Mapping[str, Any]
) -> dict[str, list[Any] | dict[str, Any] | None]:
    screen: dict[str, Any] = {"codes": [], "lines": [], "says": [], "graph": None}
    if task == GRAPH:
        screen["graph"] = graph(said.split(", "), do)
    for item in [] if screen["graph"] else said.split("; "):
        code = _CODE.fullmatch(item)
        line = _line(item, names) if task in DATA else None
        if task == "codes" and code:
            screen["codes"].append([code[1], retold(code[2]), retold(code[3])])
        elif line:
            screen["lines"].append(line)
        else:
            screen["says"].append(retold(item))
    return screen


def _line(item: str, names: Sequence[str]) -> list[str] | None:
    """Return a line of data as name and value, None for a sentence."""
    name = next((one for one in names if item.startswith(f"{one} ")), "")
    if name:
        return [say(name), retold(item.removeprefix(f"{name} "))]
    status = _STATUS.fullmatch(item)
    return [retold(status[1]), retold(status[2])] if status else None


def graph(said: Sequence[str], do: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return the moments of a graph: s from its beginning, and the value; None if none has one.

    The last moment is its end; a moment at which the unit said no number is left open.
    """
    seconds = parse(str(do["over"]), "time")
    found = [_VALUE.fullmatch(one) for one in said]
    units = [match[2] for match in found if match]
    if not units:
        return None
    points = [
        [round(seconds * (k + 1) / len(said), 2), float(match[1]) if match else None]
        for k, match in enumerate(found)
    ]
    return {"name": say(str(do["what"])), "unit": units[0], "seconds": seconds, "points": points}


def items_of(circuit: Circuit, task: str, name: str) -> list[str]:
    """Return what a task can be about on a unit, by its papers: outputs, routines, data."""
    unit = next((one for one in control_units(circuit) if one.name == name), None)
    if unit is None:
        return []
    if task == "routine":
        return [one.name for one in unit.routines]
    if task in ("hold", "release"):
        return [one.name for one in unit.outputs]
    measured = [PARAMETERS[number].name for number in unit.values if number in PARAMETERS]
    return list(dict.fromkeys([*measured, *(one.name for one in unit.readable)]))


def held_words(entries: Sequence[Entry]) -> list[str]:
    """Return what the tool holds, as far as it has been told to and has not let go."""
    held: dict[tuple[str, str], str] = {}
    for entry in entries:
        do = entry.data.get("do", {}) if entry.kind == "act" else {}
        if do.get("scan") not in ("hold", "release"):
            continue
        key = (str(do["unit"]), str(do["what"]))
        _before, held_at, value = str(entry.data["shown"].get("words", "")).partition(" held at ")
        if do["scan"] == "hold" and held_at:
            held[key] = value
        elif do["scan"] == "release":
            held.pop(key, None)
    return [
        say("The tool holds {what} of {unit} at {value}.", what=what, unit=unit, value=at)
        for (unit, what), at in held.items()
    ]
