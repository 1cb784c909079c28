"""The five lines of a score sheet, each with points, step and reason.

- efficiency: weight x the share of `grader.efficiency`; nothing without the right repair
- right call with proof: proven by a posterior of 0.95 or by a call without regret; a right call
  without proof keeps half, each wrong call before it takes 0.4 of the line; another cause named
  within the right unit costs nothing and is told
- reasoning: strikes that the evidence supports; each one too early takes 0.2; keeping is never
  marked; a hint takes the points that the case says
- safe work: each thing broken takes half, each caution gone against a quarter
- checked: 0.4 for the complaint confirmed before the first call, the rest for the verification

A line is marked once the fault has been found: a record without the right repair gets nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from grader.efficiency import share_kept
from grader.judge import PROVEN, Judge, Judged
from grader.reasonwords import percent_words
from grader.record import Entry
from grader.suspectwords import suspect_words
from grader.verification import action_of, situations_of, unverified
from sim.cautions import cautions
from sim.language import msg, say, say_many
from sim.retold import retold
from sim.situation import Situation

EARLY_STRIKE, HARM, BREACH = 0.2, 0.5, 0.25  # of the line, each
UNPROVEN, WRONG_CALL = 0.5, 0.4
CONFIRMED = 0.4
NOT_FOUND = msg("Marked once the cause has been found.")
ROUNDING = 1e-9  # min


@dataclass(frozen=True, slots=True)
class Mark:
    """One line of the sheet: points reached, of how many, at which entry, why."""

    line: str
    points: float
    of: float
    step: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class Path:
    """A judged record, as the lines look at it.

    Attributes
    ----------
    judge : Judge
        After its walk.
    entries : sequence of Entry
    steps : sequence of Judged
    situations : list of Situation
        The bench before every entry, and at the end.
    right : Judged or None
        The call that repaired the right unit.
    """

    judge: Judge
    entries: Sequence[Entry]
    steps: Sequence[Judged]
    situations: list[Situation]
    right: Judged | None

    @classmethod
    def walk(cls, judge: Judge, entries: Sequence[Entry]) -> Path:
        """Judge a record."""
        steps = judge.walk(entries)
        right = next((s for s in steps if s.kind == "call" and s.right), None)
        return cls(judge, entries, steps, situations_of(judge.prepared, entries), right)


def efficiency_mark(path: Path, weight: float, value: float, charged: float) -> Mark:
    """Mark how much of the work was given away by choice."""
    line = msg("efficiency")
    if path.right is None:
        reason = say("The cause was not found, so no path to it can be marked.")
        return Mark(line, 0.0, weight, None, reason)
    points = weight * share_kept(value, charged)
    if charged == 0:
        reason = say("No more was given away than a good technician gives away.")
        return Mark(line, points, weight, None, reason)
    worst = max(path.steps, key=lambda step: step.charged)
    reason = say(
        "{charged} min given away by choice, most of it at “{step}” ({minutes} min). The best "
        "choice there was: {best}.",
        charged=f"{charged:.1f}",
        step=worst.title,
        minutes=f"{worst.charged:.1f}",
        best=worst.best,
    )
    return Mark(line, points, weight, worst.numbers[-1], reason)


def call_mark(path: Path, weight: float) -> Mark:
    """Mark the call and its proof."""
    line, judge, right = msg("right call, proven"), path.judge, path.right
    wrong = [s for s in path.steps if s.kind == "call" and s is not right]
    named = ", ".join(s.title for s in wrong)
    if right is None:
        step = wrong[-1].numbers[-1] if wrong else None
        reason = say("The right call was not made.")
        if named:
            reason = say("The right call was not made ({calls}).", calls=named)
        return Mark(line, 0.0, weight, step, reason)
    mask = judge.unit_mask(judge.truth.unit.name)
    chance = judge.weight(right.before & mask) / judge.weight(right.before)
    proven = chance >= PROVEN or right.regret <= ROUNDING
    share = max(0.0, (1.0 if proven else UNPROVEN) - WRONG_CALL * len(wrong))
    reason = (
        say("The evidence left nothing better to do.")
        if proven
        else say(
            "Right, but the evidence gave it only {share} when it was called.",
            share=percent_words(chance),
        )
    )
    if right.shown != judge.truth.name:
        reason += " " + say(
            "You named {named}; it was {cause}. It is the same unit, so no points are lost.",
            named=suspect_words(right.shown),
            cause=suspect_words(judge.truth.name),
        )
    if wrong:
        reason += " " + say("In vain before it: {calls}.", calls=named)
    return Mark(line, weight * share, weight, right.numbers[-1], reason)


def reasoning_mark(path: Path, weight: float) -> Mark:
    """Mark the strikes made before the right call."""
    line, right = msg("reasoning"), path.right
    if right is None:
        return Mark(line, 0.0, weight, None, say(NOT_FOUND))
    strikes = [e for e in path.entries if e.kind == "strike" and e.number < right.numbers[-1]]
    early = [
        (entry.number, name)
        for entry in strikes
        for name in entry.data["suspects"]
        if name in path.judge.names(_possible_at(path, entry.number))
    ]
    price, helped = _hints(path)
    points = max(0.0, weight * (1 - EARLY_STRIKE * len(early)) - price)
    if early:
        number, name = early[0][0], suspect_words(early[0][1])
        reason = say("{suspect} was struck before the evidence ruled it out.", suspect=name)
        if len(early) > 1:
            reason = say(
                "{suspect} was struck before the evidence ruled it out, and {n} more.",
                suspect=name,
                n=len(early) - 1,
            )
        return Mark(line, points, weight, number, reason + helped)
    count = sum(len(entry.data["suspects"]) for entry in strikes)
    reason = say("Nothing was struck too early.")
    if count:
        reason = say("The evidence rules out everything you struck ({n}).", n=count)
    return Mark(line, points, weight, None, reason + helped)


def _hints(path: Path) -> tuple[float, str]:
    """Return the points that the hints taken cost, and words for them."""
    count = sum(entry.kind == "hint" for entry in path.entries)
    price = count * (path.judge.lineup.case.hint_points or 0.0)
    if not price:
        return 0.0, ""
    told = say_many(
        "{n} hint taken: {price} points.",
        "{n} hints taken: {price} points.",
        count,
        price=f"{price:g}",
    )
    return price, f" {told}"


def _possible_at(path: Path, number: int) -> int:
    """Return the suspects still possible when an entry was written, as bits."""
    possible = path.judge.policy.everything
    for step in path.steps:
        if step.numbers[-1] < number:
            possible = step.after
    return possible


def safety_mark(path: Path, weight: float) -> Mark:
    """Mark what was broken and which cautions were gone against."""
    line = msg("safe work")
    if path.right is None:
        return Mark(line, 0.0, weight, None, say(NOT_FOUND))
    lost: list[tuple[int, str, float]] = []
    for entry, situation in zip(path.entries, path.situations, strict=False):
        action = action_of(entry)
        if action is None:
            continue
        lost += [(entry.number, retold(text), HARM) for text in entry.data["harm"]]
        circuit = path.judge.lineup.case.circuit
        breaches = [c for c in cautions(circuit, situation, action) if c.breached]
        lost += [(entry.number, say(caution.text), BREACH) for caution in breaches]
    if not lost:
        return Mark(line, weight, weight, None, say("Nothing broken, no caution gone against."))
    share = max(0.0, 1 - sum(part for _number, _text, part in lost))
    reason = "; ".join(dict.fromkeys(text for _number, text, _part in lost))
    return Mark(line, weight * share, weight, lost[0][0], reason)


def checked_mark(path: Path, weight: float) -> Mark:
    """Mark whether the complaint was confirmed and the repair verified."""
    line, right = msg("complaint and repair checked"), path.right
    if right is None:
        return Mark(line, 0.0, weight, None, say(NOT_FOUND))
    judge = path.judge
    wanted = {effect for effect, _answer in judge.lineup.case.confirm.sees}
    missing = sorted(wanted - judge.allowance.confirmed)
    share, reason = CONFIRMED, say("Complaint confirmed.")
    if missing:
        share = 0.0
        reason = say(
            "Complaint not confirmed before the first call: {effects}.", effects=", ".join(missing)
        )
    missed = unverified(judge.prepared, path.entries, path.situations, right.numbers[-1])
    items = len(judge.lineup.case.verify) or 1
    share += (1 - CONFIRMED) * max(0.0, 1 - len(missed) / items)
    checked = say("Repair verified.")
    if missed:
        checked = say("Not verified: {checks}.", checks="; ".join(missed))
    reason += f" {checked}"
    return Mark(line, weight * share, weight, right.numbers[-1], reason)
