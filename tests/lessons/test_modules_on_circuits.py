"""The shipped vehicles with modules: what they believe, decide and do, as a technician sees it.

An unplugged thermistor reads as very cold and a shorted one as very hot: common practice, no
source. What each module then does follows from the rules of its circuit file.
"""

import re

import numpy as np
import pytest

from lessons.catalogue import circuit_path
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, possible_faults, with_faults, write_faults
from sim.network import stack_rows
from tests.lessons.vehicles import NAMES, vehicle

#: vehicle: what sets it going, and its coolant sensor with the wire between it and the unit
PUMPS = ("coolant-pump-off", "coolant-pump-full", "coolant-pump-last")
RUNNING = {
    "engine-sensors": {"key": "run", "engine": "idling 35 kPa"},
    **{pump: {"key": "run", "engine": "idling 850 rpm"} for pump in PUMPS},
}
SIGNAL = {"engine-sensors": "wire 11", **dict.fromkeys(PUMPS, "wire 9")}
COLDEST, HOTTEST = -40, 130  # degC, the ends of what the units can read
SURE = "5 s"  # until a unit has made up its mind about an input


class Car:
    """A vehicle of the course on the bench, running."""

    def __init__(self, name: str, fault: str = "", **controls: str) -> None:
        circuit = read_circuit(circuit_path(name))
        if fault:
            circuit = with_faults(circuit, parse_faults(circuit, fault))
        self.bench = Bench(circuit)
        self.do(set={**RUNNING[name], **controls})
        self.do(wait=SURE)

    def do(self, **action: object) -> str:
        reading = self.bench.do(action_from_json(action)).reading
        return "" if reading is None else reading.words

    def sees(self, effect: str) -> bool:
        return self.do(watch=effect) == "yes"

    def scanned(self, what: str, name: str) -> float:
        """Return a number of the scan tool's list."""
        found = re.search(rf"{name} (-?[\d.]+)", self.do(scan=what, unit="A1"))
        assert found is not None
        return float(found[1])

    @property
    def coolant(self) -> float:
        return self.scanned("live data", "coolant temperature")


# Thermistors


@pytest.mark.parametrize("name", RUNNING)
def test_an_unplugged_thermistor_reads_as_very_cold(name: str) -> None:
    car = Car(name)
    assert COLDEST < car.coolant < HOTTEST
    car.do(unplug="R4")
    car.do(wait=SURE)
    assert car.coolant <= COLDEST
    assert "P0118" in car.do(scan="codes")
    assert "P0117" not in car.do(scan="codes")


@pytest.mark.parametrize("name", RUNNING)
def test_a_shorted_thermistor_reads_as_very_hot(name: str) -> None:
    for fault in ("R4=shorted", f"{SIGNAL[name]}=short to ground:0.1 ohm"):
        car = Car(name, fault)
        assert car.coolant >= HOTTEST
        assert "P0117" in car.do(scan="codes")


def test_one_vehicle_believes_one_runs_for_safety_one_substitutes() -> None:
    """With a cold engine, nothing wants the pump: what runs it is the unit's own decision."""
    believes, safe, other = (Car(name, "R4=open", engine="standing") for name in PUMPS)
    assert not believes.sees("the pump hums")
    assert believes.scanned("maker data", "coolant, used") == COLDEST
    assert safe.sees("the pump hums")
    assert safe.scanned("maker data", "coolant, used") == COLDEST
    assert other.sees("the pump hums")
    assert other.scanned("maker data", "coolant, used") == 80
    for name in PUMPS:
        assert not Car(name, engine="standing").sees("the pump hums")
    hot = Car(PUMPS[0], "R4=shorted", engine="standing")
    assert hot.sees("the pump hums")  # it believes that too


def test_service_01_shows_what_is_measured_and_the_makers_data_what_is_used() -> None:
    car = Car("engine-sensors", "R4=open")
    assert car.coolant == COLDEST
    assert car.scanned("maker data", "coolant, used") == 80
    assert car.sees("warning lamp lights")
    assert not car.sees("radiator fan runs")


