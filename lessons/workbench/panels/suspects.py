"""The suspects: likelihoods, what is struck, and the sections of the current's path they lie in."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from grader.suspects import Lineup, asked
from grader.suspectwords import suspect_words
from lessons.workbench.desk import CaseDesk
from lessons.workbench.words import in_shop_words, item_words, wire_ends
from sim.circuit import Circuit, Fault, Part
from sim.language import say

#: Terminals and ways that belong to a relay's contact or coil, as far as they are one of the two.
_COIL = ("85", "86", "coil open", "diode shorted")


def suspects_view(desk: CaseDesk) -> dict[str, Any]:
    """Return units with their suspects, and the sections."""
    attempt = desk.attempt
    chances = asked(attempt.lineup, attempt.progress.asked)
    struck, words = attempt.progress.struck, suspects_named(desk)
    left = sum(
        float(chance)
        for suspect, chance in zip(attempt.lineup.suspects, chances, strict=True)
        if suspect.name not in struck
    )
    units: dict[str, list[dict[str, Any]]] = {}
    for suspect, chance in zip(attempt.lineup.suspects, chances, strict=True):
        units.setdefault(suspect.unit.name, []).append(
            {
                "name": suspect.name,
                "words": words[suspect.name],
                "chance": round(float(chance) / left, 4)
                if left and suspect.name not in struck
                else 0,
                "before": round(float(chance), 4),
                "struck": suspect.name in struck,
            }
        )
    return {
        "units": [{"name": name, "suspects": held} for name, held in units.items()],
        "sections": sections(attempt.lineup),
        "closed": attempt.progress.closed,
        "reasons": reasons(desk, words),
    }


def suspects_named(desk: CaseDesk) -> dict[str, str]:
    """Return every suspect's name in the case -> as a student reads it."""
    return {
        suspect.name: in_shop_words(desk.circuit, suspect_words(suspect.name))
        for suspect in desk.attempt.lineup.suspects
    }


def reasons(desk: CaseDesk, words: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the strikes in order, with their reasons, last first."""
    return [
        {"suspects": [words[n] for n in e.data["suspects"]], "reason": e.data["reason"]}
        for e in reversed(desk.entries)
        if e.kind == "strike"
    ]


def sections(lineup: Lineup) -> list[dict[str, Any]]:
    """Return the tracks of the diagram that suspects lie on, stop by stop from supply to ground.

    Every stop holds the suspects whose last fault, going from supply to ground, lies there: what is
    "good up to here" holds nothing of what comes later.
    """
    found = []
    for track in lineup.case.circuit.diagram.values():
        stops = track_stops(lineup.case.circuit, track)
        held: list[list[str]] = [[] for _stop in stops]
        for suspect in lineup.suspects:
            numbers = [_stop_of(stops, fault) for fault in suspect.faults]
            known = [number for number in numbers if number is not None]
            if known and len(known) == len(numbers):
                held[max(known)].append(suspect.name)
        if any(held):
            marks = [
                {"label": item_words(s), "suspects": h} for s, h in zip(stops, held, strict=True)
            ]
            found.append(
                {
                    "name": say(
                        "{one} to {two}", one=item_words(track[0]), two=item_words(track[-1])
                    ),
                    "stops": marks,
                }
            )
    return found


def track_stops(circuit: Circuit, track: tuple[str, ...]) -> list[str]:
    """Return the parts and wires of a track in order, wires found between the parts."""
    stops: list[str] = []
    for one, two in pairwise(track):
        stops += [part.name for part in circuit.parts.values() if _joins(circuit, part, one, two)]
        stops.append(two)
    return [stop for stop in stops if stop not in circuit.rails]


def _joins(circuit: Circuit, wire: Part, one: str, two: str) -> bool:
    if wire.kind != "wire":
        return False
    first, last = wire_ends(circuit, wire)
    return any(
        _is_end(circuit, one, a) and _is_end(circuit, two, b)
        for a, b in ((first, last), (last, first))
    )


def _is_end(circuit: Circuit, item: str, point: str) -> bool:
    if item in circuit.rails:
        return circuit.point(item) == point
    name, _, what = item.partition(" ")
    part, _, pin = point.partition(".")
    if part != name:
        return False
    return not what or (pin in _COIL) == (what == "coil")


def _stop_of(stops: list[str], fault: Fault) -> int | None:
    for number, stop in enumerate(stops):
        if stop == fault.part:
            return number
        name, _, what = stop.partition(" ")
        if name == fault.part and what in ("coil", "contact"):
            in_coil = fault.way in _COIL or fault.pin in _COIL
            if in_coil == (what == "coil"):
                return number
    return None
