"""What an author wants to know of a case before anybody works it.

- ambiguity groups: suspects that no plain reading tells apart, and whether one repair mends all
- what the complaint already rules out, and by what it would have looked like
- what would hurt something: a 10 A ammeter or the jumper, put where it must not go
- how many steps the best path has; what good and poor workers keep is `grader.workers`
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from grader.outcomes import confirmed
from grader.prepared import Prepared
from grader.suspects import corner_circuits, play, start_situation
from grader.wording import describe
from sim.access import probe_points
from sim.action import Action
from sim.circuit import BODY
from sim.errors import ActionError
from sim.faults import possible_faults, with_faults, write_faults
from sim.observe import Fleet, observe
from sim.situation import Memory, Situation


@dataclass(frozen=True, slots=True)
class Ambiguity:
    """Suspects that no plain reading tells apart; `units` are the repairs that mend them."""

    suspects: tuple[str, ...]
    units: tuple[str, ...]


def ambiguity_groups(prepared: Prepared) -> list[Ambiguity]:
    """Return groups of suspects that no plain reading tells apart, those of more units first."""
    suspects = prepared.lineup.suspects
    columns = np.array([parts.member for parts in prepared.space.splits], dtype=np.int64)
    groups: dict[bytes, list[int]] = {}
    for number in range(len(suspects)):
        groups.setdefault(columns[:, number].tobytes() if columns.size else b"", []).append(number)
    found = [
        Ambiguity(
            tuple(suspects[k].name for k in members),
            tuple(dict.fromkeys(suspects[k].unit.name for k in members)),
        )
        for members in groups.values()
        if len(members) > 1
    ]
    return sorted(found, key=lambda group: (-len(group.units), group.suspects))


@dataclass(frozen=True, slots=True)
class Contradicted:
    """What the complaint rules out: faults that would have looked like `would` instead."""

    would: str
    faults: tuple[str, ...]


def ruled_out_by_complaint(prepared: Prepared) -> list[Contradicted]:
    """Return the faults that are no suspects, by the first thing that contradicts them."""
    case = prepared.case
    known = {suspect.name for suspect in prepared.lineup.suspects}
    named = [(write_faults(case.circuit, f), f) for f, _p in possible_faults(case.circuit)]
    faults = [fault for name, fault in named if name not in known]
    if not faults:
        return []
    corners = corner_circuits(case)
    fleet = Fleet.of(
        [with_faults(circuit, fault) for fault in faults for circuit in corners],
        prepared.lineup.fleet.solver,
    )
    reasons: list[str] = [""] * len(faults)
    for would, fits in _sights(prepared, fleet):
        everywhere = [bool(row.all()) for row in fits.reshape(len(faults), -1)]
        for number, holds in enumerate(everywhere):
            if not holds and not reasons[number]:
                reasons[number] = would
    groups: dict[str, list[str]] = {}
    for fault, reason in zip(faults, reasons, strict=True):
        text = reason or "a sound vehicle shows the complaint too, and no unit mends these"
        groups.setdefault(text, []).append(write_faults(case.circuit, fault))
    return [Contradicted(would, tuple(names)) for would, names in groups.items()]


def _sights(prepared: Prepared, fleet: Fleet) -> Iterator[tuple[str, np.ndarray]]:
    """Yield what would have been seen instead of each thing the customer saw, and who agrees."""
    situation = start_situation(prepared.case)
    for sight in prepared.case.shows:
        memory = fleet.fresh_memory(situation)
        after, memory, _seen = play(fleet, situation, memory, sight.doing)
        for effect, answer in sight.sees:
            outcome = observe(fleet, after, memory, Action("watch", effect)).outcome
            other = "no" if answer == "yes" else "yes"
            fits = np.array(outcome.words) == answer
            fits[outcome.unsolved] = False
            yield f"{effect}: {other}", fits


def hurtful(prepared: Prepared) -> dict[str, tuple[str, ...]]:
    """Return what breaks -> the readings and jumpers that break it, on the sound vehicle.

    Tried are an ammeter from every point to the body and a jumper from the battery to every point,
    under the complaint's conditions. The policy never plans any of them.
    """
    circuit, fleet = prepared.case.circuit, prepared.healthy
    situation, memory = confirmed(prepared.lineup, fleet)
    supply = next((name for name, p in circuit.parts.items() if p.kind == "battery"), "")
    found: dict[str, list[str]] = {}
    for point in probe_points(circuit):
        actions = [Action("measure", "amps", point, BODY)]
        if supply:
            actions.append(Action("bridge", red=f"{supply}.+", black=point))
        for action in actions:
            for text in _harm(fleet, situation, memory, action):
                found.setdefault(text, []).append(describe(action))
    return {text: tuple(names) for text, names in found.items()}


def _harm(fleet: Fleet, situation: Situation, memory: Memory, action: Action) -> list[str]:
    try:
        outcome = observe(fleet, situation, memory, action).outcome
    except ActionError:
        return []
    return sorted({text for lane in outcome.harm for text in lane})


def depth(tree: Mapping[str, Any]) -> int:
    """Return the most steps that a policy tree can take, repairs included."""
    if "test" in tree:
        return 1 + max(depth(branch) for branch in tree["outcomes"].values())
    if "replace" in tree:
        return 1 + depth(tree["wrong"])
    return 1
