"""With no instrument on, vehicles are solved once for readings of several lengths, same bits."""

from pathlib import Path

import numpy as np
import pytest

from sim.action import action_from_json
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.observe import Fleet, observe, observe_together
from sim.shared import Shared, Stood
from sim.situation import Situation
from sim.view import View

CIRCUITS = Path(__file__).parents[2] / "lessons" / "circuits"
#: The same bench, other ways to go: one minute and more between the shortest and the longest.
LENGTHS = ("A1.8", "M1.30", "B1.+")


def pump(*faults: str) -> Fleet:
    circuit = read_circuit(CIRCUITS / "coolant-pump-last.circuit.yaml")
    broken = (with_faults(circuit, parse_faults(circuit, fault)) for fault in faults)
    return Fleet.of([circuit, *broken])


def actions() -> list:
    do = [{"measure": "volts", "red": point, "black": "body"} for point in LENGTHS]
    return [action_from_json(one) for one in do]


def test_lower_limits_are_solved_anew():
    solution = None  # nobody looks at it
    stood = Stood(np.array([[20.0, 30.0]]), solution)
    assert stood.holds(np.array([[20.0, 31.0]]))
    assert not stood.holds(np.array([[20.0, 29.9]]))


@pytest.mark.parametrize("running", [False, True])
def test_readings_of_several_lengths_begin_with_one_solution(running, monkeypatch):
    fleet = pump("M1=dead", "F2=open")
    situation, memory = Situation(), fleet.fresh_memory()
    if running:
        seen = observe(fleet, situation, memory, action_from_json({"set": {"key": "run"}}))
        situation, memory = seen.situation, seen.memory
    asked, solve = [], View.solve

    def counted(view, *args, **more):
        asked.append(view)
        return solve(view, *args, **more)

    monkeypatch.setattr(View, "solve", counted)
    together = list(observe_together(fleet, situation, memory, actions(), Shared()))
    beside = len(asked)
    asked.clear()
    alone = [observe(fleet, situation, memory, action) for action in actions()]
    assert beside < len(asked)
    lengths = {one.situation.clock for one in alone}
    assert len(lengths) == len(LENGTHS)
    for outcome, one in zip(together, alone, strict=True):
        assert outcome.numbers.tobytes() == one.outcome.numbers.tobytes()
        assert outcome.restless == one.outcome.restless


def test_what_control_units_carry_makes_no_difference_to_a_reading():
    fleet = pump("R4=open", "A1.4=open")
    benches = [(Situation(), fleet.fresh_memory(driven_with=way)) for way in (True, False)]
    assert benches[0][1].units
    assert not benches[1][1].units
    for do in (
        {"set": {"key": "run"}},
        {"wait": "5 min"},
        {"measure": "volts", "red": "M1.30", "black": "body"},
        {"unplug": "C3"},
        {"measure": "volts", "red": "A1.8", "black": "body"},
        {"watch": "the pump hums"},
    ):
        shown = [observe(fleet, *bench, action_from_json(do)) for bench in benches]
        benches = [(one.situation, one.memory) for one in shown]
        one, other = (found.outcome for found in shown)
        assert one.words == other.words
        assert one.restless == other.restless
        assert (one.numbers is None) == (other.numbers is None)
        if one.numbers is not None:
            assert one.numbers.tobytes() == other.numbers.tobytes()
        assert benches[0][1].blown.tobytes() == benches[1][1].blown.tobytes()
