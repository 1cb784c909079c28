"""What control modules do within a curve on the oscilloscope, by the rules of the circuit file."""

from pathlib import Path

import numpy as np
import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim.modules.stand import Stand, circuit, same_bits, solver, with_

NIGHT = Path(__file__).parents[3] / "lessons" / "circuits" / "night-draw.circuit.yaml"
HOT, WARM = "hot 105 degC", "warm 85 degC"
AFTER_RUN = 30.0  # s, of the circuit file


class Screen:
    """A curve as it is shown: volts or amperes, and s."""

    def __init__(self, also: dict[str, str], seconds: float) -> None:
        low, high = (self._number(also[f"A {name}"]) for name in ("minimum", "maximum"))
        counts = np.array([float(count) for count in also["A samples"].split()])
        self.values = low + counts / 200.0 * (high - low)
        self.time = np.linspace(0.0, seconds, len(counts))

    @staticmethod
    def _number(text: str) -> float:
        value, unit = text.split()
        return float(value) * (1e-3 if unit.startswith("m") else 1.0)


def shown(bench: Bench, channel: object, time: str, seconds: float, **controls: str) -> Screen:
    action = {"scope": {"A": channel}, "time": time}
    if controls:
        action["while"] = controls
    return Screen(dict(bench.do(action_from_json(action)).reading.also), seconds)


@pytest.fixture
def fan() -> Stand:
    """Give the fan running, its coolant hot and the ignition on."""
    stand = Stand("fan")
    stand.set(ignition="on", coolant=HOT)
    return stand


def test_a_fan_runs_on_for_as_long_as_its_rule_says_and_then_runs_down(fan: Stand) -> None:
    screen = shown(fan.bench, ["M1.1", "body"], "50 s", 50.0, coolant=WARM)
    runs = screen.values > 11.5
    assert screen.time[runs].max() == pytest.approx(AFTER_RUN, abs=0.25)
    assert runs[screen.time < AFTER_RUN - 0.25].all()
    falls = screen.values[screen.time > AFTER_RUN + 0.25]
    assert (np.diff(falls) <= 1e-6).all()
    assert falls[0] > 3.0  # a fan runs down and gives volts of its own
    assert falls[-1] < 0.2


def test_what_a_trace_was_operated_for_is_not_kept(fan: Stand) -> None:
    shown(fan.bench, ["M1.1", "body"], "50 s", 50.0, coolant=WARM)
    assert fan.on("fan wanted")
    assert fan.sees("the fan runs")


def test_an_output_acts_at_once_and_its_relay_follows() -> None:
    """As the coolant gets hot pin 9 goes to ground; the relay's winding lets M1 start."""
    stand = Stand("fan")
    stand.set(ignition="on", coolant=WARM)
    pin = shown(stand.bench, ["A3.9", "body"], "50 ms", 0.05, coolant=HOT)
    assert pin.values[-1] < 1.0
    amps = shown(stand.bench, {"clamp": "wire 12"}, "500 ms", 0.5, coolant=HOT)
    assert amps.values.max() > 2.0 * 15.0  # a motor that starts
    stuck = Stand("fan", "A3.9=stuck off")
    stuck.set(ignition="on", coolant=WARM)
    pin = shown(stuck.bench, ["A3.9", "body"], "50 ms", 0.05, coolant=HOT)
    assert pin.values.min() > 11.0


def test_the_share_of_pulses_changes_with_what_is_measured() -> None:
    """Gauge: 65 % at 85 degC, none at 20 degC, by the table of the circuit file."""
    stand = Stand("fan")
    stand.set(ignition="on", coolant="cold 20 degC")
    dark = shown(stand.bench, ["A3.10", "body"], "50 ms", 0.05)
    assert dark.values.max() < 0.1
    lit = shown(stand.bench, ["A3.10", "body"], "50 ms", 0.05, coolant=WARM)
    assert (lit.values > 6.0).mean() == pytest.approx(0.65, abs=0.03)


def test_a_unit_that_sleeps_wakes_within_a_trace() -> None:
    """The key wakes the units of this car: 9 mA and 4 mA become 0.6 A and 0.25 A, and more."""
    bench = Bench(read_circuit(NIGHT))
    bench.do(action_from_json({"wait": "30 min"}))
    asleep = shown(bench, {"clamp": "wire 1"}, "100 ms", 0.1)
    awake = shown(bench, {"clamp": "wire 1"}, "100 ms", 0.1, key="run")
    assert abs(asleep.values).max() < 0.2
    assert abs(awake.values[1:]).min() > 0.8


def test_one_vehicle_shows_the_same_alone_and_beside_others() -> None:
    """Lanes whose rules have other times do not change each other."""
    faults = ("", "R4.1=open", "wire 11=open", "A3.9=stuck on", "K1=coil open")
    each = [with_(circuit("fan"), one) for one in faults]
    start = Situation(controls=(("coolant", HOT), ("ignition", "on")))
    controls = {"coolant": WARM, "ignition": "off"}  # and so the gauge is pulsed no more
    look = action_from_json({"scope": {"A": ["M1.1", "body"]}, "time": "50 s", "while": controls})

    def read(circuits: list[Circuit]) -> list[np.ndarray]:
        fleet = Fleet.of(circuits, solver("fan"))
        seen = observe(fleet, start, fleet.fresh_memory(start), look)
        return [array for _name, array in seen.outcome.also]

    many = read(each)
    assert np.ptp(many[-1], axis=0).any()  # they do differ
    for lane, one in enumerate(each):
        assert all(same_bits(m[[lane]], a) for m, a in zip(many, read([one]), strict=True))
