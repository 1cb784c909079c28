"""Slow time: what a load takes out of a battery, and what the bench's clock does to readings."""

from dataclasses import replace

import numpy as np
import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit, Control, Fault, Part, Place
from sim.faults import with_faults
from sim.observe import Fleet, observe
from sim.parts import FAMILIES
from sim.parts.fuse_curve import opening_time
from sim.situation import Situation

ON = {"key": "run", "heater switch": "on"}


def test_ampere_hours_are_amperes_times_hours(heater: Circuit) -> None:
    """LIEC vol. I ch. 11: ideally 70 Ah give 3.5 A for 20 h; half an hour of 13 A is 6.5 Ah."""
    bench = Bench(heater)
    bench.do(action_from_json({"set": ON}))
    amps = abs(float(bench.do(action_from_json({"clamp": "wire 12"})).reading.value))
    before = bench.memory.drawn[0, 0]
    bench.do(action_from_json({"wait": "30 min"}))
    hours = (bench.memory.drawn[0, 0] - before) / 3600
    assert hours == pytest.approx(amps * 0.5, rel=0.02)
    assert amps > 10


def test_a_battery_that_gives_stands_lower_afterwards(heater: Circuit) -> None:
    """Battery Council table: 85 % is 12.53 V, and 12.06 V when a quarter is left."""
    bench = Bench(heater)
    volts = {"measure": "volts", "red": "B1.+", "black": "B1.-"}
    rested = float(bench.do(action_from_json(volts)).reading.value)
    for do in ({"set": ON}, {"wait": "3 h"}, {"set": {"key": "off", "heater switch": "off"}}):
        bench.do(action_from_json(do))
    after = float(bench.do(action_from_json(volts)).reading.value)
    left = 0.85 - bench.memory.drawn[0, 0] / (70 * 3600)
    assert rested == pytest.approx(12.53, abs=0.01)
    assert 0.2 < left < 0.4
    assert after == pytest.approx(12.06 + (left - 0.25) / 0.25 * 0.18, abs=0.01)


def test_a_battery_never_holds_less_than_nothing(heater: Circuit) -> None:
    bench = Bench(heater)
    bench.do(action_from_json({"set": ON}))
    for _day in range(2):
        bench.do(action_from_json({"wait": "24 h"}))
    assert bench.memory.drawn[0, 0] == pytest.approx(0.85 * 70 * 3600)


def test_one_wait_or_two_make_the_same_hour(heater: Circuit) -> None:
    fleet = Fleet.of([heater])
    ends = []
    for waits in (["2 h"], ["1 h", "1 h"]):
        situation, memory = Situation(controls=tuple(sorted(ON.items()))), None
        memory = fleet.fresh_memory(situation)
        for wait in waits:
            seen = observe(fleet, situation, memory, action_from_json({"wait": wait}))
            situation, memory = seen.situation, seen.memory
        ends.append(memory.drawn[0, 0])
    assert ends[0] == pytest.approx(ends[1], rel=1e-9)


def fused_lamps(watts: float, rating: float) -> Circuit:
    """Give a battery, a fuse and lamps behind it: the smallest vehicle with an overload."""
    places = {"here": Place("here", 1.0, 0.5)}
    values = {key: p.default for key, p in FAMILIES["battery"].parameters.items()}
    fuse = {key: p.default for key, p in FAMILIES["blade fuse"].parameters.items()}
    parts = {
        "B1": Part("B1", "battery", "here", {**values, "charge": 1.0}),
        "X1": Part("X1", "ground stud", "here", {}),
        "F1": Part("F1", "blade fuse", "here", {**fuse, "rating": rating}),
        "E1": Part("E1", "horn", "here", {"voltage": 12.0, "power": watts}),
    }
    ends = {1: ("B1.-", "X1.ring"), 2: ("B1.+", "F1.1"), 3: ("F1.2", "E1.1"), 4: ("E1.2", "body")}
    loose = {key: p.default for key, p in FAMILIES["wire"].parameters.items()}
    for number, (start, end) in ends.items():
        size = {"from": start, "to": end, "colour": "red", "area": 4e-6, "length": 0.5}
        parts[f"wire {number}"] = Part(f"wire {number}", "wire", "", {**loose, **size})
    return Circuit("lamps", "lamps", "none", places, parts, {}, {}, {})


