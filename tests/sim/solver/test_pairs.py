"""A meter as a change of low rank never differs by 1 mV from the whole circuit solved with it."""

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.access import probe_points
from sim.bus.ports import has_bus
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, possible_faults, with_faults
from sim.instruments import multimeter
from sim.network import Configuration, Floats, configured, stack_rows
from sim.solver.pairs import Meter, PairReadings, all_pairs
from sim.solver.steady import Lanes, Solution, Solver
from tests.sim.conftest import SHIPPED
from tests.turns import by_turns

CIRCUITS = Path(__file__).parents[3] / "lessons" / "circuits"
MILLIVOLT = 1e-3
SOME_POINTS = 16
SOME_CONDITIONS = 8  # in the ordinary line; the study marked `long` has all
MANY = 300_000  # readings of a circuit in that study; it all would take five hours
METER = Meter(
    multimeter.INPUT_RESISTANCE,
    multimeter.TEST_VOLTAGE,
    multimeter.SERIES,
    multimeter.FULL_SCALE,
    multimeter.LEADS_ZEROED,
)


def conditions(circuit: Circuit) -> list[Configuration]:
    chosen = itertools.product(*(control.positions for control in circuit.controls.values()))
    return [Configuration(tuple(zip(circuit.controls, one, strict=True))) for one in chosen]


def some_conditions(circuit: Circuit) -> list[Configuration]:
    """Give some of many conditions: every position of every control, and others drawn; the last."""
    everything, controls = conditions(circuit), circuit.controls
    if len(everything) <= SOME_CONDITIONS:
        return everything
    turns = range(max(len(control.positions) for control in controls.values()))
    chosen = [
        Configuration(
            tuple((n, one.positions[turn % len(one.positions)]) for n, one in controls.items())
        )
        for turn in turns
    ]
    drawn = np.random.default_rng(5).permutation(len(everything))
    chosen += [everything[-1], *(everything[place] for place in drawn)]
    return list(dict.fromkeys(chosen))[:SOME_CONDITIONS]


def points_of(circuit: Circuit, solver: Solver) -> np.ndarray:
    names = set(probe_points(circuit)) & set(solver.network.nodes)
    return np.array(sorted(solver.network.node(name) for name in names))


def all_faults(circuit: Circuit) -> Floats:
    """Give the rows of a circuit, sound and with every fault."""
    faulty = (with_faults(circuit, faults) for faults, _ in possible_faults(circuit))
    return stack_rows([circuit, *faulty])


def prepared(
    solver: Solver, circuit: Circuit, faulty: Floats, condition: Configuration
) -> tuple[Solver, Floats, Lanes, Solution]:
    rows = configured(circuit, solver.network, faulty, condition)
    lanes = solver.lanes(np.arange(len(rows)))
    return solver, rows, lanes, solver.solve(rows, lanes)


def jack_volts(
    solver: Solver,
    rows: Floats,
    state: tuple[Lanes, Solution],
    where: np.ndarray,
    pairs: np.ndarray,
    series: np.ndarray,
    emf: float,
) -> Floats:
    """Solve the whole circuit at (lane, pair) with a meter in it; give the volts at its jacks."""
    before, solution = state
    lanes = solver.lanes(before.variant[where[:, 0]])
    lanes = replace(lanes, closed=solution.closed[where[:, 0]], blown=solution.blown[where[:, 0]])
    lanes.instruments[:, 0, 0], lanes.instruments[:, 0, 1] = 1.0 / series, emf
    lanes.attached[:, :2] = pairs[where[:, 1]]
    whole = solver.solve(rows, lanes)
    assert not whole.status.any()
    return whole.drop[:, solver.network.element("meter")]


State = tuple[Solver, Floats, Lanes, Solution]


