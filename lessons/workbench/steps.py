"""Steps of the evidence: which lines of a record they are, their numbers, reasons with them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from grader.errors import AttemptError
from grader.record import Entry
from sim.language import say


def is_line(entry: Entry) -> bool:
    """Tell whether a line of the record is a line of the evidence; a control set is a condition."""
    return entry.kind == "call" or (entry.kind == "act" and "set" not in _verbs(entry))


def _verbs(entry: Entry) -> set[str]:
    do = entry.data["do"]
    return set(do) - ({"set"} if "listen" in do else set())


def step_numbers(entries: Sequence[Entry]) -> dict[int, int]:
    """Return entry number -> number in the evidence; what is no line goes with the next one."""
    found, now = {}, 1
    for entry in entries:
        found[entry.number] = now
        now += is_line(entry)
    return found


def check_reason(reason: str, entries: Sequence[Entry]) -> None:
    """Refuse a reason that names a step which the evidence does not have.

    Raises
    ------
    AttemptError
        One line with the steps there are.
    """
    last = sum(is_line(entry) for entry in entries)
    named = re.findall(rf"\b(?:step|{re.escape(say('step'))})\s+(\d+)\b", reason, re.IGNORECASE)
    for number in named:
        if not 1 <= int(number) <= last:
            raise AttemptError(_no_such_step(number, last))


def _no_such_step(number: str, last: int) -> str:
    if not last:
        return say("Because: there is no step {number}; nothing has been done yet", number=number)
    return say(
        "Because: there is no step {number}; the evidence has steps 1 to {last}",
        number=number,
        last=last,
    )