# One 5 V reference for three sensors

SENSORS = {
    "R5": ("manifold pressure, signal", 1.6),
    "R6": ("throttle, signal", 0.5),
    "R7": ("refrigerant, signal", 1.2),
}


def signals(car: Car) -> dict[str, float]:
    return {part: car.scanned("maker data", name) for part, (name, _) in SENSORS.items()}


@pytest.mark.parametrize("shorted", SENSORS)
def test_one_short_pulls_down_all_three_and_unplugging_it_brings_back_two(shorted: str) -> None:
    sound = signals(Car("engine-sensors"))
    assert sound == {part: pytest.approx(volts, abs=0.1) for part, (_, volts) in SENSORS.items()}
    car = Car("engine-sensors", f"{shorted}=supply shorted")
    assert all(volts < 0.2 for volts in signals(car).values())
    codes = car.do(scan="codes")
    assert all(code in codes for code in ("P0107", "P0122", "P0532"))
    for part in SENSORS:
        car.do(unplug=part)
        car.do(wait=SURE)
        found = signals(car)
        others = [other for other in SENSORS if other != part]
        back = [abs(found[other] - sound[other]) < 0.05 for other in others]
        assert all(back) if part == shorted else not any(back)
        car.do(plug=part)


# Cutting and imposing the command


def ordered(name: str, fault: str = "") -> Car:
    return Car(name, fault, heater="on")


def test_cutting_the_wire_stops_one_pump_and_not_the_others() -> None:
    off, full, last = (ordered(name) for name in PUMPS)
    for car in (off, full, last):
        assert car.sees("the pump hums")
        car.do(unplug="C4")
    assert not off.sees("the pump hums")
    assert full.sees("the pump hums")
    assert last.sees("the pump hums")


def test_cutting_the_wire_of_a_pump_at_rest_starts_one_and_not_the_others() -> None:
    off, full, last = (Car(name, engine="standing") for name in PUMPS)
    for car in (off, full, last):
        assert not car.sees("the pump hums")
        car.do(unplug="C4")
    assert not off.sees("the pump hums")
    assert full.sees("the pump hums")
    assert not last.sees("the pump hums")


@pytest.mark.parametrize("name", PUMPS)
def test_a_valid_off_stops_every_pump_but_one_whose_power_stage_has_broken_down(name: str) -> None:
    for fault, stops in (("", True), ("M1=runs with no command", False)):
        car = ordered(name, fault)
        car.do(unplug="C4")
        car.do(bridge=["C4.1b", "X3.ring"])
        assert car.sees("the pump hums") != stops


def test_a_driver_that_is_stuck_is_told_by_the_volts_of_its_wire() -> None:
    """Nothing wants the pump; the unit says so, and its own pin says something else."""
    car = Car("coolant-pump-off", "A1.8=stuck on", engine="standing")
    assert car.sees("the pump hums")
    volts = car.bench.do(
        action_from_json({"measure": "volts", "red": "C4.1a", "black": "B1.-"})
    ).reading
    assert volts is not None
    assert float(volts.value) > 10.0
    car.do(unplug="C4")
    assert not car.sees("the pump hums")


@pytest.mark.parametrize("name", [name for name in NAMES if vehicle(name).circuit.modules])
def test_no_fault_whatever_keeps_rules_and_circuit_chasing_each_other(name):
    """A unit without ground, or behind a bad joint, is held off by its own load: it rests."""
    car = vehicle(name)
    faults = [found for found, _ in possible_faults(car.circuit)]
    rows = stack_rows([car.circuit, *(with_faults(car.circuit, one) for one in faults)])
    for position in car.positions():
        solution = car.solve(rows, car.standing(*position))
        lanes = [write_faults(car.circuit, faults[n - 1]) for n in np.flatnonzero(solution.status)]
        assert lanes == [], position