def compare(
    solver: Solver, circuit: Circuit, faulty: Floats, condition: Configuration, seed: int
) -> PairReadings:
    """Compare readings with whole solutions: every lane, at ten random pairs.

    A pair of its own costs a program of its own, some hundred times what a lane costs. Where
    control units or a bus have many readings solved whole, some points are drawn each time.
    """
    state, points = prepared(solver, circuit, faulty, condition), points_of(circuit, solver)
    if not bends_little(solver, circuit):
        points = np.sort(np.random.default_rng(seed).permutation(points)[:SOME_POINTS])
    found = all_pairs(*state, points, METER, ohms=True)
    lanes, pairs = found.volts.shape
    some = np.random.default_rng(seed).choice(pairs, min(10, pairs), replace=False)
    compare_at(state, found, every(lanes, some))
    return found


def bends_little(solver: Solver, circuit: Circuit) -> bool:
    """Tell whether a meter leaves nearly everything as straight as it was."""
    return not circuit.modules and not has_bus(solver.network)


def every(lanes: int, pairs: np.ndarray) -> np.ndarray:
    """Return every (lane, pair)."""
    return np.stack(np.meshgrid(np.arange(lanes), pairs, indexing="ij"), axis=-1).reshape(-1, 2)


def readings(circuit: Circuit, state: State) -> PairReadings:
    return all_pairs(*state, points_of(circuit, state[0]), METER, ohms=True)


def compare_at(state: State, found: PairReadings, where: np.ndarray) -> None:
    """Compare readings with whole solutions at (lane, pair)."""
    solver, rows, *rest = state
    load = np.full(len(where), METER.input_resistance)
    whole = jack_volts(solver, rows, tuple(rest), where, found.pairs, load, 0.0)
    assert np.abs(found.volts[tuple(where.T)] - whole).max() < MILLIVOLT
    compare_ohms(solver, rows, tuple(rest), where, found)


def compare_ohms(
    solver: Solver,
    rows: Floats,
    state: tuple[Lanes, Solution],
    where: np.ndarray,
    found: PairReadings,
) -> None:
    """Compare ohms, as volts at the jacks in the range that whole solutions choose."""
    series, scales = np.array(METER.series), np.array(METER.full_scale)
    emf, zeroed, last = METER.test_voltage, METER.zeroed, len(METER.series) - 1

    def shown(choice: np.ndarray, some: np.ndarray) -> Floats:
        drop = jack_volts(solver, rows, state, where[some], found.pairs, series[choice], emf)
        with np.errstate(divide="ignore", invalid="ignore"):
            ohms = series[choice] * drop / (emf - drop) - zeroed
        return np.where(drop < emf * (1 - 1e-12), ohms, np.inf)

    guess = shown(np.full(len(where), last), np.arange(len(where)))
    choice = np.minimum(np.searchsorted(scales, np.maximum(guess, 0.0), side="right"), last)
    edge = np.abs(guess[:, None] / scales - 1.0).min(axis=1) < 1e-3
    whole, again = np.empty(len(where)), np.arange(len(where))
    while len(again):
        whole[again] = shown(choice[again], again)
        again = again[(whole[again] >= scales[choice[again]]) & (choice[again] < last)]
        choice[again] += 1
    ours = found.ohms[tuple(where.T)]
    edge |= np.abs(whole / scales[choice] - 1.0) < 1e-3
    over = ~(whole < scales[choice])
    assert (np.isinf(ours) == over)[~edge].all()
    both = np.flatnonzero(np.isfinite(ours) & ~over & ~edge)
    at_jacks = [
        (r[both] + zeroed) * emf / (series[choice[both]] + r[both] + zeroed) for r in (ours, whole)
    ]
    assert np.abs(at_jacks[0] - at_jacks[1]).max(initial=0.0) < MILLIVOLT


@pytest.mark.parametrize("shipped", by_turns(SHIPPED, 3), indirect=True, scope="session")
def test_sampled_readings_agree_with_whole_solutions(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: Floats
) -> None:
    for seed, condition in enumerate(some_conditions(shipped)):
        found = compare(shipped_solver, shipped, shipped_rows, condition, seed)
        if bends_little(shipped_solver, shipped):
            assert found.solved_whole < 0.01 * found.readings  # units' supplies bend too far


