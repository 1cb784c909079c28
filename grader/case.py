"""A case as frozen data: a complaint, the circuit it is about, and what a repair costs.

Times are minutes because the trade's labour times are; prices are in money of the shop.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from sim.action import Action
from sim.circuit import Circuit
from sim.language import msg, say

NOT_TODAY = "cannot be proven today"
#: Kinds of causes that are no failed part, and whether such a vehicle has other values than the
#: drawing's. Those that have none end in a word to the customer, the others in work.
CAUSE_KINDS = {
    "works as designed": False,
    "not electrical": True,
    "earlier repair": True,
    NOT_TODAY: False,
}
SPOKEN = re.compile(r'"([^"]*)"')  # as a file has what somebody said
REPAIR, TELL = msg("repair {unit}"), msg("tell the customer: {unit}")


@dataclass(frozen=True, slots=True)
class Sight:
    """Conditions and what is seen under them, as the customer tells it or as a repair is checked.

    `doing` holds the actions that bring the conditions about; `sees` effects and yes or no.
    """

    doing: tuple[Action, ...]
    sees: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One item of the list that verifies a repair: conditions, what to do, what must show."""

    doing: tuple[Action, ...]
    action: Action
    expect: str = ""
    between: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """Something to ask: minutes, answer, and factors on the likelihoods of parts."""

    ask: str
    minutes: float
    answer: str
    likelier: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause that is no failed part; it is a suspect, is drawn and called like any other.

    Attributes
    ----------
    name : str
        As it stands in the list of suspects.
    kind : str
        One of `CAUSE_KINDS`.
    likelihood : float
        On the scale of the circuit's faults.
    sets : tuple of (name, value)
        What is otherwise than on the drawing: ``PART.parameter`` or ``temperature``, SI.
    shows : tuple of Sight
        What the customer saw in truth, where conditions were others than he tells; none if they
        were those of the complaint.
    """

    name: str
    kind: str
    likelihood: float
    sets: tuple[tuple[str, float], ...] = ()
    shows: tuple[Sight, ...] = ()

    @property
    def is_seen(self) -> bool:
        """Whether the vehicle shows the complaint today."""
        return self.kind != NOT_TODAY


@dataclass(frozen=True, slots=True)
class Option:
    """A way of carrying out a repair: price in money of the shop, days of delivery."""

    name: str
    price: float
    days: float = 0.0


@dataclass(frozen=True, slots=True)
class RepairUnit:
    """What is repaired or replaced as one.

    `mends` are fault patterns such as ``C41.1=*``, and names of causes; a suspect belongs to the
    first unit of the file that mends all of its faults. `places` are those the repair goes to
    anyway: the way there is no extra cost where the unit holds the cause. `labour_minutes` is
    without that way. One that `is_word` repairs nothing on the vehicle: the customer is told.
    """

    name: str
    mends: tuple[str, ...]
    labour_minutes: float
    options: tuple[Option, ...]
    places: tuple[str, ...] = ()
    is_word: bool = False

    @property
    def cheapest(self) -> Option:
        """The option with the lowest price."""
        return min(self.options, key=lambda option: (option.price, option.name))


@dataclass(frozen=True, slots=True)
class Weights:
    """Points of the five lines of a score sheet; 100 together."""

    efficiency: float = 40.0
    right_call: float = 25.0
    reasoning: float = 15.0
    safe_work: float = 10.0
    checked: float = 10.0


@dataclass(frozen=True, slots=True)
class Case:
    """A work order.

    Attributes
    ----------
    varies : mapping
        What differs between students: ``B1.charge`` or ``temperature`` -> (lowest, highest), SI.
    rate : float
        Money that one minute in the shop costs; prices are turned into minutes with it.
    dear : float
        Price from which one more confirmation before buying is free of regret.
    hint_points : float or None
        Points that each hint costs; None where there are none.
    alternatives : tuple of (name, factors)
        Other likelihoods that a technician may hold with good reason: factors on those of parts.
        Regret is the least over the author's and these.
    causes : tuple of Cause
        Those that are no failed part.
    """

    name: str
    order: str
    circuit: Circuit
    complaint: str
    shows: tuple[Sight, ...]
    start: tuple[tuple[str, str], ...]
    confirm: Sight
    verify: tuple[Check, ...]
    questions: tuple[Question, ...]
    units: tuple[RepairUnit, ...]
    varies: Mapping[str, tuple[float, float]]
    assignable: tuple[str, ...] = ()
    rate: float = 1.0
    dear: float = 60.0
    weights: Weights = field(default_factory=Weights)
    hint_points: float | None = 0.0
    alternatives: tuple[tuple[str, tuple[tuple[str, float], ...]], ...] = ()
    causes: tuple[Cause, ...] = ()
    sha256: str = ""

    @property
    def quoted(self) -> str:
        """The complaint in quotation marks: the words marked as said in it, or the whole of it."""
        told = SPOKEN.sub(r"“\1”", self.complaint)
        return told if "“" in told else f"“{told}”"

    def minutes_of(self, unit: RepairUnit) -> float:
        """Return what a unit costs in minutes where it is not the cause: labour, part, check."""
        check = sum(action.seconds / 60 * 0.1 for c in self.verify[:1] for action in c.doing) + 1.0
        return unit.labour_minutes + unit.cheapest.price / self.rate + check

    def unit(self, name: str) -> RepairUnit:
        """Return a unit by name."""
        for unit in self.units:
            if unit.name == name:
                return unit
        raise KeyError(name)

    def deed(self, unit: str) -> str:
        """Return what a call of a unit asks for, in words: a repair, or a word to the customer."""
        return say(TELL if self.unit(unit).is_word else REPAIR, unit=unit)
