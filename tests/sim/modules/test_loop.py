"""Rules tied to a circuit: thresholds, delays by the bench's clock, sleep, batches."""

import numpy as np
import pytest

from sim.action import action_from_json
from sim.faults import parse_faults, with_faults
from sim.modules.loop import Settled, solve_standing
from sim.modules.wiring import Modules
from sim.network import configured
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim import van
from tests.sim.modules.stand import Stand, circuit, same_bits, solver, told_by

ON = {"ignition": "on"}
FAULTS = (
    "",
    "R4.1=open",
    "R4=shorted",
    "A3.30=open",
    "A3=dead",
    "A3.9=stuck on",
    "A3.9=stuck off",
    "A3.31=high resistance:1.2 ohm",
    "F1=open",
    "wire 11=short to ground:0.1 ohm",
)


def running(faults: str = "", coolant: str = "hot 105 degC") -> Stand:
    stand = Stand("fan", faults)
    stand.set(**ON, coolant=coolant)
    return stand


def test_the_fan_follows_the_coolant_with_hysteresis_and_after_run():
    stand = running(coolant="warm 85 degC")
    assert not stand.sees("the fan runs")
    stand.set(coolant="hot 105 degC")
    assert stand.sees("the fan runs")
    stand.set(coolant="warm 85 degC")
    stand.wait("29 s")
    assert stand.on("fan wanted")
    stand.wait("2 s")
    assert not stand.on("fan wanted")
    assert not stand.sees("the fan runs")


def test_what_is_due_happens_at_its_own_time_however_one_waits():
    by_steps, at_once = running(), running()
    for stand in (by_steps, at_once):
        stand.set(coolant="warm 85 degC")
    for _second in range(31):
        by_steps.wait("1 s")
    at_once.wait("31 s")
    drawn = [stand.bench.memory.drawn[0, 0] for stand in (by_steps, at_once)]
    assert drawn[0] == pytest.approx(drawn[1], rel=1e-3)  # one second too many: 3 %
    assert not by_steps.on("fan wanted")
    assert not at_once.on("fan wanted")


def test_it_falls_asleep_and_wakes():
    stand = running(coolant="cold 20 degC")
    stand.set(ignition="off")
    stand.wait("9 min")
    assert stand.told.awake[0]
    awake = float(stand.do(clamp="wire 3").value)
    stand.wait("70 s")
    assert not stand.told.awake[0]
    assert stand.told.working[0]
    asleep = stand.do(clamp="wire 3")
    assert awake == pytest.approx(0.2, abs=0.05)
    assert float(asleep.value) < 0.05
    stand.set(**ON)
    assert stand.told.awake[0]


def test_handed_over_it_has_long_been_asleep():
    assert not Stand("fan").told.awake[0]


def test_minutes_of_work_count():
    """Unplugging takes minutes: the doubt of two seconds is over when it is looked at again."""
    stand = running(coolant="cold 20 degC")
    stand.do(unplug="R4")
    assert not stand.told.inputs["coolant"].implausible[0]
    stand.do(unplug="E1")
    assert stand.told.inputs["coolant"].implausible[0]


def test_a_unit_without_power_or_dead_decides_nothing():
    for fault in ("A3.30=open", "A3=dead", "F1=open"):
        stand = running(fault)
        assert not stand.told.working[0], fault
        assert not stand.sees("the fan runs"), fault


def test_stuck_outputs_do_not_ask_the_rules():
    assert running("A3.9=stuck on", "cold 20 degC").sees("the fan runs")
    assert not running("A3.9=stuck off").sees("the fan runs")


def test_one_and_many_give_the_same_bits():
    whole = circuit("fan")
    each = [with_faults(whole, parse_faults(whole, f)) if f else whole for f in FAULTS]
    start = Situation(controls=(("coolant", "hot 105 degC"), ("ignition", "on")))
    fleets = [Fleet.of(each * 20, solver("fan")), *(Fleet.of([one], solver("fan")) for one in each)]
    solutions = []
    for fleet in fleets:
        rows = configured(whole, fleet.solver.network, fleet.rows, start.configuration)
        lanes = fleet.solver.lanes(np.arange(len(fleet.circuits)))
        solutions.append(solve_standing(fleet.solver, fleet.modules, rows, lanes))
    many, ones = solutions[0], solutions[1:]
    for number, one in enumerate(ones):
        for lane in range(number, len(many.status), len(each)):
            assert same_bits(many.volts[lane], one.volts[0]), FAULTS[number]
            assert same_bits(many.current[lane], one.current[0]), FAULTS[number]
            assert same_bits(many.held.shares[lane], one.held.shares[0]), FAULTS[number]


def test_waiting_gives_the_same_bits_whoever_stands_beside():
    whole = circuit("fan")
    each = [with_faults(whole, parse_faults(whole, f)) if f else whole for f in FAULTS]
    start = Situation(controls=(("coolant", "hot 105 degC"), ("ignition", "on")))
    cool = action_from_json({"set": {"coolant": "warm 85 degC"}})
    wait = action_from_json({"wait": "3 min"})

    def after(circuits):
        fleet = Fleet.of(circuits, solver("fan"))
        situation, memory = start, fleet.fresh_memory(start)
        for action in (cool, wait):
            seen = observe(fleet, situation, memory, action)
            situation, memory = seen.situation, seen.memory
        return memory

    many = after(each)
    for lane, one in enumerate(after([c]) for c in each):
        for name in ("drawn", "heat", "closed", "blown"):
            mine, theirs = getattr(many, name)[lane], getattr(one, name)[0]
            assert same_bits(mine, theirs), (FAULTS[lane], name)


def test_a_circuit_without_modules_is_solved_as_ever():
    shared = van.solver()
    modules = Modules.of(shared.network, van.healthy())
    fleet = Fleet.of([van.healthy()], shared)
    solution = solve_standing(shared, modules, fleet.rows, shared.lanes(np.arange(1)))
    assert not isinstance(solution, Settled)


def test_what_it_tells_is_what_was_measured():
    stand = running(coolant="hot 105 degC")
    one = stand.told
    assert one.inputs["coolant"].actual[0] == pytest.approx(105.0, abs=0.5)
    assert one.switches["ignition"][0]
    assert one.decisions["fan wanted"][0]
    assert one.volts["4"][0] == pytest.approx(stand.volts("A3.4", "A3.31"), abs=2e-3)
    assert one.outputs == pytest.approx({"9": 1.0, "10": 0.852}, abs=0.005)
    assert not any(fails.any() for fails in one.faulty().values())
    assert told_by(stand.bench.fleet, stand.bench.situation, stand.bench.memory).keys() == {"A3"}
