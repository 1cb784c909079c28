"""What an action shows on all suspects and on the sound vehicles, worked out once.

What is done first is much the same on every path: a class confirms one complaint, people who look
for one cause begin in one manner. An action is looked up by the bench and by the very memories that
it begins with, so what is given is what was worked out, not something like it.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

from sim.action import Action
from sim.observe import Fleet, Observation, observe
from sim.situation import Memory, Situation

KEPT = 400  # actions, of the paths looked at last: some ten MB for a case of fifty suspects; ours


@dataclass(frozen=True, slots=True)
class Moment:
    """The bench at one time, with what all suspects and the sound vehicles remember."""

    situation: Situation
    memory: Memory
    sound: Memory


@dataclass(frozen=True, slots=True)
class Seen:
    """What an action has shown on all suspects and on the sound vehicles."""

    suspects: Observation
    healthy: Observation

    def after(self) -> Moment:
        """Return the moment after the action."""
        ours = self.suspects
        return Moment(ours.situation, ours.memory, self.healthy.memory)


class Observed:
    """Looks at actions, and keeps what was seen last.

    Parameters
    ----------
    fleet, healthy : Fleet
    start : Situation
        The bench at hand-over.
    """

    def __init__(self, fleet: Fleet, healthy: Fleet, start: Situation) -> None:
        self._fleet, self._healthy = fleet, healthy
        self.start = Moment(start, fleet.fresh_memory(start), healthy.fresh_memory(start))
        # beside what was seen the moment before it, whose memories the key knows by identity
        self._kept: OrderedDict[tuple[object, ...], tuple[Moment, Seen]] = OrderedDict()

    def seen(self, before: Moment, action: Action) -> Seen:
        """Return what an action shows; raises as `sim.observe.observe` does."""
        key = (before.situation, id(before.memory), id(before.sound), action)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key][1]
        seen = Seen(
            observe(self._fleet, before.situation, before.memory, action),
            observe(self._healthy, before.situation, before.sound, action),
        )
        self._kept[key] = (before, seen)
        if len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        return seen
