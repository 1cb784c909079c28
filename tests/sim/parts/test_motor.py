"""Motors. Outside values: OpenStax College Physics 2e, section on back EMF; inrush of motors.

Worked there: 6.00 V, 3.00 A and 4.50 V back-EMF turning, so 12.0 A at start; 120 V, 10.0 A at
start, 1.67 A at 100 V back-EMF; 240 V, 12.0 A at 180 V back-EMF, so 5.0 ohm and 48 A at start.
Kuphaldt, Lessons in Electric Circuits vol. I, slow-blow fuses: motors take up to ten times.
"""

import math
from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.family import Trigger
from sim.parts.motor import LOADS, machine
from sim.parts.values import check_values

FAN = {"current": 15.0, "stall current": 90.0}


def turn(lab: SimpleNamespace, volts: float = 12.0, *faults: tuple, **values: object) -> object:
    """Put a voltage across its own terminals, behind the joints."""
    return lab.solve(
        lab.source("supply", "P1.1b", "body", volts),
        lab.resistor("ground", "P1.2b", "body", 1e-6),
        *lab.elements("motor", faults=faults, **values),
    )


def amps(lab: SimpleNamespace, *faults: tuple, volts: float = 12.0, **values: object) -> float:
    return turn(lab, volts, *faults, **{**FAN, **values}).current["P1 armature"]


@pytest.mark.parametrize("load", LOADS)
@pytest.mark.parametrize(
    ("volts", "running", "back", "start"),
    [(6.0, 3.0, 4.5, 12.0), (120.0, 5.0 / 3.0, 100.0, 10.0), (240.0, 12.0, 180.0, 48.0)],
)
def test_worked_examples_of_back_emf(
    lab: SimpleNamespace, load: str, volts: float, running: float, back: float, start: float
) -> None:
    values = {"voltage": volts, "current": running, "stall current": start, "load": load}
    turning = turn(lab, volts, **values)
    assert turning.current["P1 armature"] == pytest.approx(running, rel=2e-3)
    ohms = volts / start
    emf = turning.drop["P1 armature"] - ohms * turning.current["P1 armature"]
    assert emf == pytest.approx(back, rel=2e-3)
    stalled = turn(lab, volts, ("seized", None, None), **values)
    assert stalled.current["P1 armature"] == pytest.approx(start, rel=2e-3)


def test_start_over_run_without_a_data_sheet_lies_in_the_band(lab: SimpleNamespace) -> None:
    """4 to 10 times for fans and pumps."""
    running = turn(lab, current=15.0).current["P1 armature"]
    stalled = turn(lab, 12.0, ("seized", None, None), current=15.0).current["P1 armature"]
    assert 4.0 <= stalled / running <= 10.0


def test_a_fan_at_half_the_voltage_draws_far_less_and_a_window_nearly_the_same(
    lab: SimpleNamespace,
) -> None:
    """Affinity law: torque, so current, goes with the square of the speed; friction with none."""
    fan, window = (amps(lab, volts=6.0, load=load) / 15.0 for load in ("fan", "window"))
    assert fan < 0.45
    assert window > 0.75


@pytest.mark.parametrize("load", LOADS)
def test_run_up_time(load: str) -> None:
    """Integrated numerically: C dE/dt = g (V - E) - i0 - b E - q E^2 reaches 95 % in time."""
    sound = machine(12.0, 15.0, 90.0, LOADS[load])
    c, g = sound.inertia(12.0, 0.8), 1 / sound.ohms
    end, back, steps = 12.0 - 15.0 * sound.ohms, 0.0, 20000
    for _ in range(steps):
        rate = (g * (12.0 - back) - sound.start - (sound.b + sound.q * back) * back) / c
        back += rate * 0.8 / steps
    assert back == pytest.approx(0.95 * end, rel=1e-3)


def test_without_load_the_run_up_is_three_time_constants() -> None:
    """Closed form: ln 20 = 3.0 time constants R C."""
    free = machine(12.0, 1e-9, 60.0, (0.0, 1.0, 0.0))
    assert free.ohms * free.inertia(12.0, 1.0) == pytest.approx(1 / math.log(20.0), rel=1e-6)


def test_its_ways_of_failing(lab: SimpleNamespace) -> None:
    assert amps(lab) == pytest.approx(15.0, rel=1e-4)
    assert amps(lab, ("open", None, None)) == 0.0
    assert amps(lab, ("dead spot", None, None)) == 0.0
    assert 1.0 < amps(lab, ("worn brushes", None, 0.8)) < 12.0
    assert 17.0 < amps(lab, ("stiff", None, 0.5)) < 22.0
    assert amps(lab, ("stiff", None, 1.5)) > amps(lab, ("stiff", None, 0.5))
    assert 17.0 < amps(lab, ("shorted turns", None, 0.3)) < 60.0
    assert amps(lab, ("seized", None, None)) == pytest.approx(90.0, rel=1e-3)


def test_a_motor_too_stiff_to_start_takes_its_stall_current(lab: SimpleNamespace) -> None:
    values = {"current": 10.0, "stall current": 20.0, "load": "window"}
    answer = turn(lab, 12.0, ("stiff", None, 2.0), **values)
    assert answer.current["P1 armature"] == pytest.approx(20.0, rel=1e-3)


def test_a_knock_gets_it_off_its_dead_spot(lab: SimpleNamespace) -> None:
    values = {key.replace(" ", "_"): value for key, value in FAN.items()}
    sound = next(e for e in lab.elements("motor", **values) if not e.joint)
    elements = lab.elements("motor", faults=(("dead spot", None, None),), **values)
    dead = next(e for e in elements if not e.joint)
    assert dead.trigger is Trigger.VIBRATION
    assert (dead.conductance, dead.other) == (0.0, sound.conductance)


def test_it_runs_either_way_round(lab: SimpleNamespace) -> None:
    assert amps(lab, volts=-12.0) == pytest.approx(-15.0, rel=1e-4)


def test_a_stall_current_below_the_rated_one_is_refused(lab: SimpleNamespace) -> None:
    part = lab.part("motor", **{"current": 10.0, "stall current": 8.0})
    with pytest.raises(QuantityError, match="P1: stall current must be above the rated 10 A"):
        check_values(part)
