"""One action on every suspect, and the reason why each shows what it shows.

The action is solved on the sound vehicle and on every suspect (`grader.because`); suspects that
show the same for the same reason fall together into one sentence (`grader.reasonwords`). Numbers in
the sentences are those of the first corner of what varies between students.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from grader.bands import scale_for
from grader.bandwords import band_words
from grader.because import Because, Reasoner, solved
from grader.currentpath import Lane, Way, body_position
from grader.prepared import Prepared
from grader.reasonwords import bare_name, range_words, sentence, suspects_words, way_words
from grader.record import Entry
from grader.seen import Moment
from grader.told import Told
from grader.verification import action_of
from sim.action import Action
from sim.instruments.registry import VERBS
from sim.instruments.verb import Outcome, Shown
from sim.language import say


@dataclass(frozen=True, slots=True)
class Reason:
    """Why these suspects would have shown what they would."""

    suspects: tuple[str, ...]
    shows: str
    text: str


def moments(prepared: Prepared, entries: Sequence[Entry]) -> Iterator[tuple[Entry, Moment]]:
    """Yield every entry that did something at the bench, with the moment before it."""
    now = prepared.observed.start
    for entry in entries:
        action = action_of(entry)
        if action is None:
            continue
        yield entry, now
        now = prepared.observed.seen(now, action).after()


class Reading:
    """One action solved on the sound vehicle and on every suspect, ready to be explained."""

    def __init__(self, prepared: Prepared, moment: Moment, action: Action) -> None:
        self.lineup, self.action = prepared.lineup, action
        seen = prepared.observed
        network, circuit = seen.fleet.solver.network, self.lineup.case.circuit
        solution, both = solved(seen.fleet, moment.situation, moment.memory, action)
        shown, well = both.only(seen.suspects), both.only(seen.healthy)
        self.numbers, self.words, self.well = shown.numbers, shown.words, well.words
        told = Told.by(
            action, moment.situation, _outcome(shown), _outcome(well), self.lineup.corners
        )
        self.healthy, self.split = told.healthy, told.split
        self.reasoner = Reasoner(circuit, action, Lane.of(network, solution, seen.healthy.start))
        self.lanes = [
            Lane.of(network, solution, k * self.lineup.corners)
            for k in range(len(self.lineup.suspects))
        ]
        self.unit = getattr(VERBS[action.verb].scale(action), "unit", "")

    def at(self) -> str:
        """Return the point or thing looked at, in words."""
        if self.reasoner.probe.points:
            return self.reasoner.hot_point()
        if self.action.verb == "listen":
            return say("the coil of {relay}", relay=self.action.target)
        if self.action.verb == "watch":
            return self.lineup.case.circuit.effects[self.action.target].part
        return self.action.target

    def way_words(self) -> str:
        """Return by what way the current comes on a sound vehicle; empty where none does."""
        way: Way = self.reasoner.way
        if not self.reasoner.is_fed(way):
            return ""
        if self.reasoner.probe.own_source:
            return say(
                "The meter sends its own current by way of {way}.", way=way_words(way.owners())
            )
        if self.reasoner.probe.element is not None:
            end = body_position(way, 0)
            names = way_words(way.owners(0, end))
            return say(
                "On a sound vehicle the current comes from the battery by way of {way}.", way=names
            )
        at = way.position(self.reasoner.hot_point()) or 0
        there, on = way.owners(0, at), way.owners(at, body_position(way, at))
        values = {"point": self.reasoner.hot_point(), "way": way_words(there)}
        if on:
            return say(
                "On a sound vehicle current gets to {point} by way of {way}, and goes on by way "
                "of {on}.",
                on=way_words(on),
                **values,
            )
        return say("On a sound vehicle current gets to {point} by way of {way}.", **values)

    def reasons(self, suspects: int) -> tuple[Reason, ...]:
        """Return why these suspects would show what they would, those of one reason together."""
        groups: dict[tuple[str, Because], list[int]] = {}
        labels = self.split.labels() if self.split else ()
        for k in range(len(self.lineup.suspects)):
            if suspects >> k & 1 and labels:
                because = self.reasoner.why(self.lanes[k])
                key = (labels[k], _bare(because))
                groups.setdefault(key, []).append(k)
        chance = self.lineup.likelihoods
        ranked = sorted(groups.items(), key=lambda item: -sum(chance[k] for k in item[1]))
        return tuple(self._reason(*key, members) for key, members in ranked)

    def _reason(self, label: str, because: Because, members: Sequence[int]) -> Reason:
        names = tuple(self.lineup.suspects[k].name for k in members)
        full = [self.reasoner.why(self.lanes[k]) for k in members]
        amps = max(one.amps for one in full)
        kind = "slight" if self._unseen(because, members) else because.kind
        told = Because(kind, because.via, because.flows, amps, full[0].way)
        sound, element = 0.0, self.reasoner.probe.element
        if element is not None:
            sound = abs(float(self.reasoner.sound.current[element]))
        would, own = self._would(label, members), self.reasoner.probe.own_source
        current = element is not None
        whose = suspects_words(names, self._graded(members, label))
        text = sentence(told, whose, would, self.at(), sound, own=own, current=current)
        return Reason(names, label, text)

    def _unseen(self, because: Because, members: Sequence[int]) -> bool:
        """Tell whether voltage is lost before a point and what shows it in words tells nothing."""
        if because.kind != "before" or not because.flows or self.words is None or not self.well:
            return False
        return all(self.words[k * self.lineup.corners] == self.well[0] for k in members)

    def _graded(self, members: Sequence[int], label: str) -> frozenset[str]:
        """Return the names of those that would show something else if they were worse or better."""
        labels = self.split.labels() if self.split else ()
        others = zip(self.lineup.suspects, labels, strict=True)
        otherwise = {bare_name(one.name) for one, shows in others if shows != label}
        names = (self.lineup.suspects[k].name for k in members)
        return frozenset(name for name in names if bare_name(name) in otherwise)

    def _would(self, label: str, members: Sequence[int]) -> str:
        words = band_words(label, ohms=self.action.target == "ohms")
        if self.numbers is None or scale_for(self.action, self.healthy) is None:
            return say("“{label}”", label=words)
        corners = self.lineup.corners
        span = range_words([abs(float(self.numbers[k * corners])) for k in members], self.unit)
        return f"{words} ({span})" if span else words


def _bare(because: Because) -> Because:
    """Return a reason without its numbers, so that those of one kind fall together."""
    return Because(because.kind, because.via, because.flows)


def _outcome(shown: Shown) -> Outcome:
    count = len(shown.words) if shown.words is not None else 0
    count = len(shown.numbers) if shown.numbers is not None else count
    floating = np.zeros(count, dtype=bool) if shown.floating is None else shown.floating
    none = np.array([], dtype=np.int64)
    return Outcome(shown.numbers, floating, shown.words, ((),) * count, none, shown.also)
