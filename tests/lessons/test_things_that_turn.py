"""Vehicles of lessons 05, 10 and 12 at the bench: charging, motors, and what is switched.

Limits from outside are named beside the checks. That sound ones work and that every fault can be
told is looked at in test_circuits.
"""

import pytest

from lessons.catalogue import circuit_path
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults

IDLING = {"key": "run", "engine": "idling 850 rpm"}
POSTS = {"red": "B1.+", "black": "B1.-"}
UNIT = {"V": 1.0, "mV": 1e-3, "A": 1.0}


class Vehicle:
    """A shipped vehicle at the bench, with a fault if one is given."""

    def __init__(self, name: str, faults: str = "", **controls: str) -> None:
        circuit = read_circuit(circuit_path(name))
        found = [one for text in faults.split(" + ") if text for one in parse_faults(circuit, text)]
        self.bench = Bench(with_faults(circuit, found))
        self.bench.do(action_from_json({"set": controls}))

    def read(self, **action: object) -> float:
        """Give what an instrument shows, in V or A."""
        reading = self.bench.do(action_from_json(action)).reading
        assert reading is not None
        return float(reading.value) * UNIT[reading.unit]

    def screen(self, **action: object) -> dict[str, float]:
        """Give the oscilloscope's figures in V, A, Hz and %."""
        reading = self.bench.do(action_from_json(action)).reading
        assert reading is not None
        found = {}
        for name, text in reading.also:
            number, _, unit = text.partition(" ")
            if unit and "samples" not in name:
                found[name] = float(number) * UNIT.get(unit, 1.0)
        return found


# Charging


def test_a_fixed_regulator_holds_13_5_to_14_8_v_at_idle() -> None:
    """The band: common practice, no source."""
    for loads in ({}, {"headlamps": "on", "rear window": "on"}):
        assert 13.5 < Vehicle("charging", **IDLING, **loads).read(measure="volts", **POSTS) < 14.8


def test_a_sound_idle_under_orders_reads_12_5_v_or_15_v() -> None:
    """Warm and full the alternator rests; a cold battery is given near 15 V."""
    warm = Vehicle("charging-by-load", **IDLING).read(measure="volts", **POSTS)
    cold = Vehicle("charging-by-load", **IDLING, battery="cold -10 degC")
    assert warm == pytest.approx(12.5, abs=0.15)
    assert cold.read(measure="volts", **POSTS) == pytest.approx(14.85, abs=0.2)


def test_a_reason_to_charge_tells_a_resting_alternator_from_one_that_hears_no_order() -> None:
    """Without an order it holds a voltage of its own, with loads and without."""
    for faults, band in (
        ("", (14.0, 14.6)),
        ("C9.1=open", (13.1, 13.6)),
        ("G1=belt off", (0, 12.5)),
    ):
        loaded = Vehicle("charging-by-load", faults, **IDLING, headlamps="on")
        assert band[0] < loaded.read(measure="volts", **POSTS) < band[1]


def test_one_open_diode_is_ripple_on_the_screen_and_ac_volts_on_the_meter() -> None:
    """More than 0.5 V AC at the posts condemns the diodes: common practice, no source."""
    loads = {"headlamps": "on", "rear window": "on"}
    figures = []
    for faults in ("", "G1=diode open"):
        vehicle = Vehicle("charging", faults, **IDLING, **loads)
        swing = vehicle.screen(scope={"A": ["B1.+", "B1.-"]}, time="10 ms")
        figures.append((vehicle.read(measure="AC volts", **POSTS), swing["A peak to peak"]))
    (sound, ripple), (broken, gap) = figures
    assert sound < 0.3
    assert broken > 0.5
    assert gap > 2.5 * ripple


# Motors


def test_the_blowers_inrush_is_four_to_ten_times_what_it_takes() -> None:
    """The band: Lessons in Electric Circuits vol. I, slow-blow fuses (up to ten times)."""
    vehicle = Vehicle("blower", key="run")
    start = vehicle.screen(
        scope={"A": {"clamp": "wire 12"}}, time="5 s", **{"while": {"blower": "4"}}
    )
    running = Vehicle("blower", key="run", blower="4").read(clamp="wire 12")
    assert 4.0 < start["A maximum"] / running < 10.0


