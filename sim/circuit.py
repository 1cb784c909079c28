"""A vehicle circuit as frozen data: parts, wires, rails, places, controls, effects.

Everything is in SI except access times, which are minutes because the trade's labour times are.
Names: a part is `F7`, its terminal `F7.2`, a wire `wire 8`; the harness half of connector C41 pin 1
is `C41.1a`, the other half `C41.1b`. Vehicle ground (terminal 31 of DIN 72552) is the point `body`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from sim.modules.behaviour import Behaviour

BODY = "body"
AMBIENT = 20.0  # degC, the reference temperature of conductor tables (IEC 60228:2004)


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere hands have to go.

    Attributes
    ----------
    reach_minutes, again_minutes : float
        Labour to get there the first time, and to come back later.
    """

    name: str
    reach_minutes: float
    again_minutes: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """One way in which one part, or one of its terminals, has failed.

    `severity` is in SI (ohms for a resistance, a count for lines of a grid), None where the way has
    none.
    """

    part: str
    way: str
    pin: str | None = None
    severity: float | None = None

    @property
    def point(self) -> str:
        """The part, with its terminal where the fault sits at one."""
        return self.part if self.pin is None else f"{self.part}.{self.pin}"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the vehicle, or one wire (kind `wire`).

    Attributes
    ----------
    values : mapping
        Parameters in SI, named as in the circuit file; the family of `kind` says which.
    faults : tuple of Fault
        What is wrong with it; empty for a healthy part.
    felt_at : str
        A place from which a hand or an eye gets at it more easily than from `at`; empty if none.
    settings : tuple of str
        Positions, in order, of the control that sets it; empty if none does.
    """

    name: str
    kind: str
    at: str
    values: Mapping[str, float | str | bool]
    faults: tuple[Fault, ...] = ()
    felt_at: str = ""
    settings: tuple[str, ...] = ()

    def number(self, key: str) -> float:
        """Return a numeric parameter in SI."""
        return float(self.values[key])

    def has(self, way: str, pin: str | None = None) -> bool:
        """Tell whether the part has failed in this way (at this terminal)."""
        return any(fault.way == way and fault.pin == pin for fault in self.faults)

    def severity(self, way: str, pin: str | None = None) -> float | None:
        """Return the severity of a failure, or None where the part does not have it."""
        for fault in self.faults:
            if fault.way == way and fault.pin == pin:
                return fault.severity
        return None


@dataclass(frozen=True, slots=True)
class Control:
    """Something a driver operates: its positions in order, and the parts it sets."""

    name: str
    positions: tuple[str, ...]
    sets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Effect:
    """Something that can be noticed, as a condition on the solved circuit.

    `quantity` is power, current, voltage or state; `limit` is in SI or, if `nominal`, a fraction of
    the part's nominal power; the condition has to hold for `hold_seconds`. With `below` the
    quantity has to be at or under the limit. `place` is where one has to stand; empty for the
    driver's seat. With quantity "hears" it holds while what the unit `other` sends on a bus arrives
    at the part.
    """

    name: str
    part: str
    quantity: str
    limit: float = 0.0
    nominal: bool = False
    below: bool = False
    hold_seconds: float = 0.0
    place: str = ""
    other: str = ""


@dataclass(frozen=True, slots=True)
class FaultNote:
    """What this vehicle says about a fault beyond what its part's family says.

    `faults` may hold several (compound). `likelihood` is relative, shared by its severities;
    `cause` is what did it, in a few words; `seen_at` the place where eyes find `seen`.
    """

    faults: tuple[Fault, ...]
    likelihood: float
    cause: str = ""
    seen_at: str = ""
    seen: str = ""


@dataclass(frozen=True, slots=True)
class Circuit:
    """A vehicle circuit; `temperature` is the ambient one, in degrees Celsius.

    `modules` says what each part with rules does.
    """

    name: str
    title: str
    vehicle: str
    places: Mapping[str, Place]
    parts: Mapping[str, Part]
    rails: Mapping[str, str]
    controls: Mapping[str, Control]
    effects: Mapping[str, Effect]
    notes: tuple[FaultNote, ...] = ()
    diagram: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    modules: Mapping[str, Behaviour] = field(default_factory=dict)
    temperature: float = AMBIENT
    sha256: str = ""

    def point(self, name: str) -> str:
        """Return the point that a rail's number (15, 30, 31) or a point's own name stands for."""
        return self.rails.get(name, name)

    def changed(self, part: str, **values: float | str | bool) -> Circuit:
        """Return the circuit with other parameter values of one part."""
        old = self.parts[part]
        new = replace(old, values={**old.values, **values})
        return replace(self, parts={**self.parts, part: new})