@pytest.mark.parametrize(
    ("watts", "waits", "blown"),
    [(170.0, ["10 s"], False), (170.0, ["10 s"] * 12, True), (110.0, ["24 h"], False)],
)
def test_a_fuse_stands_an_overload_for_a_while_and_not_for_long(
    watts: float, waits: list[str], *, blown: bool
) -> None:
    """ISO 8820-3: at 135 % it opens between 0.75 s and 600 s; at 100 % it holds for 100 h."""
    bench = Bench(fused_lamps(watts, 10.0), situation=Situation(apart=("F1",)))
    bench.do(action_from_json({"insert": "F1"}))
    for wait in waits:
        bench.do(action_from_json({"wait": wait}))
    assert bool(bench.memory.blown[0, bench.fleet.solver.network.fuse_names.index("F1")]) is blown


def night() -> Circuit:
    """Give a battery, a fuse and one unit that falls asleep 10 min after the door was shut."""
    whole = fused_lamps(60.0, 10.0)
    unit = {key: p.default for key, p in FAMILIES["sleeping unit"].parameters.items()}
    values = {**unit, "falls asleep after": 600.0, "woken by": "door"}
    parts = {n: p for n, p in whole.parts.items() if n not in ("E1", "wire 3", "wire 4")}
    parts["A1"] = Part("A1", "sleeping unit", "here", values)
    size = {"colour": "red", "area": 1e-6, "length": 0.5}
    loose = {key: p.default for key, p in FAMILIES["wire"].parameters.items()}
    for number, ends in {3: ("F1.2", "A1.30"), 4: ("A1.31", "body")}.items():
        wire = {**loose, **size, "from": ends[0], "to": ends[1]}
        parts[f"wire {number}"] = Part(f"wire {number}", "wire", "", wire)
    return replace(whole, parts=parts, controls={"door": Control("door", ("shut", "open"), ())})


def draw(bench: Bench) -> float:
    """Give what the unit draws in mA."""
    solver = bench.fleet.solver
    rows = bench.fleet.slow.present(
        bench.circuit, bench.fleet.rows.copy(), bench.situation, bench.memory
    )
    lanes = replace(solver.lanes(np.arange(1)), blown=bench.memory.blown)
    number = solver.network.element("A1 load")
    return 1e3 * float(solver.solve(rows, lanes).current[0, number])


def test_a_unit_falls_asleep_and_is_woken() -> None:
    bench = Bench(night())
    assert draw(bench) == pytest.approx(3.0, rel=0.1)
    seen = []
    for do in (
        {"set": {"door": "open"}},
        {"wait": "30 min"},
        {"set": {"door": "shut"}},
        {"wait": "9 min"},
        {"wait": "2 min"},
    ):
        bench.do(action_from_json(do))
        seen.append(draw(bench) > 300.0)
    assert seen == [True, True, True, True, False]


def test_a_fuse_that_is_put_back_wakes_what_it_feeds() -> None:
    """The mistake of hunting a drain by pulling fuses."""
    bench = Bench(night())
    bench.do(action_from_json({"pull": "F1"}))
    bench.do(action_from_json({"insert": "F1"}))
    assert draw(bench) > 300.0
    bench.do(action_from_json({"wait": "11 min"}))
    assert draw(bench) < 5.0


def test_one_that_never_falls_asleep_drinks_on() -> None:
    bench = Bench(with_faults(night(), [Fault("A1", "never falls asleep")]))
    bench.do(action_from_json({"wait": "10 h"}))
    assert bench.memory.drawn[0, 0] / 3600 == pytest.approx(0.4 * 10, rel=0.06)


