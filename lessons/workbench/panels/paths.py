"""The two paths of a score sheet: each own step with its reasons, and the best path as a tree.

Reasons are `grader.explain`'s: what a step could have shown, what it showed, what that ruled out
and by what way of current, and what the best choice would have saved (min, on average).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from grader.bandwords import band_words
from grader.besttree import outcome_words, step_words
from grader.explain import MOST_FITS, Could, Explained
from grader.judge import Judged
from grader.prepared import Prepared
from grader.record import Entry
from grader.suspectwords import suspect_words
from lessons.workbench.panels.evidence import outcome
from lessons.workbench.steps import is_line, step_numbers
from lessons.workbench.words import capital, in_shop_words, minutes_text, retold
from sim.language import say


def step_rows(
    prepared: Prepared,
    steps: Sequence[Judged],
    entries: Sequence[Entry],
    reasons: Sequence[Explained],
) -> list[dict[str, Any]]:
    """Return the own path, one row a judged step."""
    numbers, by_number = step_numbers(entries), {entry.number: entry for entry in entries}
    rows: list[dict[str, Any]] = []
    for step, reason in zip(steps, reasons, strict=True):
        if step.kind == "repaired" and not step.shown.strip():
            continue
        entry = by_number[step.numbers[-1]]
        rows.append(
            {
                "n": numbers[entry.number],
                "kind": step.kind,
                "title": capital(step.title),
                "shown": _shown(step, entry),
                "minutes": minutes_text(step.minutes),
                "regret": round(step.regret, 2),
                "charged": round(step.charged, 2),
                "free": say(step.free) if step.regret > 0 else "",
                "better": reason.better,
                "before": units_of(prepared, step.before),
                "after": units_of(prepared, step.after),
                "harm": [retold(harm) for harm in step.harm],
                "risk": reason.risk,
                **reasons_view(reason, entry),
            }
        )
    return rows


def _shown(step: Judged, entry: Entry) -> str:
    if step.kind == "call":
        return suspect_words(step.shown)
    return outcome(entry) if is_line(entry) else retold(step.shown.strip())


def units_of(prepared: Prepared, suspects: int) -> dict[str, Any]:
    """Return how many suspects, in which units."""
    held = [s for k, s in enumerate(prepared.lineup.suspects) if suspects >> k & 1]
    units = list(dict.fromkeys(suspect.unit.name for suspect in held))
    return {"suspects": len(held), "units": units}


def reasons_view(reason: Explained, entry: Entry) -> dict[str, Any]:
    """Return why a step told what it told; empty lists where it told nothing apart."""
    told = len(reason.could) > 1
    ohms = entry.kind == "act" and entry.data["do"].get("measure") == "ohms"
    return {
        "could": [_could(one, ohms=ohms) for one in reason.could] if told else [],
        "stood": reason.stood if told else "",
        "way": reason.way if told else "",
        "out": [one.text for one in reason.ruled_out],
        "fits": [one.text for one in reason.fits[:MOST_FITS]] if reason.ruled_out else [],
    }


def _could(could: Could, *, ohms: bool) -> dict[str, Any]:
    return {
        "shows": band_words(could.shows, ohms=ohms),
        "chance": round(could.chance, 3),
        "left": could.suspects,
        "units": list(could.units),
        "was": could.was,
    }


def tree_view(prepared: Prepared, tree: Mapping[str, Any], truth: str) -> dict[str, Any]:
    """Return a policy tree as it is drawn; `on` marks the branches that lead to the cause."""
    if "test" in tree:
        number = int(str(tree["test"]).partition(":")[0])
        choice = prepared.space.choices[number]
        step = in_shop_words(prepared.case.circuit, step_words(prepared, choice))
        branches = [
            [outcome_words(choice, label), tree_view(prepared, branch, truth)]
            for label, branch in tree["outcomes"].items()
        ]
        return {
            "test": capital(step),
            "order": step,
            "minutes": minutes_text(tree["minutes"]),
            "branches": branches,
            "on": any(branch["on"] for _label, branch in branches),
        }
    if "replace" in tree:
        right, wrong = (tree_view(prepared, tree[way], truth) for way in ("right", "wrong"))
        return {
            "repair": tree["replace"],
            **_deed(prepared, str(tree["replace"])),
            "wrong": wrong,
            "right": right["on"],
            "on": right["on"] or wrong["on"],
        }
    return {
        "unit": tree["unit"],
        **_deed(prepared, str(tree["unit"])),
        "on": truth in tree["suspects"],
    }


def _deed(prepared: Prepared, unit: str) -> dict[str, str]:
    """Return what a call of a unit asks for, within a line and as a title."""
    deed = prepared.case.deed(unit)
    return {"deed": deed, "title": capital(deed)}
