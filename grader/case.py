"""A case as frozen data: a complaint, the circuit it is about, and what a repair costs.

Times are minutes because the trade's labour times are; prices are in money of the shop.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sim.action import Action
from sim.circuit import Circuit


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
class Option:
    """A way of carrying out a repair: price in money of the shop, days of delivery."""

    name: str
    price: float
    days: float = 0.0


@dataclass(frozen=True, slots=True)
class RepairUnit:
    """What is repaired or replaced as one.

    `mends` are fault patterns such as ``C41.1=*``; a suspect belongs to the first unit of the file
    that mends all of its faults. `places` are those the repair goes to anyway: the way there is no
    extra cost where the unit holds the cause. `labour_minutes` is without that way.
    """

    name: str
    mends: tuple[str, ...]
    labour_minutes: float
    options: tuple[Option, ...]
    places: tuple[str, ...] = ()

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
    sha256: str = ""

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