def test_a_stalled_window_motor_takes_its_stall_current_and_a_worn_one_next_to_nothing() -> None:
    """All get volts; the clamp tells them apart."""
    amps = {}
    for faults in ("", "M1=seized", "M1=worn brushes:6 ohm", "X8=open"):
        vehicle = Vehicle("window", faults, **{"key": "run", "passenger's switch": "up"})
        amps[faults] = abs(vehicle.read(clamp="wire 16"))
    assert amps["M1=seized"] > 2.5 * amps[""]
    assert 0.0 < amps["M1=worn brushes:6 ohm"] < 0.4 * amps[""]
    assert amps["X8=open"] == 0.0


@pytest.mark.parametrize(
    ("faults", "air"),
    [("", True), ("C12.1=open", False), ("M5=ignores the command", False), ("M5=dead", False)],
)
def test_the_order_is_one_thing_and_the_air_another(faults: str, air: bool) -> None:  # noqa: FBT001
    """The light beside the dial says what is ordered, the clamp what is delivered."""
    vehicle = Vehicle("blower-module", faults, key="run", dial="middle 50 %")
    assert vehicle.read(measure="volts", red="A4.10", black="B1.-") > 12.0
    assert (vehicle.read(clamp="wire 2") > 5.0) is air


# Shapes


def test_an_injector_shows_a_ramp_of_its_time_constant_and_a_kick_to_the_clamp() -> None:
    """14.5 ohm on 12 V end at 0.8 A (common practice for high-ohm injectors)."""
    vehicle = Vehicle("injectors", key="run", engine="pulling 0.9 bar")
    both = {"A": ["A1.21", "B1.-"], "B": {"clamp": "wire 10"}}
    screen = vehicle.screen(scope=both, time="50 ms")
    assert 65.0 < screen["A maximum"] < 68.0
    assert screen["B maximum"] == pytest.approx(12.0 / 14.5, abs=0.1)
    assert screen["B mean"] < 0.3 * screen["B maximum"]


def test_dc_volts_on_an_injector_do_not_tell_a_bad_joint_and_its_current_does() -> None:
    means, peaks = [], []
    for faults in ("", "C1.1=high resistance:10 ohm", "Y1=shorted turns:40 %"):
        vehicle = Vehicle("injectors", faults, key="run", engine="pulling 0.9 bar")
        means.append(vehicle.read(measure="volts", red="A1.21", black="B1.-"))
        screen = vehicle.screen(scope={"A": {"clamp": "wire 10"}}, time="50 ms")
        peaks.append(screen["A maximum"])
    assert max(means) - min(means) < 0.1
    assert 9.5 < means[0] < 11.0
    assert peaks[1] < 0.8 * peaks[0] < peaks[0] < 0.8 * peaks[2]


def test_a_coil_without_a_diode_kicks_and_one_with_a_diode_does_not() -> None:
    """Unsuppressed relays reach 1000 to 1500 V by a maker's application note; beside it 0.7 V."""
    vehicle = Vehicle("injectors", key="run", engine="idling 0.35 bar")
    both = {"A": ["K1.86", "B1.-"], "B": ["K2.86", "B1.-"]}
    screen = vehicle.screen(scope=both, time="20 ms", **{"while": {"key": "off"}})
    assert screen["A minimum"] < -200.0
    assert screen["B minimum"] > -3.0


def test_the_screen_shows_duty_where_the_meter_shows_a_mean() -> None:
    """At 102 degC the fan's line is pulled to ground for two thirds of the time."""
    vehicle = Vehicle("pulsed-fan", key="run", coolant="hot 102 degC")
    both = {"A": ["M1.1", "M1.2"], "B": {"clamp": "wire 5"}}
    screen = vehicle.screen(scope=both, time="5 ms")
    meter = vehicle.read(measure="volts", red="M1.1", black="M1.2")
    assert screen["A frequency"] == pytest.approx(1000.0, rel=0.01)
    assert screen["A duty"] == pytest.approx(67.0, abs=4.0)
    assert screen["A maximum"] > 11.5
    assert screen["A minimum"] < -0.5  # the diode carries the current on
    assert meter == pytest.approx(screen["A mean"], abs=0.6)
    assert 5.0 < meter < 9.0
