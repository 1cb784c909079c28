"""Hints, graded from a nudge to the answer, worked out from the record alone.

1. a nudge: how much is still possible, and what kind of step would pay
2. what is still possible, unit by unit
3. what the best next step would tell apart, and by what way of current
4. the best next step itself, or the repair

All four are about what the evidence so far leaves, in the eyes of the ideal observer; none is
about the hidden cause. After something new has been done the next hint is a nudge again. What a
hint costs stands in the case (`hints`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

from grader.choices import choice_words
from grader.errors import AttemptError
from grader.explain import Explainer, place_bits
from grader.judge import Judge
from grader.outcomes import confirmed
from grader.policy import Choice
from grader.prepared import Prepared
from grader.reasons import Reading
from grader.reasonwords import listed, percent_words
from grader.record import Entry
from grader.seen import Moment
from grader.suspects import play
from sim.language import msg, say, say_many

LEVELS = ("nudge", "still possible", "what would split it", "answer")
#: Kinds of entries after which things stand differently, and the next hint is a nudge again.
FRESH = ("act", "call", "open")
SENSES = ("look", "listen", "feel", "watch", "smell", "touch")
#: By senses or not, somewhere else or not.
PAYS = {
    (True, True): msg("Something pays now that your senses can do somewhere else."),
    (True, False): msg("Something pays now that your senses can do without going anywhere."),
    (False, True): msg("Something pays now that an instrument can do somewhere else."),
    (False, False): msg("Something pays now that an instrument can do without going anywhere."),
}
MENDED = msg("The fault is mended. Show that the complaint is gone, and close the work order.")


@dataclass(frozen=True, slots=True)
class Hint:
    """A hint: its level, 1 to 4, and its words."""

    level: int
    text: str


def next_level(entries: Sequence[Entry]) -> int:
    """Return the level of the next hint: one more than those since something was done, up to 4."""
    count = 0
    for entry in entries:
        count = 0 if entry.kind in FRESH else count + (entry.kind == "hint")
    return min(count + 1, len(LEVELS))


def next_hint(prepared: Prepared, truth: str, entries: Sequence[Entry]) -> Hint:
    """Return the next hint of an attempt.

    Parameters
    ----------
    prepared : Prepared
    truth : str
        Name of the cause; used only to tell which calls have mended the vehicle, which whoever
        asks has seen.
    entries : sequence of Entry
        The record so far, the opening line included.

    Raises
    ------
    AttemptError
        The case gives no hints.
    """
    if prepared.case.hint_points is None:
        raise AttemptError("this case gives no hints; look at the suspects that are left")
    judge, level = Judge(prepared, truth), next_level(entries)
    judge.walk(entries)
    if judge.mended:
        return Hint(level, say(MENDED))
    standing = Standing(prepared, judge)
    words = (standing.nudge, standing.possible, standing.split, standing.answer)[level - 1]
    return Hint(level, words())


class Standing:
    """Where an attempt stands: what is possible, and the best next step."""

    def __init__(self, prepared: Prepared, judge: Judge) -> None:
        self.prepared, self.judge = prepared, judge
        self.explainer = Explainer(prepared, list(judge.asked))
        self.policy = judge.policy
        self.places = place_bits(judge.policy, judge.situation)
        self.choice: Choice = self.policy.best(judge.possible, *self.places)

    def nudge(self) -> str:
        """Say how much is left, and what kind of step would pay."""
        units = self.explainer.units(self.judge.possible)
        count = self.judge.possible.bit_count()
        left = say_many(
            "{n} suspect left, in {units} repair units.",
            "{n} suspects left, in {units} repair units.",
            count,
            units=len(units),
        )
        if len(units) == 1:
            left = say("All that is left lies in one repair unit.")
        if self.choice.kind != "test" or self.choice.index is None:
            return left + " " + say("Another test would cost more than it can save.")
        test = self.prepared.space.choices[self.choice.index]
        away = [place for place in test.places if place not in self.judge.situation.here]
        return f"{left} {say(PAYS[test.action.verb in SENSES, bool(away)])}"

    def possible(self) -> str:
        """Say which units are still possible, the likeliest first."""
        whole, possible = self.explainer.weight(self.judge.possible), self.judge.possible
        shares = [
            (self.explainer.weight(possible & self.explainer.unit_bits(unit)) / whole, unit)
            for unit in self.explainer.units(possible)
        ]
        named = [
            f"{unit} {percent_words(share)}" for share, unit in sorted(shares, key=_first_likeliest)
        ]
        return say("Still possible: {units}.", units=listed(named, "and", most=30))

    def split(self) -> str:
        """Say what the best next step would tell apart, and by what way of current."""
        if self.choice.kind != "test" or self.choice.index is None:
            unit = self._unit()
            share = self.explainer.weight(self.judge.possible & self.explainer.unit_bits(unit))
            chance = share / self.explainer.weight(self.judge.possible)
            return say(
                "Nothing need be told apart any more: one unit has {share}.",
                share=percent_words(chance),
            )
        labels = self.policy.problem.tests[self.choice.index].outcomes
        groups: dict[str, int] = {}
        for k, label in enumerate(labels):
            if self.judge.possible >> k & 1:
                groups[label] = groups.get(label, 0) | 1 << k
        parts = [listed(self.explainer.units(group), "or", most=4) for group in groups.values()]
        apart = reduce(
            lambda one, two: say("{one} from {two}", one=one, two=two),
            [f"[{part}]" for part in parts],
        )
        told = say("Look for what tells {apart}.", apart=apart)
        return f"{told} {self._way()}".rstrip()

    def answer(self) -> str:
        """Say the best next step, or the repair."""
        if self.choice.kind != "test" or self.choice.index is None:
            unit = self._unit()
            if self.prepared.case.unit(unit).is_word:
                return say("Tell the customer: {unit}.", unit=unit)
            return say("Repair {unit}.", unit=unit)
        index = self.choice.index
        told = self.explainer.outcomes_words(self.policy, self.judge.possible, index)
        name = choice_words(self.prepared.space.choices[index].name)
        return say(
            "The best next step: {step}. It can show {outcomes}.",
            step=name,
            outcomes=listed(told, "and"),
        )

    def _unit(self) -> str:
        return self.choice.name or self.explainer.units(self.judge.possible)[0]

    def _way(self) -> str:
        """Return the way of the current that the best next step looks at; empty if none."""
        choice = self.prepared.space.choices[self.choice.index or 0]
        fleet = self.prepared.observed.fleet
        begun = confirmed(self.prepared.lineup, fleet)
        situation, memory, _seen = play(fleet, *begun, choice.prepare)
        return Reading(self.prepared, Moment(situation, memory), choice.action).way_words()


def _first_likeliest(item: tuple[float, str]) -> tuple[float, str]:
    return -item[0], item[1]
