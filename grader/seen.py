"""What an action shows on all suspects and on the sound vehicles, worked out once.

They are one fleet, the sound vehicles last: what an action costs is mostly its calls, and a few
lanes more cost little. What is done first is much the same on every path: a class confirms one
complaint, people who look for one cause begin in one manner. An action is looked up by the bench
and by the very memory that it begins with, so what is given is what was worked out, not something
like it.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

from sim.action import Action
from sim.observe import Fleet, Observation, Outcome, observe
from sim.situation import Memory, Situation

KEPT = 400  # actions, of the paths looked at last: some ten MB for a case of fifty suspects; ours


@dataclass(frozen=True, slots=True)
class Moment:
    """The bench at one time, with what all suspects, then the sound vehicles, remember."""

    situation: Situation
    memory: Memory


@dataclass(frozen=True, slots=True)
class Seen:
    """What an action has shown on all suspects and on the sound vehicles.

    Attributes
    ----------
    whole : Observation
        Of all of them, the sound vehicles last.
    suspects, healthy : Outcome
        Each by themselves.
    """

    whole: Observation
    suspects: Outcome
    healthy: Outcome

    def after(self) -> Moment:
        """Return the moment after the action."""
        return Moment(self.whole.situation, self.whole.memory)


class Observed:
    """Looks at actions, and keeps what was seen last.

    Parameters
    ----------
    fleet, healthy : Fleet
    start : Situation
        The bench at hand-over.

    Attributes
    ----------
    fleet : Fleet
        All suspects, then the sound vehicles.
    suspects, healthy : slice
        Where in it they are.
    start : Moment
    """

    def __init__(self, fleet: Fleet, healthy: Fleet, start: Situation) -> None:
        self.fleet = Fleet.of((*fleet.circuits, *healthy.circuits), fleet.solver)
        count = len(fleet.circuits)
        self.suspects, self.healthy = slice(count), slice(count, None)
        self.start = Moment(start, self.fleet.fresh_memory(start))
        # beside what was seen the moment before it, whose memory the key knows by identity
        self._kept: OrderedDict[tuple[object, ...], tuple[Moment, Seen]] = OrderedDict()

    def seen(self, before: Moment, action: Action) -> Seen:
        """Return what an action shows; raises as `sim.observe.observe` does."""
        key = (before.situation, id(before.memory), action)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key][1]
        whole = observe(self.fleet, before.situation, before.memory, action)
        outcome = whole.outcome
        seen = Seen(whole, outcome.only(self.suspects), outcome.only(self.healthy))
        self._kept[key] = (before, seen)
        if len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        return seen
