"""Causes worth considering: what the complaint does not contradict, how likely, mended by what.

The complaint is simulated on every fault the circuit can have, at every corner of what varies
between students; a fault that would not show the complaint everywhere is no suspect.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from grader.case import Case, RepairUnit, Sight
from grader.errors import CaseFileError
from grader.possible import Possible, mending_unit, possible_causes, set_values
from sim.action import Action
from sim.circuit import Circuit
from sim.network import Floats
from sim.observe import Fleet, Observation, observe
from sim.shared import Shared
from sim.situation import Memory, Situation
from sim.solver.steady import Solver


@dataclass(frozen=True, slots=True)
class Suspect(Possible):
    """A possible cause that the complaint does not contradict, and the unit that mends it."""

    unit: RepairUnit = field(kw_only=True)


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


def shows_complaint(case: Case, fleet: Fleet, shows: Sequence[Sight] = ()) -> np.ndarray:
    """Return for every variant whether it shows the complaint, or other sights (bool array)."""
    fits, sights = np.ones(len(fleet.circuits), dtype=bool), shows or case.shows
    scanned = any(asks_units(sight.doing) for sight in sights)
    start = handed_over(case, fleet, scanned=scanned)
    for sight in sights:
        fits &= _sees(fleet, start, sight)
    return fits


def asks_units(actions: Sequence[Action]) -> bool:
    """Tell whether actions ask control units anything, or hold their outputs."""
    return any(action.verb == "scan" for action in actions)


def handed_over(case: Case, fleet: Fleet, *, scanned: bool = True) -> tuple[Situation, Memory]:
    """Return how the bench and every variant stand at hand-over.

    `scanned` tells whether anybody will ask control units what they carry.
    """
    situation = start_situation(case)
    return situation, fleet.fresh_memory(situation, driven_with=scanned)


def _sees(fleet: Fleet, start: tuple[Situation, Memory], sight: Sight) -> np.ndarray:
    situation, memory, _seen = play(fleet, *start, sight.doing)
    fits, shared = np.ones(len(fleet.circuits), dtype=bool), Shared()
    for effect, answer in sight.sees:
        outcome = observe(fleet, situation, memory, Action("watch", effect), shared).outcome
        words = np.array(outcome.words)
        fits &= words == answer
        fits[outcome.unsolved] = False
    return fits


def line_up(
    case: Case, solver: Solver | None = None, showing: Collection[str] | None = None
) -> Lineup:
    """Return the suspects of a case, in the order of the circuit file, then its other causes.

    Where a sound vehicle shows the complaint too, a fault that no unit mends explains nothing, and
    is no suspect.

    Parameters
    ----------
    solver : Solver, optional
        Of the case's circuit, if there is one already.
    showing : collection of str, optional
        Names of the suspects, if they are known; all that is possible is tried if not.

    Raises
    ------
    CaseFileError
        The complaint fits nothing, a suspect that no unit mends, or a cause that does not show it.
    """
    solver = solver or Solver.of(case.circuit)
    possible = possible_causes(case)
    if showing is None:
        showing = _showing(case, solver, possible)
    suspects = _mended(case, [one for one in possible if one.name in showing])
    if not suspects:
        raise CaseFileError(f"case {case.name}: no fault of the circuit shows the complaint")
    fleet, corners = _at_corners(case, solver, suspects)
    return Lineup(case, suspects, fleet, corners)


def _mended(case: Case, showing: Sequence[Possible]) -> tuple[Suspect, ...]:
    """Return the suspects with their units; all that no unit mends are named at once."""
    suspects, left = [], []
    for one in showing:
        unit = mending_unit(case, one)
        if unit is None:
            left.append(repr(one.name))
        else:
            suspects.append(Suspect(one.name, one.faults, one.likelihood, one.sets, unit=unit))
    if left:
        one_left = len(left) == 1
        shows, it = ("shows", "it") if one_left else ("show", "each of them")
        raise CaseFileError(
            f"case {case.name}: no unit mends {', '.join(left)}, which {shows} the complaint; "
            f"add {it} to a unit's `mends`, or say in `shows` what sets {it} apart"
        )
    return tuple(suspects)


def _showing(case: Case, solver: Solver, possible: Sequence[Possible]) -> set[str]:
    """Return the names of the suspects."""
    sound = Possible("", (), 0.0)
    shown = _shown(case, solver, [*possible, sound])
    found = {one.name for one, shows in zip(possible, shown, strict=False) if shows}
    if shown[-1]:
        found -= {one.name for one in possible if mending_unit(case, one) is None}
    causes = {cause.name: cause for cause in case.causes}
    for one in possible:
        cause = causes.get(one.name)
        if cause is None:
            continue
        found.add(one.name)
        if cause.is_seen and not all(_shown(case, solver, [one], cause.shows)):
            vehicle = "a vehicle with it" if one.sets else "a sound vehicle"
            raise CaseFileError(
                f"case {case.name}: cause {one.name!r} ({cause.kind}): {vehicle} does not show the "
                "complaint wherever values lie; give the cause its own `shows`, or leave it out"
            )
    return found


def _shown(
    case: Case, solver: Solver, possible: Sequence[Possible], shows: Sequence[Sight] = ()
) -> list[bool]:
    """Return which of them show the complaint, or other sights, at every corner."""
    fleet, corners = _at_corners(case, solver, possible)
    shown = shows_complaint(case, fleet, shows).reshape(len(possible), corners)
    return [bool(row.all()) for row in shown]


def _at_corners(case: Case, solver: Solver, possible: Sequence[Possible]) -> tuple[Fleet, int]:
    """Return a fleet with each of some possible causes at every corner, and the corners' number."""
    corners = corner_circuits(case)
    return Fleet.of([one.on(c) for one in possible for c in corners], solver), len(corners)


def asked(lineup: Lineup, questions: Sequence[str]) -> Floats:
    """Return the likelihoods (summing to 1) after these questions were answered."""
    weights: Floats = np.array([s.likelihood for s in lineup.suspects], dtype=np.float64)
    for question in lineup.case.questions:
        if question.ask in questions:
            for part, factor in question.likelier:
                for index, suspect in enumerate(lineup.suspects):
                    if suspect.is_of(part):
                        weights[index] *= factor
    return np.asarray(weights / weights.sum())
