"""Reasons for a judged path: what each step could have shown, what it ruled out and why.

Every reason comes from solving the step's action on the sound vehicle and on every suspect
(`grader.because`); none is written into a case. So a reading nobody has thought of is explained
like any other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from grader.bandwords import band_words
from grader.choices import choice_words
from grader.judge import Judged
from grader.policy import TIE_MINUTES, Policy
from grader.prepared import Prepared
from grader.reasons import Reading, Reason, moments
from grader.reasonwords import listed, percent_words
from grader.record import Entry
from grader.seen import Moment
from grader.verification import action_of
from sim.action import Action
from sim.errors import ActionError
from sim.language import say
from sim.situation import Situation

#: Minutes of regret from which a better choice is worth a word.
WORTH_SAYING = TIE_MINUTES
#: Reasons of what is still possible that are shown, the likeliest first.
MOST_FITS = 2


@dataclass(frozen=True, slots=True)
class Could:
    """Something a step could have shown: its chance, and the units it would have left."""

    shows: str
    chance: float
    suspects: int
    units: tuple[str, ...]
    was: bool


@dataclass(frozen=True, slots=True)
class Explained:
    """One step of a path with its reasons.

    Attributes
    ----------
    numbers : tuple of int
        Entries of the record, as in `Judged`.
    stood : str
        How the vehicle stood, where that was not as handed over: what was unplugged and the like.
    way : str
        By what way the current comes to what was looked at, on a sound vehicle.
    could : tuple of Could
    ruled_out, fits : tuple of Reason
        Suspects that would have shown something else, and those that would have shown this.
    better : str
        What the best choice would have been, what it could have shown; empty where this was it.
    saved : float
        Minutes that it would have saved on average.
    risk : str
        What harm the step could be expected to do, whether it did or not; empty for none.
    """

    numbers: tuple[int, ...]
    stood: str
    way: str
    could: tuple[Could, ...]
    ruled_out: tuple[Reason, ...]
    fits: tuple[Reason, ...]
    better: str
    saved: float
    risk: str = ""

    def lines(self) -> list[str]:
        """Return the reasons as short paragraphs."""
        found = [self.stood, self.way] if self.ruled_out else []
        found += [f"Ruled out: {reason.text}" for reason in self.ruled_out]
        if self.ruled_out:
            found += [f"Fits: {reason.text}" for reason in self.fits[:MOST_FITS]]
        return [line for line in (*found, self.risk, self.better) if line]

    def to_json(self) -> dict[str, Any]:
        """Return the reasons as plain data."""
        return {
            "entries": list(self.numbers),
            "stood": self.stood,
            "way": self.way,
            "could": [
                {
                    "shows": could.shows,
                    "chance": round(could.chance, 3),
                    "suspects": could.suspects,
                    "units": list(could.units),
                    "was": could.was,
                }
                for could in self.could
            ],
            "ruled_out": [_reason_json(reason) for reason in self.ruled_out],
            "fits": [_reason_json(reason) for reason in self.fits],
            "better": self.better,
            "saved": round(self.saved, 2),
            "risk": self.risk,
        }


def _reason_json(reason: Reason) -> dict[str, Any]:
    return {"suspects": list(reason.suspects), "shows": reason.shows, "text": reason.text}


@dataclass(slots=True)
class Explainer:
    """Finds the reasons of a path; keeps what it has worked out of the case."""

    prepared: Prepared
    asked: list[str] = field(default_factory=list)

    def explain(self, entries: Sequence[Entry], steps: Sequence[Judged]) -> list[Explained]:
        """Return the reasons of every judged step, in order.

        Parameters
        ----------
        entries : sequence of Entry
            The whole record.
        steps : sequence of Judged
            As `Judge.walk` made them of it.
        """
        at = {entry.number: (entry, moment) for entry, moment in moments(self.prepared, entries)}
        questions = {entry.number: _question(entry) for entry in entries}
        found, before = [], self.prepared.observed.start
        for step in steps:
            self.asked += [questions[n] for n in step.numbers if questions[n]]
            first = next((at[n][1] for n in step.numbers if n in at), before)
            entry, moment = at.get(step.numbers[-1], (None, first))
            action = action_of(entry) if entry else None
            found.append(self.step(step, first, moment, action))
            before = moment
        return found

    def step(self, step: Judged, first: Moment, moment: Moment, action: Action | None) -> Explained:
        """Return the reasons of one step; `first` is the bench before its handling."""
        better = self.better(step, first.situation) if step.kind in ("test", "call") else ""
        saved = step.charged if better else 0.0
        risk = risk_words(step.danger)
        nothing = Explained(step.numbers, "", "", (), (), (), better, saved, risk)
        if step.kind != "test" or action is None or not step.groups:
            return nothing
        try:
            reading = Reading(self.prepared, moment, action)
        except ActionError:
            return nothing
        out, left = step.before & ~step.after, step.after
        return Explained(
            numbers=step.numbers,
            stood=standing_words(moment.situation),
            way=reading.way_words(),
            could=self.could(step),
            ruled_out=reading.reasons(out),
            fits=reading.reasons(left),
            better=better,
            saved=saved,
            risk=risk,
        )

    def could(self, step: Judged) -> tuple[Could, ...]:
        """Return what a step could have shown, the likeliest first."""
        found = [
            self._could(label, group, step.before, was=group == step.after)
            for label, group in step.groups.items()
        ]
        return tuple(sorted(found, key=lambda could: (-could.chance, could.shows)))

    def _could(self, label: str, group: int, whole: int, *, was: bool) -> Could:
        chance = self.weight(group) / self.weight(whole)
        return Could(label, chance, group.bit_count(), self.units(group), was)

    def weight(self, suspects: int) -> float:
        """Return the probability of a set of suspects, as asked so far."""
        chances = self.prepared.likelihoods(self.asked)
        return float(sum(p for k, p in enumerate(chances) if suspects >> k & 1))

    def units(self, suspects: int) -> tuple[str, ...]:
        """Return the units that a set of suspects lies in."""
        held = enumerate(self.prepared.lineup.suspects)
        return tuple(dict.fromkeys(s.unit.name for k, s in held if suspects >> k & 1))

    def better(self, step: Judged, situation: Situation) -> str:
        """Return what would have been better than a step, and why; empty where nothing was."""
        if step.charged < WORTH_SAYING:
            return ""
        policy = self.prepared.policy(self.asked)
        opened, here = place_bits(policy, situation)
        choice = policy.best(step.before, opened, here)
        saved = say("It would have saved {minutes} min on average.", minutes=f"{step.charged:.1f}")
        if choice.kind != "test" or choice.index is None:
            unit = choice.name or self.units(step.before)[0]
            chance = self.weight(step.before & self.unit_bits(unit)) / self.weight(step.before)
            better = say(
                "Better: {deed}; the evidence gives it {share}.",
                deed=self.prepared.case.deed(unit),
                share=percent_words(chance),
            )
            return f"{better} {saved}"
        names = choice_words(self.prepared.space.choices[choice.index].name)
        minutes = policy.price_of_test(step.before, choice.index, opened, here)
        told = listed(self.outcomes_words(policy, step.before, choice.index), "and")
        better = say(
            "Better: {step}, {minutes} min. It can show {outcomes}.",
            step=names,
            minutes=f"{minutes:.1f}",
            outcomes=told,
        )
        return f"{better} {saved}"

    def outcomes_words(self, policy: Policy, suspects: int, index: int) -> list[str]:
        """Return what a test can show of these suspects, how likely, and what it would leave."""
        labels = policy.problem.tests[index].outcomes
        ohms = self.prepared.space.choices[index].action.target == "ohms"
        groups: dict[str, int] = {}
        for k, label in enumerate(labels):
            if suspects >> k & 1:
                groups[label] = groups.get(label, 0) | 1 << k
        return [
            say(
                "“{label}” ({share}: {units})",
                label=band_words(label, ohms=ohms),
                share=percent_words(self.weight(group) / self.weight(suspects)),
                units=listed(self.units(group), "or", most=4),
            )
            for label, group in groups.items()
        ]

    def unit_bits(self, unit: str) -> int:
        """Return the suspects of a unit, as bits."""
        held = enumerate(self.prepared.lineup.suspects)
        return sum(1 << k for k, suspect in held if suspect.unit.name == unit)


def risk_words(minutes: float) -> str:
    """Tell what harm a step could be expected to do, in minutes; empty for none."""
    if minutes == 0.0:
        return ""
    return say(
        "This can break something: {minutes} min of repair on average, "
        "counted whether it broke this time or not.",
        minutes=f"{minutes:.1f}",
    )


def _question(entry: Entry) -> str:
    return str(entry.data["do"]["ask"]) if entry.kind == "act" and "ask" in entry.data["do"] else ""


def place_bits(policy: Policy, situation: Situation) -> tuple[int, int]:
    """Return the places reached, and where the hands are, as bits of a policy's places."""
    names = [place.name for place in policy.problem.places]
    opened = sum(1 << names.index(place) for place in situation.reached)
    return opened, sum(1 << names.index(place) for place in situation.here)


def standing_words(situation: Situation) -> str:
    """Return what was apart, exchanged or bridged when a reading was taken; empty if nothing."""
    said = [say("{part} apart", part=name) for name in situation.apart]
    said += [say("{one} and {two} exchanged", one=one, two=two) for one, two in situation.swapped]
    if situation.bridge:
        one, two = situation.bridge
        said.append(say("a jumper from {one} to {two}", one=one, two=two))
    said += [say("a known-good {part} in place", part=name) for name in situation.tried]
    return say("As the vehicle stood: {how}.", how=listed(said, "and")) if said else ""


def explain(
    prepared: Prepared, entries: Sequence[Entry], steps: Sequence[Judged]
) -> list[Explained]:
    """Return the reasons of every judged step of a record, in order."""
    return Explainer(prepared).explain(entries, steps)


__all__ = ["Could", "Explained", "Explainer", "Reason", "explain"]
