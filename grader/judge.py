"""What each step of a path was worth: regret in minutes against the best choice at that moment.

Handling (set, wait, unplug) belongs to the next thing that shows something, so that one composite
action and its small ones score alike. For every such group

    Q = minutes + sum over what it could have shown of P V(after),   regret = max(0, Q - V(before))

with V from `grader.policy` over the plain readings. Handling that is still to be undone counts
into V on both sides. The first way to a place counts only as far as the cause lies elsewhere:
where the repair has to go there anyway, every path pays for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from grader.bands import Split
from grader.choices import choice_words
from grader.damage import expected_minutes
from grader.fairness import REPAIRED, Allowance
from grader.policy import TIE_MINUTES, Bounds, Policy
from grader.prepared import Prepared
from grader.record import Entry
from grader.told import Told
from grader.wording import describe
from sim.access import HANDLING
from sim.action import Action, Reading, action_from_json
from sim.language import say
from sim.parts import FAMILIES
from sim.situation import Situation

PROVEN = 0.95


@dataclass(frozen=True, slots=True)
class Judged:
    """A group of entries that ends with one that showed something, or with a call.

    Attributes
    ----------
    numbers : tuple of int
        Entries of the record.
    kind : str
        test, handling, ask, call or repaired.
    title, shown : str
        What was done and what it showed, in words.
    minutes : float
        Labour of the group.
    quality, value : Bounds
        Q of the group and V before it, in minutes.
    regret : float
        Q - V, never below 0; a free group's regret is kept here and named in `free`.
    free : str
        Why the regret is not charged; empty if it is.
    before, after : int
        Suspects possible before and after, as bits.
    groups : dict of str to int
        What it could have shown -> the suspects that would have been left.
    best : str
        The best choice before it, in words.
    harm : tuple of str
        What it damaged.
    danger : float
        Minutes of harm that it could be expected to do, part of Q whether it did or not.
    unit : str
        For a call: the unit called; empty otherwise.
    right : bool
        For a call: whether that unit held the cause.
    """

    numbers: tuple[int, ...]
    kind: str
    title: str
    shown: str
    minutes: float
    quality: Bounds
    value: Bounds
    regret: float
    free: str
    before: int
    after: int
    groups: dict[str, int]
    best: str
    harm: tuple[str, ...] = ()
    danger: float = 0.0
    unit: str = ""
    right: bool = False

    @property
    def charged(self) -> float:
        """Regret that counts, before the path's tolerance."""
        return 0.0 if self.free else self.regret

    @property
    def better(self) -> str:
        """The best choice where a step gave away as much as is told, empty where it did not."""
        return self.best if self.charged >= TIE_MINUTES else ""


def undoing_minutes(prepared: Prepared, situation: Situation) -> float:
    """Return the handling still needed to put back what is unplugged, pulled, swapped, bridged."""
    parts = prepared.case.circuit.parts
    total = HANDLING["swap"] * len(situation.swapped) + HANDLING["untry"] * len(situation.tried)
    for name in situation.apart:
        total += HANDLING["insert" if FAMILIES[parts[name].kind].removable else "plug"]
    return total + (HANDLING["unbridge"] if situation.bridge else 0.0)


