"""What may be the cause of a complaint: faults of the circuit, and what is no failed part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from grader.case import Case, RepairUnit
from sim.circuit import Circuit, Fault
from sim.faults import parse_fault, possible_faults, with_faults, without_faults, write_faults


@dataclass(frozen=True, slots=True)
class Possible:
    """Something that may be the cause: name, faults, likelihood (not normalised).

    A cause that is no failed part has no faults; `sets` is what is otherwise on its vehicle, SI.
    """

    name: str
    faults: tuple[Fault, ...]
    likelihood: float
    sets: tuple[tuple[str, float], ...] = ()

    @property
    def parts(self) -> frozenset[str]:
        """Names of the parts that are not as they should be."""
        otherwise = (name.partition(".")[0] for name, _value in self.sets if "." in name)
        return frozenset([*(fault.part for fault in self.faults), *otherwise])

    def is_of(self, name: str) -> bool:
        """Tell whether a part, or a cause by its name, is what this suspect is about."""
        return name == self.name or name in self.parts

    def on(self, circuit: Circuit) -> Circuit:
        """Return a sound circuit with this cause in it."""
        return with_faults(set_values(circuit, dict(self.sets)), self.faults)

    def mended(self, circuit: Circuit, sound: Circuit) -> Circuit:
        """Return a circuit without this cause; what it sets is as on the sound one."""
        circuit = without_faults(circuit, self.faults)
        otherwise = {name.partition(".")[0] for name, _value in self.sets if "." in name}
        parts = {n: replace(circuit.parts[n], values=sound.parts[n].values) for n in otherwise}
        parts = dict(circuit.parts) | parts
        return replace(circuit, parts=parts, temperature=sound.temperature)


def set_values(circuit: Circuit, values: Mapping[str, float]) -> Circuit:
    """Return the circuit with varied values set: ``temperature`` or ``PART.parameter``, in SI."""
    for name, value in values.items():
        if name == "temperature":
            circuit = replace(circuit, temperature=value)
        else:
            part, _, key = name.partition(".")
            circuit = circuit.changed(part, **{key: value})
    return circuit


def possible_causes(case: Case) -> list[Possible]:
    """Return every fault the circuit can have, in the order of its file, then the case's causes."""
    circuit = case.circuit
    faults = [Possible(write_faults(circuit, f), f, p) for f, p in possible_faults(circuit)]
    return faults + [Possible(c.name, (), c.likelihood, c.sets) for c in case.causes]


def mending_unit(case: Case, one: Possible) -> RepairUnit | None:
    """Return the first unit that mends all faults of a possible cause, None if none does."""
    for unit in case.units:
        if one.name in unit.mends:
            return unit
        mended = (any(_matches(case, p, fault) for p in unit.mends) for fault in one.faults)
        if one.faults and all(mended):
            return unit
    return None


def _matches(case: Case, pattern: str, fault: Fault) -> bool:
    point, _, way = pattern.partition("=")
    if point.strip() != fault.point:
        return False
    if ":" in way:
        return parse_fault(case.circuit, pattern) == fault
    return way.strip() in {"*", fault.way}
