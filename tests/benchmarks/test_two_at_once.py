"""Two faults at once: every shipped case of up to 40 suspects with all pairs of them as suspects.

Run with ``python -m pytest -m benchmark_study -s -n 0 tests/benchmarks/test_two_at_once.py``.
Every two suspects at different points that show the complaint together are one more suspect, as
likely as both by chance where one vehicle in ten has any fault (ours); what mends it is both units,
for the work and the price of both. Every plain reading is solved on all of them; the best path is
searched until it is exact, or until `BUDGET` states have been looked at. Processor time; nothing is
asserted about time. `HALFSPLIT_CASES` names the cases wanted, parted by commas.
"""

import itertools
import os
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from grader.case import Case, Option, RepairUnit
from grader.casefile import read_case
from grader.outcomes import explore, problem_of
from grader.policy import Policy
from grader.suspects import Lineup, Suspect, corner_circuits, line_up, shows_complaint
from sim.fleet import Fleet

Say = Callable[[str], None]
CASES = sorted((Path(__file__).parents[2] / "lessons/source").rglob("*.case.yaml"))
CIRCUITS = Path(__file__).parents[2] / "lessons/circuits"
WANTED = os.environ.get("HALFSPLIT_CASES", "")
MOST, BUDGET = 40, 50_000
ANY_FAULT = 0.1  # share of vehicles that have one; ours


def is_wanted(file: Path) -> bool:
    return not WANTED or file.name.partition(".")[0] in WANTED.split(",")


def both(one: RepairUnit, two: RepairUnit) -> RepairUnit:
    """Give what mends either of two units; one that mends both faults by itself is that one."""
    if one == two:
        return one
    name = " and ".join(sorted((one.name, two.name)))
    option = Option("both", one.cheapest.price + two.cheapest.price)
    places = tuple(dict.fromkeys((*one.places, *two.places)))
    minutes = one.labour_minutes + two.labour_minutes
    return RepairUnit(name, (*one.mends, *two.mends), minutes, (option,), places)


def with_pairs(lineup: Lineup) -> Lineup:
    """Give single suspects and pairs of them."""
    whole = sum(suspect.likelihood for suspect in lineup.suspects) / ANY_FAULT
    pairs = [
        Suspect(
            f"{one.name} + {two.name}",
            one.faults + two.faults,
            one.likelihood * two.likelihood / whole,
            unit=both(one.unit, two.unit),
        )
        for one, two in itertools.combinations(lineup.suspects, 2)
        if {fault.point for fault in one.faults}.isdisjoint(fault.point for fault in two.faults)
    ]
    corners = corner_circuits(lineup.case)

    def fleet(suspects: list[Suspect]) -> Fleet:
        return Fleet.of([s.on(c) for s in suspects for c in corners], lineup.fleet.solver)

    shown = shows_complaint(lineup.case, fleet(pairs)).reshape(len(pairs), len(corners))
    every = [*lineup.suspects, *(p for p, shows in zip(pairs, shown, strict=True) if shows.all())]
    units = tuple({suspect.unit.name: suspect.unit for suspect in every}.values())
    case = replace(lineup.case, units=units)
    return Lineup(case, tuple(every), fleet(every), len(corners))


@pytest.mark.parametrize(
    "file",
    [file for file in CASES if is_wanted(file)],
    ids=lambda file: file.name.partition(".")[0],
)
def test_pairs_of_a_shipped_case(file: Path, say: Say) -> None:
    case: Case = read_case(file, CIRCUITS)
    single = line_up(case)
    if len(single.suspects) > MOST:
        say(f"{case.name}: {len(single.suspects)} single suspects, more than {MOST}")
        return
    lineup = with_pairs(single)
    begun = time.process_time()
    healthy = Fleet.of(corner_circuits(case), lineup.fleet.solver)
    space = explore(lineup, healthy)
    explored = time.process_time()
    policy = Policy(problem_of(lineup, space, np.asarray(lineup.likelihoods)), nodes=BUDGET)
    value = policy.value(policy.everything)
    solved = time.process_time()
    assert value.lower <= value.upper
    gap = "exact" if value.lower == value.upper else f"gap {value.upper / value.lower - 1:.1%}"
    say(
        f"{case.name}: {len(single.suspects)} suspects, {len(lineup.suspects)} with pairs, x"
        f" {len(space.choices)} tests: {value.lower:.3f} <= V <= {value.upper:.3f} min, {gap};"
        f" explored {explored - begun:.1f} s, best path {solved - explored:.1f} s"
    )
