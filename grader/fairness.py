"""What is free of regret, so that the experienced lose nothing by good habits.

- confirming the complaint, once for each thing to be seen; it shows only after as long as it takes
- looking once more after a repair: its price is part of a repair in vain
- an opening look-over of up to five minutes: eyes, ears, nose, hand, the battery's volts, a scan of
  the codes, fuses in their holders by their bare tops, with the meter or a lamp against body or
  battery; and left against right: the first reading once more, on the side that works
- one proof before buying while the evidence rests on one unit, and one more where the unit is dear
- the right repair and everything after it
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from grader.casefile import Case
from grader.leftright import opposite
from sim.action import Action
from sim.circuit import BODY
from sim.language import msg
from sim.parts import FAMILIES
from sim.situation import Situation

LOOK_OVER_MINUTES = 5.0
LOOK_OVER_VERBS = ("look", "listen", "feel", "watch", "smell", "touch")
CODES = ("scan", "codes")
GENTLE = ("set", "wait")  # what may come before it: nothing is taken apart in a look-over
CALM = (*GENTLE, "plug", "insert", "unbridge")  # before a look at the complaint: putting back
CONFIRMING, LOOKING = msg("confirming the complaint"), msg("look-over")
PROVING = msg("proof before buying")
CHECKING, REPAIRED = msg("checking a repair"), msg("after the repair")


@dataclass(slots=True)
class Allowance:
    """What is still free on a path; changed as it is used up.

    `confirmed` holds what was seen of the complaint before the first call, `unchecked` what may be
    watched once more since the last one; `beside` is the first reading on the other side.
    """

    case: Case
    look_over_minutes: float = LOOK_OVER_MINUTES
    opening: bool = True
    proofs: int = 0
    called: bool = False
    confirmed: set[str] = field(default_factory=set)
    unchecked: set[str] = field(default_factory=set)
    beside: Action | None = None

    def repaired(self) -> None:
        """Let one more look at the complaint be free; the opening is over with the first repair."""
        self.called, self.opening = True, False
        self.unchecked = {effect for effect, _answer in self.case.confirm.sees}

    def use(
        self, actions: Sequence[Action], situation: Situation, minutes: float, price: float | None
    ) -> str:
        """Return why a group of steps is free, empty if it is not.

        Parameters
        ----------
        actions : sequence of Action
            The group; the last one showed something.
        situation : Situation
            The bench after it.
        minutes : float
            Labour of the whole group.
        price : float or None
            Price of the one unit that all suspects left are in; None while there are several.
        """
        *before, action = actions
        if all(a.verb in CALM for a in before) and self._confirms(action, situation):
            return CHECKING if self.called else CONFIRMING
        over = (self.opening and self._looks_over(action)) or action == self.beside
        gentle = all(a.verb in GENTLE for a in before)
        metered, self.beside = action.verb in ("measure", "lamp"), None
        if over and gentle and minutes <= self.look_over_minutes:
            self.look_over_minutes -= minutes
            return LOOKING
        if self.opening and metered:
            self.beside = opposite(self.case.circuit, action)
        self.opening = False
        if price is not None and self.proofs < (2 if price >= self.case.dear else 1):
            self.proofs += 1
            return PROVING
        return ""

    def _confirms(self, action: Action, situation: Situation) -> bool:
        sight, name = self.case.confirm, action.target
        wanted = {effect for effect, _answer in sight.sees} - self.confirmed
        if action.verb != "watch" or name not in (self.unchecked if self.called else wanted):
            return False
        settings = {setting for a in sight.doing for setting in a.settings}
        if not settings <= set(situation.controls):
            return False
        if situation.rested < self.case.circuit.effects[name].hold_seconds:
            return False
        if self.called:
            self.unchecked.remove(name)
        else:
            self.confirmed.add(name)
        return True

    def _looks_over(self, action: Action) -> bool:
        if action.verb in LOOK_OVER_VERBS or (action.verb, action.target) == CODES:
            return True
        metered = action.verb == "measure" and action.target == "volts"
        if not metered and action.verb != "lamp":
            return False
        ends = {self.case.circuit.point(end) for end in (action.red, action.black)}
        batteries = {end for end in ends if self._kind(end) == "battery"}
        tops = {end for end in ends if self._is_fuse_top(end)}
        if metered and batteries and ends <= batteries | {BODY}:
            return True
        return len(tops) == 1 and ends <= tops | batteries | {BODY}

    def _kind(self, point: str) -> str:
        part = self.case.circuit.parts.get(point.partition(".")[0])
        return "" if part is None else part.kind

    def _is_fuse_top(self, point: str) -> bool:
        """Tell whether a point is a fuse's own bare top, on the blade and not in the holder."""
        part = self.case.circuit.parts.get(point.partition(".")[0])
        if part is None or FAMILIES[part.kind].probing != "tops":
            return False
        pins = FAMILIES[part.kind].pins(part)
        return point.partition(".")[2] not in pins