@pytest.mark.long
def test_every_pair_of_every_fault_agrees_with_whole_solutions(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: Floats
) -> None:
    """Every pair under every fault; where that is much, faults take turns at the conditions."""
    everything, count = conditions(shipped), math.comb(len(points_of(shipped, shipped_solver)), 2)
    met = max(MANY // (count * len(shipped_rows)), 1)  # conditions that each fault meets
    for turn, condition in enumerate(everything):
        chosen = (turn - np.arange(len(shipped_rows))) % len(everything) < met
        chosen[0] = True  # the sound vehicle meets them all
        state = prepared(shipped_solver, shipped, shipped_rows[chosen], condition)
        found = readings(shipped, state)
        lanes, pairs = found.volts.shape
        assert pairs == count
        for some in np.array_split(np.arange(pairs), math.ceil(lanes * pairs / 50_000)):
            compare_at(state, found, every(lanes, some))


def test_the_meter_is_what_bends_curved_elements(heater: Circuit) -> None:
    """Were none solved anew, the same readings would be off by more than a millivolt."""
    condition = conditions(heater)[-1]
    found = compare(Solver.of(heater), heater, all_faults(heater), condition, 4)
    assert found.solved_anew > 0


def test_without_compiled_code_it_reads_the_same(heater: Circuit) -> None:
    condition = conditions(heater)[-1]
    state = prepared(Solver.of(heater), heater, all_faults(heater), condition)
    solver, rows, lanes, solution = state
    few = np.arange(0, len(rows), 80)
    some = Lanes(*(getattr(lanes, name)[few] for name in Lanes.__slots__))
    fewer = Solution(
        solution.volts[few],
        solution.drop[few],
        solution.current[few],
        solution.closed[few],
        solution.blown[few],
        solution.status[few],
        0,
        solution.worst[few],
    )
    points = points_of(heater, solver)[::6]
    fast = all_pairs(solver, rows, some, fewer, points, METER, ohms=True)
    slow = all_pairs(replace(solver, plain=True), rows, some, fewer, points, METER, ohms=True)
    assert slow.solved_whole == slow.volts.size + slow.readings or slow.readings == 0
    assert np.abs(fast.volts - slow.volts).max() < MILLIVOLT
    assert (np.isinf(fast.ohms) == np.isinf(slow.ohms)).all()
    shown = np.isfinite(slow.ohms)
    np.testing.assert_allclose(fast.ohms[shown], slow.ohms[shown], rtol=1e-3, atol=0.05)


def test_a_reading_the_other_way_round_changes_its_sign(heater: Circuit) -> None:
    state = prepared(Solver.of(heater), heater, all_faults(heater), conditions(heater)[-1])
    solver, rows, lanes, solution = state
    points = points_of(heater, solver)
    there = all_pairs(solver, rows, lanes, solution, points, METER)
    back = all_pairs(solver, rows, lanes, solution, points[::-1].copy(), METER)
    mirrored = {tuple(pair): index for index, pair in enumerate(back.pairs.tolist())}
    order = [mirrored[b, a] for a, b in there.pairs.tolist()]
    np.testing.assert_allclose(back.volts[:, order], -there.volts, rtol=0, atol=2e-4)


def test_a_reading_behind_gigohms_among_others_is_what_it_is_alone() -> None:
    """Where a reading follows from its neighbours', what that leaves out flows through gigohms."""
    circuit = read_circuit(CIRCUITS / "added-accessory.circuit.yaml")
    solver, condition = Solver.of(circuit), Configuration((("key", "accessory"),))
    rows = stack_rows(
        [with_faults(circuit, parse_faults(circuit, "wire 19=high resistance:1 ohm"))]
    )
    state = prepared(solver, circuit, rows, condition)
    found, link = readings(circuit, state), solver.network.node("link30.2")
    some = [n for n, pair in enumerate(found.pairs.tolist()) if link in pair]
    assert len(some) > 20
    alone = [all_pairs(*state, found.pairs[n], METER, ohms=True).ohms[0, 0] for n in some]
    np.testing.assert_allclose(found.ohms[0, some], alone, rtol=1e-6, atol=1e-6)
