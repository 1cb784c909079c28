"""After the call: the list that shows whether the complaint is gone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from grader.casefile import Check
from grader.record import Entry
from lessons.workbench.desk import CaseDesk
from lessons.workbench.standing import Standing, standings
from sim.action import action_from_json
from sim.language import say, say_in


def check_list(desk: CaseDesk) -> list[dict[str, Any]]:
    """Return the checks with how they stand since the last call; none before the first one.

    `state` is open, holds or fails, from what was shown to the student and nothing else.
    """
    calls = [k for k, entry in enumerate(desk.entries) if entry.kind == "call"]
    if not calls:
        return []
    stood = standings(desk.first, desk.entries)
    since = list(zip(desk.entries, stood, strict=True))[calls[-1] + 1 :]
    return [
        {
            "do": check_words(check),
            "conditions": condition_words(check),
            "expect": expect_words(check),
            "state": check_state(check, since),
        }
        for check in desk.attempt.case.verify
    ]


def check_words(check: Check) -> str:
    """Return what is to be done, such as ``watch: rear window clears``."""
    return say("{verb}: {what}", verb=say_in("verb", check.action.verb), what=check.action.target)


def condition_words(check: Check) -> str:
    """Return the conditions of a check in one line."""
    said = [f"{name} {position}" for a in check.doing for name, position in a.settings]
    said += [
        say("after {minutes} min", minutes=f"{a.seconds / 60:g}") for a in check.doing if a.seconds
    ]
    return ", ".join(said)


def expect_words(check: Check) -> str:
    """Return what has to show."""
    if check.between is None:
        return say(check.expect)
    low, high = check.between
    return say("{low} to {high} A", low=f"{low:g}", high=f"{high:g}")


def check_state(check: Check, since: list[tuple[Entry, Standing]]) -> str:
    """Return whether the last time it was done under its conditions it held."""
    wanted = {setting for action in check.doing for setting in action.settings}
    for entry, standing in reversed(since):
        if entry.kind != "act" or "ask" in entry.data["do"] or "shown" not in entry.data:
            continue
        same = action_from_json(entry.data["do"]) == check.action
        if same and wanted <= set(standing.controls.items()):
            if _held(check, entry.data["shown"]):
                return "holds"
            return "fails" if _waited(check, entry, standing) else "open"
    return "open"


def _waited(check: Check, entry: Entry, standing: Standing) -> bool:
    """Tell whether the vehicle had been given the time that the check asks for."""
    wanted = sum(action.seconds for action in check.doing) / 60
    return float(entry.data["clock"]) - standing.since >= wanted


def _held(check: Check, shown: Mapping[str, Any]) -> bool:
    if check.between is None:
        return bool(shown.get("words") == check.expect)
    low, high = check.between
    value = str(shown.get("value", "OL"))
    return value != "OL" and low <= float(value) <= high