class Judge:
    """Walks through a record and judges every group of steps.

    Parameters
    ----------
    prepared : Prepared
    truth : str
        Name of the suspect that is the cause; used only to tell whether a call was right.
    """

    def __init__(self, prepared: Prepared, truth: str) -> None:
        self.prepared, self.lineup = prepared, prepared.lineup
        self.truth = self.lineup.suspects[self.lineup.index(truth)]
        self.asked: list[str] = []
        self.policy: Policy = prepared.policy()
        self.now = prepared.observed.start
        self.situation = self.now.situation
        self.possible = self.policy.everything
        self.allowance = Allowance(prepared.case)
        self.mended = False
        self.judged: list[Judged] = []
        self.numbers: list[int] = []
        self.actions: list[Action] = []
        self.minutes = 0.0
        self.harm: list[str] = []
        self.danger = 0.0
        self.before = self.situation

    # -- the value of a belief on a bench

    def value(self, suspects: int, situation: Situation) -> Bounds:
        """Return V in minutes of a belief on the bench as it stands, undoing included."""
        names = [place.name for place in self.policy.problem.places]
        opened = sum(1 << names.index(place) for place in situation.reached)
        here = sum(1 << names.index(place) for place in situation.here)
        bounds = self.policy.value(suspects, opened, here)
        undo = undoing_minutes(self.prepared, situation)
        return Bounds(bounds.lower + undo, bounds.upper + undo)

    def weight(self, suspects: int) -> float:
        """Return the probability of a set of suspects."""
        chances = self.prepared.likelihoods(self.asked).tolist()
        return float(sum(p for k, p in enumerate(chances) if suspects >> k & 1))

    def names(self, suspects: int) -> list[str]:
        """Return the names of a set of suspects."""
        return [s.name for k, s in enumerate(self.lineup.suspects) if suspects >> k & 1]

    def units(self, suspects: int) -> list[str]:
        """Return the units that a set of suspects lies in, without repeats."""
        held = (s.unit.name for k, s in enumerate(self.lineup.suspects) if suspects >> k & 1)
        return list(dict.fromkeys(held))

    def unit_mask(self, unit: str) -> int:
        """Return the suspects of a unit, as bits."""
        suspects = self.lineup.suspects
        return sum(1 << k for k, suspect in enumerate(suspects) if suspect.unit.name == unit)

    def reach_credit(self) -> float:
        """Return the expected minutes of ways that the repair would have had to pay anyway."""
        total, whole = 0.0, self.weight(self.possible)
        for place in set(self.situation.reached) - set(self.before.reached):
            there = sum(
                1 << k
                for k, suspect in enumerate(self.lineup.suspects)
                if self.possible >> k & 1 and place in suspect.unit.places
            )
            reach = self.lineup.case.circuit.places[place].reach_minutes
            total += self.weight(there) / whole * reach
        return total

    def quality(self, parts: Sequence[int], wrong: float = 0.0, price: float = 0.0) -> Bounds:
        """Return Q of the group that ends now.

        Parameters
        ----------
        parts : sequence of int
            What may be left after it and still has to be worked on, as bits.
        wrong, price : float
            For a call: chance that it is wrong, and what it then costs in minutes.
        """
        lower = upper = self.minutes + self.danger - self.reach_credit() + wrong * price
        whole = self.weight(self.possible)
        for part in parts:
            behind, share = self.value(part, self.situation), self.weight(part) / whole
            lower, upper = lower + share * behind.lower, upper + share * behind.upper
        return Bounds(lower, upper)

    # -- walking through a record

    def walk(self, entries: Sequence[Entry]) -> list[Judged]:
        """Judge all entries of a record in order and return the groups."""
        for entry in entries:
            if entry.kind == "act" and "ask" in entry.data["do"]:
                self._ask(entry)
            elif entry.kind == "act":
                self._act(entry)
            elif entry.kind == "call":
                self._call(entry)
        self._handled()
        return self.judged

    def _act(self, entry: Entry) -> None:
        action = action_from_json(entry.data["do"])
        self.numbers.append(entry.number)
        self.actions.append(action)
        self.harm += entry.data.get("harm", [])
        if self.mended:
            self.minutes += float(entry.data["minutes"])
            shown = Reading.from_json(entry.data.get("shown", {"words": ""})).text()
            self._repaired(describe(action), shown)
            return
        seen = self.prepared.observed.seen(self.now, action)
        self.minutes += seen.whole.price.minutes
        chances = self.prepared.likelihoods(self.asked).tolist()
        self.danger += expected_minutes(self.lineup, seen.suspects.harm, self.possible, chances)
        self.now = seen.after()
        self.situation = self.now.situation
        if "shown" in entry.data:
            corners = self.lineup.corners
            told = Told.by(action, self.situation, seen.suspects, seen.healthy, corners)
            self._read(action, Reading.from_json(entry.data["shown"]), told)

    def _read(self, action: Action, reading: Reading, told: Told) -> None:
        groups = self._groups(told.split)
        after = groups.get(told.label_of(reading), self.possible)
        units = self.units(self.possible)
        price = self.lineup.case.unit(units[0]).cheapest.price if len(units) == 1 else None
        free = self.allowance.use(self.actions, self.situation, self.minutes, price)
        free = "" if self.danger else free  # nobody is fair to what breaks things
        quality = self.quality(list(groups.values()))
        self._add("test", describe(action), reading.text(), quality, free, after, groups)

    def _groups(self, parts: Split | None) -> dict[str, int]:
        if parts is None:
            return {"": self.possible}
        found: dict[str, int] = {}
        for k, group in enumerate(parts.member.tolist()):
            if self.possible >> k & 1:
                label = " or ".join(parts.groups[group])
                found[label] = found.get(label, 0) | 1 << k
        return found

    def _add(
        self,
        kind: str,
        title: str,
        shown: str,
        quality: Bounds,
        free: str,
        after: int,
        groups: dict[str, int],
    ) -> None:
        value = self.value(self.possible, self.before)
        # the student gets the benefit of the solver's gap
        regret = max(0.0, quality.lower - value.upper)
        self.judged.append(
            Judged(
                numbers=tuple(self.numbers),
                kind=kind,
                title=title,
                shown=shown,
                minutes=self.minutes,
                quality=quality,
                value=value,
                regret=regret,
                free=free,
                before=self.possible,
                after=after,
                groups=groups,
                best=self.best(),
                harm=tuple(self.harm),
                danger=self.danger,
            )
        )
        self.possible = after
        self._begin()

    def _begin(self) -> None:
        self.numbers, self.actions, self.minutes, self.harm = [], [], 0.0, []
        self.danger = 0.0
        self.before = self.situation

    def best(self) -> str:
        """Return the best choice before the present group, in words."""
        names = [place.name for place in self.policy.problem.places]
        opened = sum(1 << names.index(place) for place in self.before.reached)
        here = sum(1 << names.index(place) for place in self.before.here)
        choice = self.policy.best(self.possible, opened, here)
        if choice.kind == "test" and choice.index is not None:
            return choice_words(self.prepared.space.choices[choice.index].name)
        return self.lineup.case.deed(choice.name or self.units(self.possible)[0])

    def _ask(self, entry: Entry) -> None:
        """Judge a question; handling that is under way goes on after it."""
        question, minutes = str(entry.data["do"]["ask"]), float(entry.data["minutes"])
        again = question in self.asked
        if not self.mended:
            self.asked.append(question)
            self.policy = self.prepared.policy(self.asked)
        value = self.value(self.possible, self.before)
        spent = minutes if again else 0.0
        self.judged.append(
            Judged(
                numbers=(entry.number,),
                kind="ask",
                title=say("asked: {question}", question=question),
                shown=str(entry.data["shown"]["words"]),
                minutes=minutes,
                quality=Bounds(value.lower + spent, value.upper + spent),
                value=value,
                regret=max(0.0, value.lower + spent - value.upper),
                free=REPAIRED if self.mended else "",
                before=self.possible,
                after=self.possible,
                groups={},
                best=self.best(),
            )
        )

    def _call(self, entry: Entry) -> None:
        unit = str(entry.data["unit"])
        mask = self.unit_mask(unit)
        inside, outside = self.possible & mask, self.possible & ~mask
        right = self.truth.unit.name == unit
        whole = self.weight(self.possible)
        wrong = self.weight(outside) / whole if outside else 0.0
        price = self.lineup.case.minutes_of(self.lineup.case.unit(unit))
        quality = self.quality([outside] if outside else [], wrong, price)
        # whoever is right still has to put back what is apart
        undo = (1 - wrong) * undoing_minutes(self.prepared, self.situation)
        quality = Bounds(quality.lower + undo, quality.upper + undo)
        self.numbers.append(entry.number)
        self.minutes += float(entry.data["minutes"])
        after = (inside or mask) if right else (outside or self.possible)
        cause = str(entry.data["cause"])
        self._add(
            "call", say("called {unit}", unit=unit), cause, quality, "", after, {"right": inside}
        )
        self.judged[-1] = replace(self.judged[-1], unit=unit, right=right)
        self.mended = self.mended or right
        self.allowance.repaired()

    def _repaired(self, title: str, shown: str) -> None:
        none = Bounds(0.0, 0.0)
        left = self.possible
        self.judged.append(
            Judged(
                tuple(self.numbers),
                "repaired",
                title,
                shown,
                self.minutes,
                none,
                none,
                0.0,
                REPAIRED,
                left,
                left,
                {},
                "",
                tuple(self.harm),
            )
        )
        self._begin()

    def _handled(self) -> None:
        """Close a group of handling that nothing was read after."""
        if not self.numbers:
            return
        quality = self.quality([self.possible])
        self._add("handling", say("handling"), "", quality, "", self.possible, {"": self.possible})
