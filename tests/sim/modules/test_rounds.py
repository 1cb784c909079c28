"""What has been worked out once is found again to the bit: rounds, sources, vehicles at rest."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from sim import stillness
from sim.action import action_from_json
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults
from sim.instruments.ohms import _Test
from sim.modules.pulses import solve_pulsed, sourced, with_sources
from sim.modules.rounds import Rounds
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim.test_shared import _same

CIRCUITS = Path(__file__).parents[3] / "lessons" / "circuits"
READINGS = (
    {"measure": "volts", "red": "A1.8", "black": "body"},
    {"measure": "ohms", "red": "M1.30", "black": "body"},
    {"measure": "ohms", "red": "A1.8", "black": "M1.31"},
    {"lamp": True, "red": "M1.30", "black": "M1.31"},
    {"clamp": "wire 13"},
    {"watch": "the pump hums"},
    {"unplug": "M1"},
    {"wait": "5 min"},
)


@pytest.fixture(scope="module")
def fleet() -> Fleet:
    """Give a vehicle with two units with rules, every third of its faults, and itself sound."""
    circuit = read_circuit(CIRCUITS / "coolant-pump-last.circuit.yaml")
    faults = [faults for faults, _ in possible_faults(circuit)]
    return Fleet.of([circuit, *(with_faults(circuit, one) for one in faults[::3])])


def shown(fleet: Fleet) -> Iterator[object]:
    """Give what readings show and leave, each from the same bench with the key on."""
    key = action_from_json({"set": {"key": "run"}})
    start = observe(fleet, Situation(), fleet.fresh_memory(), key)
    for do in READINGS:
        yield observe(fleet, start.situation, start.memory, action_from_json(do))


@pytest.mark.parametrize(
    ("place", "name", "instead"),
    [
        (Rounds, "_like", lambda _self, *_stand: None),
        (stillness, "afterwards", lambda view: view.solve(view.memory)),
        (_Test, "_put", lambda self, rows, _anew: self.view.put("meter", rows)),
    ],
    ids=["rounds", "still", "ohms"],
)
def test_what_is_found_again_is_what_is_worked_out_anew(
    fleet: Fleet, monkeypatch: pytest.MonkeyPatch, place: object, name: str, instead: object
) -> None:
    kept, used = getattr(place, name), []

    def watched(self: object, *stand: object) -> object:
        found = kept(self, *stand)
        used.append(found)
        return found

    monkeypatch.setattr(place, name, watched)
    ours = list(shown(fleet))
    assert any(found is not None for found in used) or name == "_put"
    monkeypatch.setattr(place, name, instead)
    for do, one, other in zip(READINGS, ours, shown(fleet), strict=True):
        assert _same(one, other), do


def test_rounds_that_come_back_are_solved_once(
    fleet: Fleet, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = []
    monkeypatch.setattr(
        "sim.modules.rounds.solve_pulsed", lambda *how: made.append(1) or solve_pulsed(*how)
    )
    list(shown(fleet))
    few = len(made)
    made.clear()
    monkeypatch.setattr(Rounds, "_like", lambda _self, *_stand: None)
    list(shown(fleet))
    assert 0 < few < len(made)


def test_lanes_of_one_variant_share_rows_where_their_sources_are_alike(fleet: Fleet) -> None:
    count, chance = 40, np.random.default_rng(7)
    variant = chance.integers(0, len(fleet.rows), count)
    shares = chance.choice([0.0, 0.3, 1.0], (count, len(fleet.modules.driven)))
    rows, number = sourced(fleet.modules, fleet.rows, variant, shares)
    wanted = with_sources(fleet.modules, fleet.rows[variant], shares)
    assert rows[number].tobytes() == wanted.tobytes()
    some, same = np.tile([3, 5], 20), np.full((count, len(fleet.modules.driven)), 0.3)
    alike = sourced(fleet.modules, fleet.rows, some, same)
    assert len(alike[0]) == 2
    assert (
        alike[0][alike[1]].tobytes()
        == with_sources(fleet.modules, fleet.rows[some], same).tobytes()
    )


def test_rows_in_which_sources_stand_already_are_taken_as_they_are(fleet: Fleet) -> None:
    every = np.arange(len(fleet.rows))
    shares = np.full((len(every), len(fleet.modules.driven)), 0.3)
    ready = with_sources(fleet.modules, fleet.rows, shares)
    rows, number = sourced(fleet.modules, ready, every, shares)
    assert rows is ready
    assert number.tolist() == every.tolist()
    shares[4] = 0.7
    rows, number = sourced(fleet.modules, ready, every, shares)
    assert rows[number].tobytes() == with_sources(fleet.modules, ready, shares).tobytes()
    assert rows is not ready
