"""Lasting damage: an electronic switch fed beyond what it stands is open for good."""

from dataclasses import replace

import numpy as np
import pytest

from sim import harm
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.network import owner_of
from tests.sim.conftest import CIRCUITS
from tests.sim.instruments import rig
from tests.sim.van import HORN, OFF, healthy, solver, van


@pytest.fixture
def electronic(monkeypatch):
    """Take the horn button for an electronic switch that stands 5 A."""
    monkeypatch.setattr(harm, "ELECTRONIC", ("switch",))
    monkeypatch.setattr(harm, "_is_switch", lambda element: element.name == "S9 contact")
    button = healthy().parts["S9"]
    parts = {**healthy().parts, "S9": replace(button, values={**button.values, "stands": 5.0})}
    return replace(healthy(), parts=parts)


def do(bench: Bench, **what: object):
    return bench.do(action_from_json(what))


def test_a_circuit_without_electronics_has_no_limits():
    assert harm.limits(healthy(), solver().network) == ()


def test_a_jumper_from_the_battery_kills_a_switch_that_is_on(electronic):
    bench = Bench(electronic, solver())
    do(bench, set=HORN)
    assert not do(bench, measure="volts", red="S9.in", black="body").harm
    step = do(bench, bridge=["B1.+", "S9.in"])
    assert "S9: the output is dead" in step.harm
    assert "the jumper's fuse has blown" in step.harm  # which was slower
    do(bench, unbridge=True)
    assert do(bench, clamp="wire 16").reading.value == "0.0"
    assert float(do(bench, measure="volts", red="S9.in", black="body").reading.value) > 10.0


def test_a_jumper_that_is_already_on_kills_it_when_it_comes_on(electronic):
    bench = Bench(electronic, solver())
    assert do(bench, bridge=["B1.+", "S9.in"]).harm == ()
    assert "S9: the output is dead" in do(bench, set=HORN).harm
    assert do(bench, set={"horn button": "released"}).harm == ()  # told once


@pytest.mark.parametrize("load", ["4 A", "55 W"])
def test_what_it_stands_it_stands(electronic, load):
    bench = Bench(electronic, solver())
    do(bench, set=HORN)
    assert do(bench, load=load, red="S9.in", black="B1.+").harm == ()


def test_a_load_beyond_it_kills_it(electronic):
    bench = Bench(electronic, solver())
    do(bench, set=HORN)
    assert do(bench, load="20 A", red="B1.+", black="S9.in").harm == ("S9: the output is dead",)


def test_what_is_overloaded_anyway_is_the_faults_deed(electronic):
    faulty = van("", electronic)
    bench = Bench(faulty, solver())
    shorted = bench.fleet.rows.copy()
    coil = solver().network.element("K5 coil")
    shorted[:, coil, 0] = 2.0  # half an ohm: 6 A at 12 V and over, whatever anybody does
    bench.fleet = replace(bench.fleet, rows=shorted)
    do(bench, set=HORN)
    assert do(bench, bridge=["F9.2b", "K5.86"]).harm == ()


def test_old_and_new_damage_are_joined_lane_by_lane():
    assert harm.joined((), ((), ())) == ()
    assert harm.joined((), (("A",), ())) == (("A",), ())
    assert harm.joined((("A",), ()), (("A", "B"), ("C",))) == (("A", "B"), ("C",))


@pytest.mark.usefixtures("electronic")
def test_damage_opens_the_switch_of_that_lane_only():
    network = solver().network
    rows = np.ones((2, len(network.elements), 13))
    damaged = harm.damaged_rows(network, rows, (("S9",), ()))
    gone = np.argwhere(damaged[:, :, 0] == 0.0)
    assert [(lane, network.elements[n].name) for lane, n in gone] == [(0, "S9 contact")]
    assert rows.min() == 1.0
    assert owner_of(network.elements[gone[0][1]]) == "S9"


