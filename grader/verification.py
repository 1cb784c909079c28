"""Was the repair checked? The case's list, taken from the record after the repair."""

from __future__ import annotations

from collections.abc import Sequence

from grader.bands import UNITS
from grader.casefile import Check
from grader.prepared import Prepared
from grader.record import Entry
from grader.suspects import play
from grader.wording import describe
from sim.action import Action, action_from_json
from sim.circuit import Circuit
from sim.language import say
from sim.situation import Situation


def action_of(entry: Entry) -> Action | None:
    """Return what an entry did at the bench, None if it did nothing there."""
    if entry.kind != "act" or "ask" in entry.data["do"]:
        return None
    return action_from_json(entry.data["do"])


def situations_of(prepared: Prepared, entries: Sequence[Entry]) -> list[Situation]:
    """Return how the bench stood before every entry, and at the end."""
    situation, fleet = prepared.start, prepared.healthy
    memory, found = prepared.healthy_memory(), [prepared.start]
    for entry in entries:
        action = action_of(entry)
        if action is not None:
            situation, memory, _seen = play(fleet, situation, memory, (action,))
        found.append(situation)
    return found


def unverified(
    prepared: Prepared, entries: Sequence[Entry], situations: Sequence[Situation], repair: int
) -> list[str]:
    """Return, in words, what of the verification was not done, or did not hold.

    Parameters
    ----------
    entries, situations
        The whole record, and `situations_of` it.
    repair : int
        Number of the entry that made the right repair.
    """
    circuit = prepared.case.circuit
    after = [
        (entry, situation)
        for entry, situation in zip(entries, situations, strict=False)
        if entry.number > repair
    ]
    missed = [
        item_words(check)
        for check in prepared.case.verify
        if not any(_meets(circuit, check, entry, situation) for entry, situation in after)
    ]
    last = situations[-1]
    if last.apart or last.bridge or last.swapped:
        missed.append(say("something was left unplugged, exchanged or bridged"))
    return missed


def item_words(check: Check) -> str:
    """Return an item of the verification in words."""
    settings = ", ".join(f"{c} {p}" for a in check.doing for c, p in a.settings)
    return f"{describe(check.action)} ({settings})"


def _meets(circuit: Circuit, check: Check, entry: Entry, situation: Situation) -> bool:
    if action_of(entry) != check.action or "shown" not in entry.data:
        return False
    wanted = {setting for action in check.doing for setting in action.settings}
    if any(situation.position(circuit, control) != position for control, position in wanted):
        return False
    shown = entry.data["shown"]
    if check.between is None:
        return bool(shown.get("words") == check.expect)
    low, high = check.between
    value = shown.get("value", "OL")
    return value != "OL" and low <= float(value) * UNITS[shown["unit"]] <= high
