"""Record -> the same readings, or a named mismatch.

Tolerates one count in the last digit, which is what two platforms may differ by.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from grader.attempt import Vehicle, check_opening
from grader.draw import Draw
from grader.errors import AttemptError, GraderError
from grader.record import Entry
from grader.suspects import Lineup
from sim.errors import SimError


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A line that the simulator would not have written."""

    line: int
    text: str


@dataclass(frozen=True, slots=True)
class Replayed:
    """A record played again: its entries, the vehicle at the end, what did not fit."""

    entries: tuple[Entry, ...]
    vehicle: Vehicle
    mismatches: tuple[Mismatch, ...]


def replay(lineup: Lineup, drawn: Draw, student: str, entries: Sequence[Entry]) -> Replayed:
    """Play a record again on the student's vehicle.

    Raises
    ------
    AttemptError
        The record belongs to another case, version, student or draw.
    """
    check_opening(lineup, drawn, student, entries[0].data)
    vehicle, found = Vehicle(lineup, drawn), []
    for entry in entries[1:]:
        try:
            again = vehicle.repeat(entry)
        except (SimError, GraderError, KeyError, TypeError, ValueError) as error:
            found.append(Mismatch(entry.number, f"cannot be done: {error}"))
            continue
        if again is not None:
            found += [Mismatch(entry.number, text) for text in differences(entry.data, again)]
    return Replayed(tuple(entries), vehicle, tuple(found))


def differences(written: Mapping[str, Any], again: Mapping[str, Any]) -> list[str]:
    """Return what differs between a written line and the same line made now."""
    found = []
    for key in ("minutes", "clock", "harm", "shown"):
        old, new = written.get(key), again.get(key)
        if not _same(old, new):
            found.append(f"{key} is {old!r}, the simulator gives {new!r}")
    return found


def _same(old: object, new: object) -> bool:
    if old == new:
        return True
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return set(old) == set(new) and all(_same(old[key], new[key]) for key in old)
    if isinstance(old, str) and isinstance(new, str):
        return _within_a_count(old, new) or _same_figures(old.split(), new.split())
    return False


def _same_figures(old: list[str], new: list[str]) -> bool:
    """Tell whether two lists of counts, or numbers with a unit, are each within a count."""
    if len(old) != len(new) or not all(_is_number(word) for word in (*old[:-1], *new[:-1])):
        return False
    return all(a == b or _within_a_count(a, b) for a, b in zip(old, new, strict=True))


def _is_number(word: str) -> bool:
    try:
        return Decimal(word).is_finite()
    except InvalidOperation:
        return False


def _within_a_count(old: str, new: str) -> bool:
    try:
        first, second = Decimal(old), Decimal(new)
    except InvalidOperation:
        return False
    if not (first.is_finite() and second.is_finite()):
        return False
    # with other digits than the display has it would be another reading
    digits, exponent = first.as_tuple().exponent, second.as_tuple().exponent
    if digits != exponent or not isinstance(exponent, int):
        return False
    return abs(first - second) <= Decimal(1).scaleb(exponent)


__all__ = ["AttemptError", "Mismatch", "Replayed", "differences", "replay"]