def test_a_known_good_part_is_alive_while_it_is_tried(electronic):
    bench = Bench(electronic, solver())
    bench.memory = replace(bench.memory, damaged=(("S9",),))
    do(bench, set=HORN)
    assert do(bench, clamp="wire 16").reading.value == "0.0"
    do(bench, **{"try": "S9"})
    assert float(do(bench, clamp="wire 16").reading.value) > 0.05
    do(bench, set=OFF)


def test_repairing_something_else_does_not_bring_it_back(electronic):
    bench = Bench(electronic, solver())
    bench.memory = replace(bench.memory, damaged=(("S9",),))
    bench.mend(electronic)
    assert bench.memory.damaged == (("S9",),)


OVERLOADED = {
    "a slow overload, clamped": ("wire 12=short to ground:0.9 ohm", {"clamp": "wire 2"}),
    "a slow overload, watched": (
        "wire 12=short to ground:0.9 ohm",
        {"watch": "left tail lamp lights"},
    ),
    "a chafed wire, shaken": (
        "wire 12=short to ground on vibration:0.1 ohm",
        {"shake": "everything"},
    ),
}


@pytest.mark.parametrize("case", OVERLOADED)
def test_what_the_fault_blows_while_one_looks_is_no_harm_and_is_not_told(case):
    """Nobody who watches a lamp blows its fuse, and nobody there sees the fuse panel."""
    fault, action = OVERLOADED[case]
    tail = read_circuit(CIRCUITS / "tail-lamps.circuit.yaml")
    bench = Bench(with_faults(tail, parse_faults(tail, fault)))
    do(bench, set={"side lamps": "on"})
    assert do(bench, **action).harm == ()
    assert "F3" in do(bench, look="fuse panel").reading.words


def test_a_new_fuse_where_the_old_one_blew_is_wasted_by_hand():
    tail = read_circuit(CIRCUITS / "tail-lamps.circuit.yaml")
    short = parse_faults(tail, "wire 12=short to ground:0.05 ohm")
    bench = Bench(with_faults(tail, short))
    assert do(bench, set={"side lamps": "on"}).harm == ()
    assert do(bench, renew="F3").harm == ("F3 has blown",)


@pytest.mark.parametrize(
    ("do", "dead"),
    [
        ({"bridge": ["B1.+", "V1.out"]}, True),
        ({"load": "20 A", "red": "B1.+", "black": "V1.out"}, True),
        ({"lamp": True, "red": "B1.+", "black": "V1.out"}, False),  # 0.4 A of the 10 A it stands
        ({"measure": "volts", "red": "V1.out", "black": "body"}, False),
    ],
    ids=str,
)
def test_a_driver_dies_of_what_it_does_not_stand(tmp_path, do, dead):
    """50 mohm that may drop 0.5 V: 10 A. Its load of 12 ohm takes 1 A before, and none after."""
    wires = ("B1.+, R1.1", "R1.2, V1.out", "S1.run, V1.in", "V1.31, body")
    parts = [rig.resistor("R1", 12.0), "  V1: {kind: low side driver, at: bench}"]
    whole = rig.circuit(tmp_path, parts, [rig.wire(*ends.split(", ")) for ends in wires])
    bench = Bench(whole)
    stands = harm.limits(whole, bench.fleet.solver.network)
    assert [(one.part, one.amps) for one in stands] == [("V1", 10.0)]
    amps = {"clamp": "wire 4"}
    assert bench.do(action_from_json({"set": {"key": "run"}})).harm == ()
    assert float(bench.do(action_from_json(amps)).reading.value) == pytest.approx(1.0, abs=0.05)
    step = bench.do(action_from_json(do))
    assert ("V1: the output is dead" in step.harm) is dead
    if "bridge" in do:
        bench.do(action_from_json({"unbridge": True}))
    left = float(bench.do(action_from_json(amps)).reading.value)
    assert left == pytest.approx(0.0 if dead else 1.0, abs=0.05)
