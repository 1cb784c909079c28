"""What it takes to judge a step with any instrument, as a student takes it: off the best path.

Run with ``python -m pytest -m benchmark_study -s -n 0 tests/benchmarks/test_instrument_speed.py``.
Every shipped case, confirmed as the customer shows it, so with its engine running where that is
how. Processor time: the action on all suspects and on the sound vehicles, and what it tells of
them. Each is done twice from the same moment, and the lesser time counts.
"""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from grader.casefile import read_case
from grader.prepared import Prepared, prepare
from grader.seen import Moment
from grader.told import Told
from sim.action import Action, action_from_json
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.vehicle import control_units
from sim.observe import observe
from tests.benchmarks.test_case_speed import CASES, CIRCUITS, Say

AGAIN = 2  # times that each is done


def steps(prepared: Prepared) -> Iterator[tuple[str, Action]]:
    """Give steps with every instrument at the leads of the case's first plain volts reading."""
    reading = next(
        choice.action
        for choice in prepared.space.choices
        if choice.action.verb == "measure" and choice.action.target == "volts"
    )
    leads = {"red": reading.red, "black": reading.black}
    shown = [setting for act in prepared.case.shows[0].doing for setting in act.settings]
    control = prepared.case.circuit.controls[shown[0][0]]
    moved = {control.name: next(p for p in control.positions if p != shown[0][1])}
    for what in ("volts", "AC volts", "hertz", "duty"):
        yield what, action_from_json({"measure": what, **leads})
    yield "volts while", action_from_json({"measure": "volts", **leads, "while": moved})
    for over in ("20 ms", "2 s"):
        screen = {"scope": {"A": list(leads.values())}, "time": over}
        yield f"oscilloscope {over}", action_from_json(screen)
    yield "oscilloscope 2 s while", action_from_json({**screen, "while": moved})
    for unit in control_units(prepared.case.circuit)[:1]:
        yield "codes", action_from_json({"scan": "codes"})
        yield "live data", action_from_json({"scan": "live data", "unit": unit.name})
        for number in list(unit.values)[:1]:
            graph = {"what": PARAMETERS[number].name, "over": "2 min"}
            yield "graph", action_from_json({"scan": "graph", "unit": unit.name, **graph})


def told(prepared: Prepared, moment: Moment, action: Action) -> float:
    """Do an action on all, work out what it tells, and give the seconds."""
    both = prepared.observed
    begun = time.process_time()
    seen = observe(both.fleet, moment.situation, moment.memory, action)
    shown = (seen.outcome.only(which) for which in (both.suspects, both.healthy))
    Told.by(action, seen.situation, *shown, prepared.lineup.corners)
    return time.process_time() - begun


@pytest.mark.parametrize("file", CASES, ids=[file.name.partition(".")[0] for file in CASES])
def test_a_step_with_any_instrument(file: Path, say: Say) -> None:
    prepared = prepare(read_case(file, CIRCUITS))
    moment = prepared.observed.start
    for action in prepared.case.confirm.doing:
        moment = prepared.observed.seen(moment, action).after()
    taken: dict[str, float] = {}
    for name, action in steps(prepared):
        taken[name] = min(told(prepared, moment, action) for _time in range(AGAIN))
    lanes = len(prepared.observed.fleet.circuits)
    figures = ", ".join(f"{name} {seconds:.2f}" for name, seconds in taken.items())
    say(f"{prepared.case.name} ({lanes} vehicles at once), s: {figures}")
    assert taken
