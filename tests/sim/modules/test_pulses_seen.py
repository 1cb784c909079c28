"""What instruments make of pulses, and whether many vehicles change what one shows."""

import numpy as np
import pytest

from sim.action import action_from_json
from sim.faults import parse_faults, with_faults
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim.modules.stand import Stand, circuit, same_bits, solver

LOTS = 2000
FAULTS = (
    "",
    "wire 34=open",
    "M4=dead",
    "A3.10=stuck on",
    "R1.s=open",
    "wire 40=open",
    "wire 13=open",
)
ON = (("blower", "on"), ("engine", "off"), ("lamp", "off"), ("speed", "middle 50 %"))


def screen(stand: Stand, red: str, time: str) -> dict[str, str]:
    return dict(stand.do(scope={"A": [red, "A3.31"]}, time=time).also)


def test_an_oscilloscope_shows_the_switching_of_a_pulsed_output():
    """100 Hz, half of the time at ground, as the circuit file has it."""
    stand = Stand("blower")
    stand.set(blower="on", speed="middle 50 %")
    shown = screen(stand, "A3.10", "50 ms")
    assert shown["A frequency"] == "100.0 Hz"
    assert 48.0 <= float(shown["A duty"].split()[0]) <= 52.0
    assert 11.0 < float(shown["A peak to peak"].split()[0]) < 13.0


def test_an_oscilloscope_shows_a_lamp_test_and_a_filament_does_not():
    """1 ms every 100 ms; the output's own lamp and a filament test lamp stay dark."""
    stand = Stand("blower")
    shown = screen(stand, "A3.11", "500 ms")
    assert shown["A frequency"] == "10.00 Hz"
    assert shown["A duty"] == "1.0 %"
    assert 11.0 < float(shown["A peak to peak"].split()[0]) < 13.0
    assert stand.do(lamp=True, red="A3.11", black="A3.31").words == "dark"
    assert not stand.sees("the lamp lights")


def test_an_led_glimmers_at_a_lamp_test():
    """Common practice, no source: an LED shows the test pulses of an output, a filament does not.

    1 % of some 10 mA is just above what can be seen.
    """
    stand = Stand("blower")
    assert stand.do(led=True, red="A3.11", black="A3.31").words == "dim red"
    assert stand.do(led=True, red="A3.31", black="A3.11").words == "dim green"
    assert stand.do(led=True, red="E1.1", black="body").words == "dim red"
    assert Stand("blower", "wire 40=open").do(led=True, red="E1.1", black="body").words == "dark"


def test_an_led_shines_by_a_pull_up_and_by_long_pulses():
    """(12.5 V - 1.8 V) / 11 kohm, about 1 mA; 82 % of some 10 mA, and 18 % of it."""
    stand = Stand("blower", "wire 40=open")
    assert stand.do(led=True, red="A3.11", black="A3.31").words == "dim red"
    stand = Stand("blower", "wire 34=open")
    stand.set(blower="on", speed="low 10 %")
    assert stand.do(led=True, red="M4.30", black="A3.10").words == "dim red"


def test_a_filament_makes_its_light_of_the_mean_power_of_pulses():
    """At ground for 18 % of the time: 18 % of the power, and not the 3 % of the mean volts."""
    stand = Stand("blower", "wire 34=open")
    stand.set(blower="on", speed="low 10 %")
    assert stand.told.outputs["10"][0] == pytest.approx(0.18, abs=0.01)
    assert stand.do(lamp=True, red="M4.30", black="A3.10").words == "dim"


def test_one_vehicle_shows_the_same_bits_alone_and_among_thousands():
    whole = circuit("blower")
    each = [with_faults(whole, parse_faults(whole, f)) if f else whole for f in FAULTS]
    measure = action_from_json({"measure": "volts", "red": "A3.10", "black": "A3.31"})

    def read(circuits: list) -> np.ndarray:
        fleet, situation = Fleet.of(circuits, solver("blower")), Situation(controls=ON)
        seen = observe(fleet, situation, fleet.fresh_memory(situation), measure)
        assert not len(seen.outcome.unsolved)
        return seen.outcome.numbers

    many = read((each * (LOTS // len(each) + 1))[:LOTS])
    assert len(many) == LOTS
    for number, one in enumerate(each):
        alone = read([one])
        for lane in range(number, LOTS, len(each)):
            assert same_bits(many[lane : lane + 1], alone), FAULTS[number]
