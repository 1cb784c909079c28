"""The netlist of a waveform as text; what ngspice makes of it is in tests/reference."""

import re

import numpy as np
import pytest

from sim.errors import SolveError
from sim.network import CONDUCTANCE
from sim.parts.family import Element, Motion, Wave
from sim.spice import Held
from sim.spicewave import Times, read_table, write_waveform
from tests.sim.waves import Rig, battery, capacitor, coil, motor, relay, resistor, rig


def written(one: Rig, points: str = "", elements: str = "", times: Times | None = None) -> str:
    nothing = np.zeros(len(one.solver.network.relay_names), dtype=np.int64)
    blown = np.zeros(len(one.solver.network.fuse_names), dtype=np.int64)
    return write_waveform(
        one.solver.network,
        one.before[0],
        one.after[0],
        Held(nothing, blown),
        times or Times(1e-3, 1e-5),
        one.nodes(points.split()),
        one.elements(elements.split()),
    )


def found(pattern: str, text: str) -> tuple[str, ...]:
    match = re.search(pattern, text, re.MULTILINE)
    assert match, text
    return match.groups()


def test_a_coil_is_a_resistance_and_an_inductance_in_series() -> None:
    text = written(rig(battery(), coil("Y1", "plus", "body", 8.0, 0.02)))
    (middle,) = found(r"^Ry1 plus (\S+) 8\.0$", text)
    assert found(r"^Ly1 (\S+) 0 0\.02$", text) == (middle,)


def test_a_capacitance_lies_across_its_element() -> None:
    text = written(rig(battery(), capacitor("C1", "plus", "body", 1e-6)))
    assert "Cc1 plus 0 1e-06" in text.splitlines()


def test_a_sine_stands_at_its_phase_when_time_begins() -> None:
    """With 5 ms ahead of the event, 50 Hz is a quarter turn earlier."""
    wave = Motion(wave=Wave.SINE, amplitude=3.0, frequency=50.0, phase=0.5)
    one = rig(Element("G", "a", "body", 1.0, 1.0, motion=wave))
    (phase,) = found(
        r"SIN\(1\.0 3\.0 50\.0 0 0 (\S+)\)", written(one, times=Times(1e-3, 1e-5, 5e-3))
    )
    assert float(phase) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("phase", "first", "wait", "width"),
    [(0.0, ("1", "0"), 0.3, 0.7), (0.2, ("1", "0"), 0.1, 0.7), (0.9, ("0", "1"), 0.1, 0.3)],
)
def test_a_gate_is_a_pulse(phase, first, wait, width) -> None:
    wave = Motion(wave=Wave.SWITCHED, amplitude=0.3, frequency=100.0, phase=phase)
    text = written(rig(battery(), Element("T1", "plus", "a", 20.0, motion=wave)))
    *levels, late, _up, _down, wide, period = found(
        r"PULSE\((\S+) (\S+) (\S+) (\S+) (\S+) (\S+) (\S+)\)", text
    )
    assert tuple(levels) == first
    assert float(late) == pytest.approx(wait / 100, abs=1e-7)
    assert float(wide) == pytest.approx(width / 100, abs=1e-7)
    assert float(period) == pytest.approx(0.01)


def test_a_motor_turns_outside_the_circuit() -> None:
    text = written(rig(battery(), motor("M1", "plus", "body")))
    assert found(r"^Em1 \S+ \S+ (\S+) 0 1$", text) == found(r"^Cm1 (\S+) 0 0\.5$", text)


def test_a_relay_is_moved_by_the_current_of_its_coil() -> None:
    one = rig(battery(), *relay("K", ("plus", "body"), ("plus", "a")))
    assert found(r"V=abs\(i\((\w+)\)\)", written(one)) == ("Vikcoil",)


def test_what_is_printed_is_read_back() -> None:
    text = written(rig(battery(), coil("Y1", "plus", "body", 8.0, 0.02)), "plus", "Y1")
    assert "print time v(plus) i(viy1)" in text
    table = read_table("Index time v i\n0\t0.0\t1.5\t2\n1\t1e-5\t1.25\t-3e-3\nelapsed 1\n", 2)
    assert table.tolist() == [[0.0, 1.5, 2.0], [1e-5, 1.25, -3e-3]]


def test_the_event_switches_what_differs() -> None:
    one = rig(
        battery(), resistor("S", "plus", "a", 1e-3), resistor("R", "a", "body", 1.0), opens="S"
    )
    text = written(one)
    assert "v(event_gone)" in text
    assert "Vevent_come" not in written(rig(battery(), resistor("R", "plus", "body", 1.0)))


def test_a_coil_cannot_be_the_switch() -> None:
    one = rig(battery(), coil("Y1", "plus", "body", 8.0, 0.02))
    one.after[0, one.solver.network.element("Y1"), CONDUCTANCE] = 0.0
    with pytest.raises(SolveError, match="Y1"):
        written(one)
