"""The control units of a circuit. This is where circuits' modules plug in.

A part family that has a diagnostic server adds its kind to `FAMILIES_WITH_UNIT`, with the function
that makes the unit's data from the part, and to `SAMPLES`, with the one that takes from the solved
circuit what the unit measures and finds wrong (`sim.diagnosis.sampling`).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.circuit import Circuit, Part
from sim.diagnosis import onbus, ruled
from sim.diagnosis.sampling import SampleOf, UnitOf
from sim.diagnosis.unit import UnitState

#: Kind of part -> what makes its control unit.
FAMILIES_WITH_UNIT: Mapping[str, UnitOf] = MappingProxyType(
    {onbus.KIND: onbus.unit_of, ruled.KIND: ruled.unit_of}
)
#: Kind of part -> what its unit takes in.
SAMPLES: Mapping[str, SampleOf] = MappingProxyType(
    {onbus.KIND: onbus.sample_of, ruled.KIND: ruled.sample_of}
)


def parts_with_unit(
    circuit: Circuit, families: Mapping[str, UnitOf] = FAMILIES_WITH_UNIT
) -> tuple[Part, ...]:
    """Return the parts of a circuit that are control units, in their order."""
    return tuple(
        part
        for part in circuit.parts.values()
        if part.kind in families and (part.kind != ruled.KIND or part.name in circuit.modules)
    )


def carrier_of(circuit: Circuit, part: Part) -> str:
    """Return the unit on a bus that carries a unit's frames; empty for a wire of its own."""
    if part.kind == onbus.KIND:
        return part.name
    return circuit.modules[part.name].bus if part.name in circuit.modules else ""


def control_units(
    circuit: Circuit, families: Mapping[str, UnitOf] = FAMILIES_WITH_UNIT
) -> tuple[UnitState, ...]:
    """Return the control units of a circuit, in the order of its parts; empty if it has none."""
    parts = parts_with_unit(circuit, families)
    return tuple(families[part.kind](circuit, part, n) for n, part in enumerate(parts))