@pytest.mark.parametrize(("amps", "days"), [(0.05, 25.0), (0.1, 12.5), (0.5, 2.5)])
def test_run_down_to_half(amps: float, days: float) -> None:
    """60 Ah to 50 %: 50 mA 25 d, 100 mA 12.5 d, 0.5 A 2.5 d; a resistor, so a little slower."""
    circuit = fused_lamps(12.65**2 / (12.65 / amps), 10.0)
    horn = replace(circuit.parts["E1"], values={"voltage": 12.65, "power": 12.65 * amps})
    battery = circuit.parts["B1"]
    full = replace(battery, values={**battery.values, "capacity": 60 * 3600.0})
    bench = Bench(replace(circuit, parts={**circuit.parts, "E1": horn, "B1": full}))
    for _wait in range(10):
        for _day in range(1 + int(days / 10)):
            bench.do(action_from_json({"wait": f"{days * 2.4 / (1 + int(days / 10)):.6f} h"}))
    left = 1 - bench.memory.drawn[0, 0] / (60 * 3600)
    assert left == pytest.approx(0.5, abs=0.02)


def test_an_ammeter_in_place_of_a_fuse_wakes_what_it_feeds_and_then_it_falls_asleep() -> None:
    """0.4 A awake and 3 mA asleep: read too early, the meter shows a draw that is none."""
    bench = Bench(night())
    amps = action_from_json({"measure": "amps", "red": "F1.1", "black": "F1.2"})
    bench.do(action_from_json({"pull": "F1"}))
    early = bench.do(amps).reading
    bench.do(action_from_json({"wait": "11 min"}))
    late = bench.do(amps).reading
    assert float(early.value) == pytest.approx(0.4, rel=0.1)
    assert float(late.value) == pytest.approx(0.003, abs=0.001)


def test_a_meter_that_blows_on_the_awake_current_blows() -> None:
    """400 mA is what the milliamps jack stands; 0.8 A is more."""
    whole = night()
    unit = replace(whole.parts["A1"], values={**whole.parts["A1"].values, "awake": 0.8})
    bench = Bench(replace(whole, parts={**whole.parts, "A1": unit}))
    bench.do(action_from_json({"pull": "F1"}))
    step = bench.do(action_from_json({"measure": "milliamps", "red": "F1.1", "black": "F1.2"}))
    assert step.harm == ("the meter's 400 mA fuse has blown",)


def test_a_control_operated_during_a_reading_wakes_for_longer_than_the_reading() -> None:
    bench = Bench(night())
    look = {"measure": "volts", "red": "B1.+", "black": "body", "while": {"door": "open"}}
    bench.do(action_from_json(look))
    assert draw(bench) > 300.0
    bench.do(action_from_json({"wait": "11 min"}))
    assert draw(bench) < 5.0


@pytest.mark.parametrize("step", [10, 60, 300, 600])
def test_an_overload_heats_a_fuse_alike_however_it_is_waited_for(step: int) -> None:
    """Ten minutes in one go or in sixty: ``t / t_open(I)`` of the curve, and cooling afterwards."""
    bench = Bench(fused_lamps(148.0, 10.0), situation=Situation(apart=("F1",)))
    number = bench.fleet.solver.network.fuse_names.index("F1")
    bench.do(action_from_json({"insert": "F1"}))
    for _time in range(600 // step):
        bench.do(action_from_json({"wait": f"{step} s"}))
    flowing = bench.try_out(action_from_json({"clamp": "wire 2"})).outcome.numbers
    expected = 600.0 / float(opening_time(10.0, abs(flowing[0])))
    assert 0.1 < expected < 0.9
    assert not bench.memory.blown[0, number]
    assert bench.memory.heat[0, number] == pytest.approx(expected, rel=0.15)
    bench.do(action_from_json({"pull": "F1"}))
    bench.do(action_from_json({"wait": "10 min"}))
    assert bench.memory.heat[0, number] < 1e-3
