"""The best path as a tree that a technician can read aloud.

The complaint's conditions stand once at the top and are left out below; outcomes that lead to the
same repair are told together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from grader.bandwords import band_words
from grader.choices import Choice, choice_words
from grader.game import complaint_confirmed, live_settings
from grader.policy import TIE_MINUTES
from grader.prepared import Prepared
from grader.reasonwords import listed
from sim.action import Action
from sim.language import msg, say


def best_tree(prepared: Prepared) -> dict[str, object]:
    """Return the best path from the confirmed complaint on, as it is shown to people.

    Of readings within a tie the one with the least handling is shown (see `Policy.tree`).
    """
    policy, start = prepared.policy(), complaint_confirmed(prepared)
    names = [place.name for place in policy.problem.places]
    opened, here = (
        sum(1 << names.index(place) for place in places) for places in (start.reached, start.here)
    )
    return policy.tree(policy.everything, opened, here, slack=TIE_MINUTES)


def condition_words(prepared: Prepared) -> str:
    """Return the conditions that hold unless a line says otherwise."""
    (action,) = live_settings(prepared.case)
    return ", ".join(f"{control} {position}" for control, position in action.settings)


def step_words(prepared: Prepared, choice: Choice) -> str:
    """Return a plain reading as an order to a colleague."""
    name = choice_words(choice.name.partition(" (")[0])
    said = []
    live = {setting for action in live_settings(prepared.case) for setting in action.settings}
    for action in choice.prepare:
        said += _prepare_words(action, live, dict(prepared.case.start))
    if choice.action.verb == "listen":
        settings = [
            say("{control} goes {position}", control=c, position=p)
            for c, p in choice.action.settings
        ]
        said = [say("while {settings}", settings=listed(settings, "and"))]
    return f"{name}, {', '.join(said)}" if said else name


def _prepare_words(
    action: Action, live: set[tuple[str, str]], start: Mapping[str, str]
) -> list[str]:
    """Return what is done first, where it is not what the complaint asks for."""
    if action.verb == "set":
        stands, usual = {**start, **dict(action.settings)}, {**start, **dict(live)}
        if stands == start != usual:
            return [say("everything off")]
        other = [setting for setting in stands.items() if setting[1] != usual.get(setting[0])]
        return [f"{control} {position}" for control, position in other]
    if action.verb == "wait":
        return [say("after {minutes} min", minutes=f"{action.seconds / 60:g}")]
    if action.verb == "swap":
        return [say("{one} and {two} exchanged", one=action.red, two=action.black)]
    done = {"pull": msg("{part} pulled"), "unplug": msg("{part} unplugged")}
    if action.verb in done:
        return [say(done[action.verb], part=action.target)]
    return [f"{action.target} {action.verb}"]


def outcome_words(choice: Choice, label: str) -> str:
    """Return what a reading shows in a mechanic's words."""
    return band_words(label, ohms=choice.action.target == "ohms")


def tree_lines(prepared: Prepared, tree: Mapping[str, Any]) -> Iterator[str]:
    """Yield the lines of a policy tree."""
    yield f"({condition_words(prepared)}, unless a line says otherwise)"
    yield from _lines(prepared, tree, "  ", "")


def _lines(prepared: Prepared, tree: Mapping[str, Any], indent: str, label: str) -> Iterator[str]:
    lead = f"{indent}{label}: " if label else indent
    if "test" in tree:
        number = int(str(tree["test"]).partition(":")[0])
        choice = prepared.space.choices[number]
        yield f"{lead}{step_words(prepared, choice)} [{tree['minutes']:.1f} min]"
        for words, branch in _branches(choice, tree["outcomes"]):
            yield from _lines(prepared, branch, indent + "   ", words)
    elif "replace" in tree:
        yield f"{lead}{prepared.case.deed(str(tree['replace']))}"
        yield from _lines(prepared, tree["wrong"], indent + "   ", "complaint still there")
    else:
        unit = prepared.case.unit(str(tree["unit"]))
        yield f"{lead}-> {prepared.case.deed(unit.name) if unit.is_word else unit.name}"


def _branches(choice: Choice, outcomes: Mapping[str, Any]) -> list[tuple[str, Mapping[str, Any]]]:
    """Return outcomes in words with what follows; those that end in the same repair together."""
    ends: dict[str, list[str]] = {}
    found: dict[str, Mapping[str, Any]] = {}
    for label, branch in outcomes.items():
        words = outcome_words(choice, label)
        key = str(branch.get("unit", "")) or f"{words} goes on"
        ends.setdefault(key, []).append(words)
        found.setdefault(key, branch)
    return [(listed(words, "or"), found[key]) for key, words in ends.items()]


__all__ = [
    "best_tree",
    "condition_words",
    "outcome_words",
    "step_words",
    "tree_lines",
]
