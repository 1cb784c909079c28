"""What a case promises of its vehicles, tried on them before a student does.

- every item of `verify` has to hold on a sound vehicle, wherever the values lie that differ between
  students, or nobody can ever verify a repair
- `confirm` has to be seen on every faulty one, or the complaint is not there when it is looked for;
  a cause that is no failed part may well not show it
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from grader.case import Check
from grader.casefile import CHECKED, reading_of
from grader.prepared import Prepared
from grader.reasonwords import listed
from grader.suspects import handed_over, play, shows_complaint
from grader.verification import item_words
from sim.errors import ActionError
from sim.instruments.verb import Outcome
from sim.quantity import usual
from sim.situation import Memory, Situation

MOST_NAMED = 5  # suspects in one line


@dataclass(frozen=True, slots=True)
class Broken:
    """A promise that does not hold: where in the case file it stands, and what is seen instead."""

    where: tuple[str | int, ...]
    text: str
    warning: bool = False


def broken_promises(prepared: Prepared) -> list[Broken]:
    """Return what a case promises and its vehicles do not keep, in the order of the file."""
    return [*_unconfirmed(prepared), *_unmet(prepared)]


def _unconfirmed(prepared: Prepared) -> Iterator[Broken]:
    lineup = prepared.lineup
    seen = shows_complaint(lineup.case, lineup.fleet, (lineup.case.confirm,))
    by_suspect = seen.reshape(len(lineup.suspects), lineup.corners)
    unseen = [s.name for s, row in zip(lineup.suspects, by_suspect, strict=True) if not row.all()]
    faulty = {suspect.name for suspect in lineup.suspects if suspect.faults}
    named = [name for name in unseen if name in faulty]
    if named:
        text = f"confirm: not seen on {listed(named, 'and', most=MOST_NAMED)}; let it ask for what "
        yield Broken(("confirm",), f"{text}`shows` asks for", warning=True)


def _unmet(prepared: Prepared) -> Iterator[Broken]:
    """Find checks that fail both one after the other and each by itself from hand-over."""
    fresh = handed_over(prepared.case, prepared.healthy)
    situation, memory = fresh
    for number, check in enumerate(prepared.case.verify):
        try:
            situation, memory, wrong = _tried(prepared, check, situation, memory)
            if wrong:
                wrong = _tried(prepared, check, *fresh)[-1]
        except ActionError as error:
            wrong = str(error)
        if wrong:
            text = f"verify: {item_words(check)}: {wrong}; nobody could verify a repair"
            yield Broken(("verify", number), text)


def _tried(
    prepared: Prepared, check: Check, situation: Situation, memory: Memory
) -> tuple[Situation, Memory, str]:
    """Return how the bench stands after a check, and what a sound vehicle shows if not that."""
    doing = (*check.doing, check.action)
    situation, memory, seen = play(prepared.healthy, situation, memory, doing)
    shown = [_shown(check, seen[-1].outcome, k) for k in range(len(prepared.healthy.circuits))]
    wrong = next((words for words, meets in shown if not meets), "")
    if wrong:
        asked = check.expect
        if check.between is not None:
            asked = " to ".join(_written(check, value) for value in check.between)
        wrong = f"a sound vehicle shows {wrong}, not {asked}"
    return situation, memory, wrong


def _shown(check: Check, outcome: Outcome, lane: int) -> tuple[str, bool]:
    """Return what one vehicle shows, and whether that meets the check."""
    if check.between is None:
        words = outcome.words[lane] if outcome.words is not None else ""
        return repr(words), words == check.expect
    low, high = check.between
    value = float(outcome.numbers[lane]) if outcome.numbers is not None else float("nan")
    return _written(check, value), low <= value <= high


def _written(check: Check, value: float) -> str:
    """Write what a check reads, with its unit."""
    if not math.isfinite(value):
        return "OL"
    return usual(float(f"{value:.3g}"), CHECKED[reading_of(check.action)])
