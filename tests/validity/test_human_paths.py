"""For every shipped case: what people keep of the efficiency, by the way they work.

Sensible ways above 90 %, in order from the battery above 80 %, a part by habit below 50 %. Where a
case comes out otherwise the case or the rule is wrong.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from grader.casefile import read_case
from grader.habits import board_with_habits
from grader.outcomes import explore, problem_of
from grader.policy import Policy
from grader.prepared import Prepared, prepare
from grader.suspects import Lineup, Suspect, corner_circuits, line_up, shows_complaint
from sim.faults import with_faults
from sim.fleet import Fleet
from sim.solver.steady import LEAK, Solver
from tests.validity.manners import Manners
from tests.validity.report import say
from tests.validity.study import CASES, ROOT

SENSIBLE = ("sensible", "weak spot first")
#: Cases with a relay, on which listening, fuse, relay, connector, load is what everybody teaches.
TAUGHT = ("foggy-window", "hoarse-horn")
IDS = [file.name.partition(".")[0] for file in CASES]


@cache
def ready(name: str) -> Prepared:
    return prepare(read_case(CASES[IDS.index(name)], ROOT / "lessons" / "circuits"))


@cache
def kept(name: str) -> dict[str, float]:
    """Give the expected share of the efficiency for every manner the case allows."""
    manners = Manners(*board_with_habits(ready(name)))
    return {manner: manners.kept(path) for manner, path in manners.paths().items()}


def test_one_case_in_the_ordinary_line():
    assert_sound("foggy-window")


@pytest.mark.long
@pytest.mark.parametrize("name", IDS)
def test_human_paths_of_every_case(name):
    assert_sound(name)


def assert_sound(name: str) -> None:
    shares = kept(name)
    say(f"human-paths-{name}", "\n".join(f"{m:16} {share:6.1%}" for m, share in shares.items()))
    for manner in SENSIBLE:
        assert shares[manner] > 0.90, manner
    assert shares["linear"] > 0.80
    if name in TAUGHT:
        assert shares["classic"] > 0.90
    assert shares["part by habit"] < 0.50


def first_step(lineup: Lineup, healthy: Fleet) -> tuple[float, set[str]]:
    """Give V at the start and the names of all first steps within 0.1 min of it."""
    space = explore(lineup, healthy)
    policy = Policy(problem_of(lineup, space, np.asarray(lineup.likelihoods)))
    value, names = policy.value(policy.everything).upper, set()
    for index, choice in enumerate(space.choices):
        if policy.quality_of_test(policy.everything, 0, 0, index).lower <= value + 0.1:
            names.add(choice.name)
    return value, names


def with_severities(lineup: Lineup, factor: float) -> Lineup:
    """Give the same suspects with every listed resistance that much larger or smaller.

    One that would not show the complaint then is no suspect: the complaint has been confirmed.
    """
    suspects = tuple(
        replace(
            suspect,
            faults=tuple(
                replace(fault, severity=fault.severity * factor)
                if fault.severity is not None and "resistance" in fault.way
                else fault
                for fault in suspect.faults
            ),
        )
        for suspect in lineup.suspects
    )
    corners = corner_circuits(lineup.case)

    def fleet(some: Sequence[Suspect]) -> Fleet:
        circuits = [with_faults(c, s.faults) for s in some for c in corners]
        return Fleet.of(circuits, lineup.fleet.solver)

    shown = shows_complaint(lineup.case, fleet(suspects)).reshape(-1, lineup.corners).all(axis=1)
    left = tuple(s for s, shows in zip(suspects, shown, strict=True) if shows)
    assert left
    return Lineup(lineup.case, left, fleet(left), lineup.corners)


def best_first(prepared: Prepared) -> str:
    policy = prepared.policy()
    choice = policy.best(policy.everything)
    return prepared.space.choices[choice.index].name if choice.index is not None else ""


@pytest.mark.long
@pytest.mark.parametrize("name", IDS)
def test_the_solvers_leak_changes_no_best_first_step(name):
    prepared = ready(name)
    solver = Solver.of(prepared.case.circuit, leak=10 * LEAK)
    lineup = line_up(prepared.case, solver)
    _value, names = first_step(lineup, Fleet.of(corner_circuits(prepared.case), solver))
    assert best_first(prepared) in names


@pytest.mark.long
@pytest.mark.parametrize("name", IDS)
@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_a_severity_off_by_30_percent_changes_no_best_first_step(name, factor):
    prepared = ready(name)
    lineup = with_severities(prepared.lineup, factor)
    _value, names = first_step(lineup, prepared.healthy)
    assert best_first(prepared) in names
