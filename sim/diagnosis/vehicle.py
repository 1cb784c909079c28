"""The control units of a circuit. This is where circuits' modules plug in.

A part family that has a diagnostic server adds its kind here, with the function that makes the
unit's data from the part: codes it can set, parameters it measures, outputs it lets a tester hold.
What the solved circuit says is filled in afterwards, see `sim.diagnosis.unit`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sim.circuit import Circuit, Part
from sim.diagnosis.unit import UnitState

UnitOf = Callable[[Circuit, Part], UnitState]

#: Kind of part -> what makes its control unit. No kind has one yet.
FAMILIES_WITH_UNIT: Mapping[str, UnitOf] = {}


def control_units(
    circuit: Circuit, families: Mapping[str, UnitOf] = FAMILIES_WITH_UNIT
) -> tuple[UnitState, ...]:
    """Return the control units of a circuit, in the order of its parts; empty if it has none."""
    return tuple(
        families[part.kind](circuit, part)
        for part in circuit.parts.values()
        if part.kind in families
    )
