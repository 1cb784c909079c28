"""Causes worth considering: what the complaint does not contradict, how likely, mended by what.

The complaint is simulated on every fault the circuit can have, at every corner of what varies
between students; a fault that would not show the complaint everywhere is no suspect.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from grader.casefile import Case, RepairUnit, Sight
from grader.errors import CaseFileError
from sim.action import Action
from sim.circuit import Circuit, Fault
from sim.faults import parse_fault, possible_faults, with_faults, write_faults
from sim.network import Floats
from sim.observe import Fleet, Observation, observe
from sim.situation import Memory, Situation
from sim.solver.steady import Solver

Possible = tuple[tuple[Fault, ...], float]  # faults at once, and their relative likelihood


@dataclass(frozen=True, slots=True)
class Suspect:
    """One possible cause: faults, name, likelihood (not normalised), repair unit."""

    name: str
    faults: tuple[Fault, ...]
    likelihood: float
    unit: RepairUnit


@dataclass(frozen=True, slots=True)
class Lineup:
    """All suspects of a case, and a fleet with each of them at every corner of what varies.

    Attributes
    ----------
    fleet : Fleet
        Variant ``suspect * corners + corner``.
    corners : int
    """

    case: Case
    suspects: tuple[Suspect, ...]
    fleet: Fleet
    corners: int

    @property
    def likelihoods(self) -> Floats:
        """Likelihood of every suspect, summing to 1."""
        return asked(self, ())

    def index(self, name: str) -> int:
        """Return the number of a suspect by name."""
        return [suspect.name for suspect in self.suspects].index(name)


def set_values(circuit: Circuit, values: Mapping[str, float]) -> Circuit:
    """Return the circuit with varied values set: ``temperature`` or ``PART.parameter``, in SI."""
    for name, value in values.items():
        if name == "temperature":
            circuit = replace(circuit, temperature=value)
        else:
            part, _, key = name.partition(".")
            circuit = circuit.changed(part, **{key: value})
    return circuit


def corner_circuits(case: Case) -> list[Circuit]:
    """Return the healthy circuit at every corner of what varies between students."""
    names = list(case.varies)
    spans = [sorted(set(case.varies[name])) for name in names]
    return [
        set_values(case.circuit, dict(zip(names, values, strict=True)))
        for values in itertools.product(*spans)
    ]


def start_situation(case: Case) -> Situation:
    """Return the bench at hand-over."""
    return Situation(controls=tuple(sorted(case.start)))


def play(
    fleet: Fleet, situation: Situation, memory: Memory, actions: Sequence[Action]
) -> tuple[Situation, Memory, list[Observation]]:
    """Do several actions on a fleet, one after the other."""
    seen = []
    for action in actions:
        observation = observe(fleet, situation, memory, action)
        situation, memory = observation.situation, observation.memory
        seen.append(observation)
    return situation, memory, seen


def shows_complaint(case: Case, fleet: Fleet) -> np.ndarray:
    """Return for every variant whether it shows the complaint (bool array)."""
    fits = np.ones(len(fleet.circuits), dtype=bool)
    for sight in case.shows:
        fits &= _sees(case, fleet, sight)
    return fits


def _sees(case: Case, fleet: Fleet, sight: Sight) -> np.ndarray:
    situation = start_situation(case)
    memory = fleet.fresh_memory(situation)
    situation, memory, _seen = play(fleet, situation, memory, sight.doing)
    fits = np.ones(len(fleet.circuits), dtype=bool)
    for effect, answer in sight.sees:
        outcome = observe(fleet, situation, memory, Action("watch", effect)).outcome
        words = np.array(outcome.words)
        fits &= words == answer
        fits[outcome.unsolved] = False
    return fits


def mending_unit(case: Case, faults: Sequence[Fault]) -> RepairUnit:
    """Return the first unit that mends all faults of a suspect.

    Raises
    ------
    CaseFileError
        No unit does.
    """
    for unit in case.units:
        if all(any(_matches(case, p, fault) for p in unit.mends) for fault in faults):
            return unit
    name = write_faults(case.circuit, faults)
    raise CaseFileError(
        f"case {case.name}: no unit mends {name!r}, which shows the complaint; "
        "add it to a unit's `mends`"
    )


def _matches(case: Case, pattern: str, fault: Fault) -> bool:
    point, _, way = pattern.partition("=")
    if point.strip() != fault.point:
        return False
    if ":" in way:
        return parse_fault(case.circuit, pattern) == fault
    return way.strip() in {"*", fault.way}


def line_up(
    case: Case, solver: Solver | None = None, showing: Collection[str] | None = None
) -> Lineup:
    """Return the suspects of a case, in the order of the circuit file.

    Parameters
    ----------
    solver : Solver, optional
        Of the case's circuit, if there is one already.
    showing : collection of str, optional
        Names of the faults that show the complaint, if that is known; all are tried if not.

    Raises
    ------
    CaseFileError
        The complaint fits nothing, or a suspect that no unit mends.
    """
    solver = solver or Solver.of(case.circuit)
    faults = {write_faults(case.circuit, f): (f, p) for f, p in possible_faults(case.circuit)}
    if showing is None:
        showing = _showing(case, solver, faults)
    suspects = tuple(
        Suspect(name, some, likelihood, mending_unit(case, some))
        for name, (some, likelihood) in faults.items()
        if name in showing
    )
    if not suspects:
        raise CaseFileError(f"case {case.name}: no fault of the circuit shows the complaint")
    fleet, corners = _at_corners(case, solver, [suspect.faults for suspect in suspects])
    return Lineup(case, suspects, fleet, corners)


def _showing(case: Case, solver: Solver, faults: Mapping[str, Possible]) -> set[str]:
    """Return the names of the faults that show the complaint at every corner."""
    fleet, corners = _at_corners(case, solver, [some for some, _likelihood in faults.values()])
    shown = shows_complaint(case, fleet).reshape(len(faults), corners)
    return {name for name, row in zip(faults, shown, strict=True) if row.all()}


def _at_corners(
    case: Case, solver: Solver, faults: Sequence[tuple[Fault, ...]]
) -> tuple[Fleet, int]:
    """Return a fleet with each of some faults at every corner, and the number of corners."""
    corners = corner_circuits(case)
    return Fleet.of([with_faults(c, one) for one in faults for c in corners], solver), len(corners)


def asked(lineup: Lineup, questions: Sequence[str]) -> Floats:
    """Return the likelihoods (summing to 1) after these questions were answered."""
    weights: Floats = np.array([s.likelihood for s in lineup.suspects], dtype=np.float64)
    for question in lineup.case.questions:
        if question.ask in questions:
            for part, factor in question.likelier:
                for index, suspect in enumerate(lineup.suspects):
                    if any(fault.part == part for fault in suspect.faults):
                        weights[index] *= factor
    return np.asarray(weights / weights.sum())
