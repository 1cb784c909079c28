"""Faulty vehicles: enough to be noticed, enough to tell apart, and the curious ones by name."""

from functools import cache

import numpy as np

from lessons.catalogue import circuit_path
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, possible_faults, with_faults, write_faults
from sim.network import EVERYTHING, Configuration, configured, stack_rows
from sim.parts.family import Trigger
from tests.lessons.vehicles import Vehicle, vehicle

STRESSES = [((EVERYTHING, t),) for t in (Trigger.VIBRATION, Trigger.HEAT, Trigger.MOISTURE)]


@cache
def shown(name: str) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Give every fault: name, whether it changes an effect, and all voltages (0.1 V), per lane.

    Faults that come and go are given what brings them out; the others are not solved again.
    """
    car = vehicle(name)
    faults = [found for found, _ in possible_faults(car.circuit)]
    rows = stack_rows([car.circuit, *(with_faults(car.circuit, one) for one in faults)])
    noticed, volts = np.zeros(len(rows), dtype=bool), []
    for position in car.positions():
        calm = car.standing(*position)
        differs, read = looked_at(car, rows, calm)
        noticed |= differs
        volts.append(read)
        still = configured(car.circuit, car.solver.network, rows, calm)
        for stressed in STRESSES:
            standing = car.standing(*position, stressed=stressed)
            there = configured(car.circuit, car.solver.network, rows, standing)
            out = np.flatnonzero((there != still).any(axis=(1, 2)))
            if len(out):
                differs, some = looked_at(car, rows[[0, *out]], standing)
                noticed[out] |= differs[1:]
                volts.append(read.copy())
                volts[-1][out] = some[1:]
    names = ["sound", *(write_faults(car.circuit, one) for one in faults)]
    return names, noticed, np.concatenate(volts, axis=1)


def looked_at(
    car: Vehicle, rows: np.ndarray, standing: Configuration
) -> tuple[np.ndarray, np.ndarray]:
    """Give for every lane whether anything differs from the first, and its voltages."""
    solution = car.solve(rows, standing)
    seen = car.noticed(solution)
    differs = (seen != seen[0]).any(axis=1) | (solution.blown != 0).any(axis=1)
    return differs, np.round(solution.volts[:, :-4], 1) + 0.0


def test_at_least_eight_faults_can_be_told_apart_and_are_noticed(car: Vehicle) -> None:
    _names, noticed, volts = shown(car.circuit.name)
    assert len({lane.tobytes() for lane in volts[noticed]}) >= 8


def test_some_complaint_has_at_least_eight_causes_that_read_differently(car: Vehicle) -> None:
    """What a case needs: the same is noticed of all of them, and no two show the same volts."""
    faults = [found for found, _ in possible_faults(car.circuit)]
    rows = stack_rows([car.circuit, *(with_faults(car.circuit, one) for one in faults)])
    causes: dict[tuple, set[bytes]] = {}
    for position in car.positions():
        solution = car.solve(rows, car.standing(*position))
        volts = np.round(solution.volts[:, :-4], 1) + 0.0
        for seen, lane in zip(car.noticed(solution), volts, strict=True):
            causes.setdefault((position, seen.tobytes()), set()).add(lane.tobytes())
        sound = car.noticed(solution)[0].tobytes()
        del causes[position, sound]
    assert max(len(found) for found in causes.values()) >= 8


def test_every_fault_that_the_file_names_is_noticed_or_read(car: Vehicle) -> None:
    names, noticed, volts = shown(car.circuit.name)
    for note in car.circuit.notes:
        name = write_faults(car.circuit, note.faults)
        lane = names.index(name)
        assert noticed[lane] or (volts[lane] != volts[0]).any(), name


def test_a_lost_ground_sends_the_current_back_through_the_main_beams() -> None:
    """Dipped beam left, main beams left and right in series: none of them as it should be."""
    car = vehicle("headlamps")
    lost = with_faults(car.circuit, car.circuit.notes[0].faults)
    assert write_faults(car.circuit, lost.parts["C3"].faults) == "C3.1=open"
    solution = car.solve(stack_rows([car.circuit, lost]), car.standing("head", "dipped"))
    network = car.solver.network
    left, back = (solution.current[1, network.element(f"{name} filament")] for name in ("E1", "E2"))
    assert back < -1.0  # out of the feed of the lamp that is off
    assert 0.0 < left < solution.current[0, network.element("E1 filament")]


def test_a_headlamp_bulb_in_place_of_the_tail_lamps_fuse_tells_where_the_short_is() -> None:
    """In series it takes nearly all of the volts while the short is there, and few without it."""
    whole = read_circuit(circuit_path("tail-lamps"))
    bench = Bench(with_faults(whole, parse_faults(whole, "wire 12=short to ground:0.05 ohm")))
    holder = {"red": "F3.1", "black": "F3.2"}
    seen = []
    for do in ({"set": {"side lamps": "on"}}, {"pull": "F3"}, {"unplug": "C6"}):
        bench.do(action_from_json(do))
        if "set" not in do:
            bulb = bench.do(action_from_json({"load": "55 W", **holder})).reading
            small = bench.do(action_from_json({"lamp": True, **holder})).reading
            assert bulb is not None
            assert small is not None
            assert small.words == "bright"  # with the short and without
            seen.append(float(bulb.value))
    assert seen[0] > 11.0
    assert seen[1] < 4.0
