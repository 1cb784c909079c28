"""Parts that take orders: by level, by pulses, by one wire; smart outputs; charge control.

That cutting the command wire tells order from execution on some vehicles and not on others, and
what a healthy part then does, are properties of the circuit file's parts, not outside values. The
levels of the bus are those of ISO 17987-4.
"""

import pytest

from sim.circuitfile import read_circuit
from sim.solver.steady import Solver
from tests.sim.modules.stand import HERE, Stand, circuit

ON = {"blower": "on"}


def running(faults: str = "", **controls: str) -> Stand:
    stand = Stand("blower", faults)
    stand.set(**{**ON, "speed": "middle 50 %", **controls})
    stand.wait("2 s")
    return stand


ACTUATORS = ("first", "second", "third", "fourth", "fifth")


@pytest.mark.parametrize("which", ACTUATORS)
def test_all_run_when_told_and_stop_when_told(which):
    stand = running()
    assert stand.sees(f"the {which} runs")
    stand.set(blower="off")
    stand.wait("2 s")
    if which in ("first", "second", "third"):
        assert not stand.sees(f"the {which} runs")


@pytest.mark.parametrize(
    ("wire", "which", "goes_on"),
    [("31", "first", False), ("32", "second", True), ("33", "third", True), ("34", "fourth", True)],
)
def test_a_cut_command_wire_does_what_the_part_says(wire, which, goes_on):
    """Off, full, last, full: by the resistors at the command pin."""
    stand = running(f"wire {wire}=open")
    runs = stand.sees(f"the {which} runs")
    if which == "third":  # never told: off is what it was last
        assert not runs
        return
    assert runs == goes_on


def test_last_goes_on_as_it_was_when_the_wire_comes_off():
    stand = running()
    assert stand.sees("the third runs")
    state = stand.bench.memory
    assert state.closed.any()
    stand.do(unplug="A3")
    stand.wait("10 s")
    assert not stand.sees("the first runs")
    assert stand.sees("the third runs")


def test_a_broken_stage_runs_with_no_command_and_cutting_the_wire_does_not_stop_it():
    stand = Stand("blower", "M1=runs with no command")
    assert stand.sees("the first runs")
    stand.do(unplug="A3")
    assert stand.sees("the first runs")


def test_one_that_ignores_the_command_does_what_an_open_wire_does():
    assert not running("M1=ignores the command").sees("the first runs")
    stand = Stand("blower", "M2=ignores the command")
    assert stand.sees("the second runs")


def test_pulses_are_the_mean_on_a_meter_and_speed_on_the_motor():
    """10 % + 80 % of the travel, active low: 50 % of the time at ground."""
    stand = running()
    assert stand.volts("A3.10", "A3.31") == pytest.approx(0.5 * stand.volts("M4.30"), rel=0.05)
    amps = [abs(float(stand.do(clamp="wire 13").value))]
    stand.set(speed="high 90 %")
    amps.append(abs(float(stand.do(clamp="wire 13").value)))
    assert amps[1] > 1.3 * amps[0]


def test_the_bus_carries_an_order_only_while_its_levels_are_right():
    """ISO 17987-4: dominant below 40 %, recessive above 60 % of the receiver's supply."""
    sound = running()
    assert sound.sees("the fifth runs")
    for fault in ("wire 35=open", "wire 35=short to ground:0.1 ohm"):
        stand = running(fault)
        assert stand.told.working[0]
        assert not stand.sees("the fifth runs"), fault
    mean = sound.volts("M5.C") / sound.volts("M5.30")
    assert 0.6 < mean < 0.95


def test_a_healthy_idle_may_read_low_or_high_by_order():
    low = Stand("blower")
    low.set(engine="idle 800 rpm", speed="low 10 %")
    low.wait("2 s")
    high = Stand("blower")
    high.set(engine="idle 800 rpm", speed="high 90 %")
    high.wait("2 s")
    assert 12.2 < low.volts("B1.+") < 13.2
    assert 14.3 < high.volts("B1.+") < 15.4


def test_without_an_order_the_alternator_holds_its_own_voltage():
    stand = Stand("blower", "wire 36=open")
    stand.set(engine="idle 800 rpm", speed="low 10 %")
    stand.wait("2 s")
    assert 13.6 < stand.volts("B1.+") < 14.4


def test_a_lamp_test_does_not_light_a_filament_and_shows_as_a_mean_of_next_to_nothing():
    stand = Stand("blower")
    assert not stand.sees("the lamp lights")
    assert stand.told.outputs["11"][0] == pytest.approx(0.01)
    stand.set(lamp="on")
    assert stand.sees("the lamp lights")
    assert stand.told.outputs["11"][0] == 1.0


def test_a_pull_up_shows_ghost_volts_on_a_cut_wire():
    assert running("wire 40=open").volts("A3.11", "A3.31") > 10.0
    assert Stand("blower").volts("A3.11", "A3.31") < 0.3


SHORTED = "wire 40=short to ground:0.1 ohm"


def overloaded(stand: Stand) -> bool:
    return bool(stand.told.overloaded["11"][0])


def test_an_overload_latches_until_the_key_is_cycled():
    """The short is gone after a minute, and the output does not know before both are off."""
    stand = Stand("blower", SHORTED)
    stand.set(lamp="on", blower="on")
    assert overloaded(stand)
    assert not stand.sees("the lamp lights")
    assert not stand.bench.memory.blown.any()
    stand.wait("1 min")
    assert overloaded(stand)
    stand.bench.mend(circuit("blower"))
    for change in ({"lamp": "off"}, {"lamp": "on"}):  # the blower keeps it from clearing
        stand.set(**change)
        assert overloaded(stand)
        assert not stand.sees("the lamp lights")
    stand.set(lamp="off")
    stand.set(blower="off")
    assert not overloaded(stand)
    stand.set(lamp="on")
    assert stand.sees("the lamp lights")


def test_a_short_that_is_still_there_shuts_it_down_again_with_every_cycle():
    stand = Stand("blower", SHORTED)
    for _cycle in range(3):
        for change in ({"lamp": "on"}, {"blower": "on"}, {"lamp": "off"}, {"blower": "off"}):
            stand.set(**change)
            assert overloaded(stand)
    stand.do(unplug="A3")
    assert not overloaded(stand)


def test_without_a_lamp_test_it_tries_once_the_lamp_is_wanted_again(tmp_path):
    """No pulse into the short: it looks sound until somebody wants light."""
    text = (HERE / "blower.circuit.yaml").read_text(encoding="utf-8")
    path = tmp_path / "blower.circuit.yaml"
    path.write_text(text.replace("lamp test 1 ms every 100 ms, ", ""), encoding="utf-8")
    whole = read_circuit(path)
    stand = Stand.of(whole, Solver.of(whole), SHORTED)
    seen = []
    for change in ({"lamp": "off"}, {"lamp": "on"}, {"lamp": "off"}, {"lamp": "on"}):
        stand.set(**change)
        seen.append(overloaded(stand))
    assert seen == [False, True, False, True]
