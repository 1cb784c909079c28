"""What a case promises of its vehicles, tried on them before a student does.

- every item of `verify` has to hold on a sound vehicle, wherever the values lie that differ between
  students, or nobody can ever verify a repair
- `confirm` has to be seen on every faulty one, or the complaint is not there when it is looked for;
  a cause that is no failed part may well not show it
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from grader.case import Check
from grader.casefile import CHECKED, reading_of
from grader.prepared import Prepared
from grader.reasonwords import listed
from grader.suspects import handed_over, play, shows_complaint
from grader.verification import item_words
from sim.checks.finding import Finding
from sim.errors import ActionError
from sim.instruments.verb import Outcome
from sim.quantity import usual
from sim.situation import Memory, Situation

MOST_NAMED = 5  # suspects in one line

Stood = tuple[Situation, Memory]  # how the bench stands


def broken_promises(prepared: Prepared) -> list[Finding]:
    """Return what a case promises and its vehicles do not keep, in the order of the file."""
    return [*_unconfirmed(prepared), *_unmet(prepared)]


def _unconfirmed(prepared: Prepared) -> Iterator[Finding]:
    lineup = prepared.lineup
    seen = shows_complaint(lineup.case, lineup.fleet, (lineup.case.confirm,))
    pairs = zip(lineup.suspects, seen.reshape(-1, lineup.corners), strict=True)
    unseen = [suspect.name for suspect, shown in pairs if suspect.faults and not shown.all()]
    if unseen:
        text = (
            f"confirm: not seen on {listed(unseen, 'and', most=MOST_NAMED)}; let it ask for what "
        )
        yield Finding(("confirm",), f"{text}`shows` asks for", warning=True)


def _unmet(prepared: Prepared) -> Iterator[Finding]:
    """Find checks that fail both one after the other and each by itself from hand-over."""
    fresh = now = handed_over(prepared.case, prepared.healthy)
    for number, check in enumerate(prepared.case.verify):
        now, wrong = _tried(prepared, check, now)
        if wrong:
            wrong = _tried(prepared, check, fresh)[1]
        if wrong:
            text = f"verify: {item_words(check)}: {wrong}; nobody could verify a repair"
            yield Finding(("verify", number), text)


def _tried(prepared: Prepared, check: Check, now: Stood) -> tuple[Stood, str]:
    """Return how the bench stands after a check, and why it does not hold; empty where it does.

    A check that cannot be done leaves the bench as it stood.
    """
    try:
        situation, memory, seen = play(prepared.healthy, *now, (*check.doing, check.action))
    except ActionError as error:
        return now, str(error)
    shown = [_shown(check, seen[-1].outcome, k) for k in range(len(prepared.healthy.circuits))]
    wrong = next((words for words, meets in shown if not meets), "")
    if wrong:
        asked = check.expect
        if check.between is not None:
            asked = " to ".join(_written(check, value) for value in check.between)
        wrong = f"a sound vehicle shows {wrong}, not {asked}"
    return (situation, memory), wrong


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
