"""Our waveforms against ngspice's on the exported netlist, sample by sample.

ngspice runs with reltol 1e-6 and steps of 0.5 us at most. Tolerance, as agreed for the project: 0.5
% of the peak at every sample away from edges; within two samples of an edge our value has to be one
that ngspice has within two samples of there. An edge is where a gate switches, where a contact
moves, and where a diode turns off.
"""

import subprocess
from dataclasses import dataclass

import numpy as np
import pytest

from sim.errors import SolveError
from sim.network import CONDUCTANCE, INDUCTANCE
from sim.parts.family import Element, Law, Motion, Wave
from sim.spice import Held
from sim.spicewave import Times, read_table, write_waveform
from tests.sim.waves import (
    RECTIFIER,
    Rig,
    battery,
    capacitor,
    coil,
    diode,
    gated,
    lamp,
    motor,
    relay,
    resistor,
    rig,
    van,
)

SHARE = 0.005  # of the peak
NEAR = 2  # samples


@dataclass(frozen=True)
class Case:
    """What is compared, and when its edges are in s."""

    rig: Rig
    points: str
    elements: str
    duration: float
    edges: tuple[float, ...] = ()
    step: float = 1e-5
    lead_in: float = 0.0
    longest: float = 0.5e-6


def switched(*elements: Element) -> Rig:
    """Give a circuit that a switch S from the battery to `a` closes."""
    return rig(battery(), resistor("S", "plus", "a", 3e-3), *elements, closes="S")


def cut_off(*elements: Element) -> Rig:
    """Give a circuit that the same switch opens."""
    return rig(battery(), resistor("S", "plus", "a", 3e-3), *elements, opens="S")


def with_motor() -> Case:
    parts = (motor("M", "b", "body"), diode("D", "body", "b"), resistor("W", "a", "b", 0.03))
    return Case(switched(*parts), "b", "M B", 60e-3, step=5e-5)


def kick(*across: Element) -> Rig:
    """Give a relay whose coil is cut off while its contact feeds a lamp's resistance."""
    return cut_off(
        *relay("K", ("a", "g"), ("plus", "c")),
        resistor("G", "g", "body", 0.01),
        resistor("R", "c", "body", 2.7),
        *across,
    )


def lamp_on(watts: float) -> Case:
    """Give a cold lamp that a switch feeds through a wire, up to its running current."""
    parts = (resistor("W", "a", "b", 0.02), lamp("H", "b", "body", watts))
    return Case(switched(*parts), "b", "H B", 0.6, step=1e-4, longest=1e-5)


def lamp_off() -> Case:
    """Give a lit lamp that loses its feed, but for what a resistance lets through."""
    parts = (resistor("R", "plus", "a", 6.0), lamp("H", "a", "body", 21.0))
    return Case(cut_off(*parts), "a", "H", 0.6, step=1e-4, longest=1e-5)


def three_phases() -> Case:
    """Give an alternator at 200 Hz that charges a battery through six diodes."""
    parts = [resistor("N", "n", "body", 1e6), resistor("R", "plus", "body", 1.5)]
    parts.append(Element("B", "plus", "body", 1 / 0.05, 12.3))
    for place, phase in enumerate("uvw"):
        wave = Motion(
            wave=Wave.SINE,
            amplitude=9.0,
            frequency=200.0,
            phase=0.02 + place / 3,
            inductance=30e-6,
        )
        parts += [
            Element(phase, phase, "n", 1 / 0.04, motion=wave),
            diode(f"{phase}p", phase, "plus", RECTIFIER),
            diode(f"{phase}m", "body", phase, RECTIFIER),
        ]
    return Case(rig(*parts), "plus u", "B u", 10e-3, lead_in=5e-3)


def lamps_by_turns() -> Case:
    """Give a lamp dimmed by a gate, beside one that is switched on and sags its feed."""
    half = Motion(wave=Wave.SWITCHED, amplitude=0.5, frequency=100.0, phase=0.25)
    parts = (
        resistor("W", "plus", "f", 0.05),
        Element("G", "f", "d", 1 / 0.02, motion=half),
        lamp("H", "d", "body", 21.0),
        resistor("S", "f", "a", 3e-3),
        lamp("N", "a", "body", 5.0),
    )
    edges = tuple((np.arange(8) * 5e-3 + 2.5e-3).tolist())
    one = rig(battery(), *parts, closes="S")
    return Case(one, "f", "H N", 40e-3, edges, step=2e-5, lead_in=20e-3, longest=2e-6)


def chopped(*, parts: tuple[Element, ...], edges: tuple[float, ...]) -> Case:
    circuit = rig(
        battery(),
        *parts,
        diode("D", "b", "plus", RECTIFIER),
        gated("G", "b", "body", 0.05, 0.4, 500.0),
    )
    return Case(circuit, "b plus", "L G", 10e-3, edges)


GATE = tuple(np.concatenate([np.arange(6) * 2e-3, np.arange(6) * 2e-3 + 0.8e-3]).tolist())
CASES = {
    "RC step": lambda: Case(
        switched(resistor("R", "a", "b", 1e3), capacitor("C", "b", "body", 1e-6)),
        "b",
        "R",
        5e-3,
    ),
    "RL step": lambda: Case(switched(coil("L", "a", "body", 10.0, 10e-3)), "a", "L", 5e-3),
    "motor start": with_motor,
    "relay kick with diode": lambda: Case(
        kick(diode("D", "g", "a")), "a c", "Kcoil R", 12e-3, edges=(9.98e-3,), step=2e-5
    ),
    "relay kick without diode": lambda: Case(
        kick(resistor("damper", "a", "g", 680.0), capacitor("C", "a", "g", 10e-9)),
        "a c",
        "Kcoil",
        2e-3,
        edges=(5.12e-4,),
        step=5e-6,
    ),
    "relay kick of a bare coil": lambda: Case(
        kick(capacitor("C", "a", "g", 2.2e-9)), "a", "Kcoil", 3e-4, step=1e-6
    ),
    "a lamp of 21 W switched on": lambda: lamp_on(21.0),
    "a lamp of 55 W switched on": lambda: lamp_on(55.0),
    "a lamp dimmed": lamp_off,
    "lamps by turns": lamps_by_turns,
    "three-phase rectifier": three_phases,
    "PWM into RL": lambda: chopped(parts=(coil("L", "plus", "b", 8.0, 20e-3),), edges=GATE),
    "PWM into RL, current goes to nothing": lambda: chopped(
        parts=(coil("L", "plus", "b", 8.0, 2e-3),), edges=(*GATE, *(g + 5.6e-4 for g in GATE[6:]))
    ),
}


def export(case: Case) -> str:
    one = case.rig
    lanes = one.lanes()
    steady = one.solver.solve(one.before, lanes)
    before, after = one.before[0].copy(), one.after[0].copy()
    before[-4:, :5] = after[-4:, :5] = lanes.instruments[0]
    return write_waveform(
        one.solver.network,
        before,
        after,
        Held(steady.closed[0], steady.blown[0]),
        Times(case.duration, case.step, case.lead_in, case.longest),
        one.nodes(case.points.split()),
        one.elements(case.elements.split()),
    )


def compare(case: Case, netlist: str, program: str) -> list[tuple[str, float, float, float]]:
    """Give every sample that is out of tolerance, as (what, time, ours, ngspice's)."""
    names = [*case.points.split(), *case.elements.split()]
    done = subprocess.run(
        [program, "-n", "-b"], input=netlist, capture_output=True, text=True, check=False
    )
    theirs = read_table(done.stdout, len(names))
    trace = case.rig.run(
        case.points,
        case.elements,
        duration=case.duration,
        step=case.step,
        lead_in=case.lead_in,
    )
    assert trace.status.tolist() == [0]
    assert len(theirs) == len(trace.time), done.stderr
    np.testing.assert_allclose(theirs[:, 0] - case.lead_in, trace.time, atol=1e-3 * case.step)
    edges = np.array([0.0, *case.edges])
    late = np.abs(trace.time[:, None] - edges).min(axis=1) > (NEAR + 1e-3) * case.step
    found: list[tuple[str, float, float, float]] = []
    for name, ours, column in zip(
        names, [*trace.volts[0], *trace.current[0]], theirs[:, 1:].T, strict=True
    ):
        allowed = SHARE * np.abs(column).max()
        padded = np.pad(column, NEAR, mode="edge")
        around = np.lib.stride_tricks.sliding_window_view(padded, 2 * NEAR + 1)
        low = np.where(late, column, around.min(axis=1)) - allowed
        high = np.where(late, column, around.max(axis=1)) + allowed
        found += [
            (name, float(trace.time[k]), float(ours[k]), float(column[k]))
            for k in np.flatnonzero(~((ours >= low) & (ours <= high)))
        ]
    return found


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_every_sample_agrees(ngspice: str, case) -> None:
    one = case()
    assert compare(one, export(one), ngspice) == []


def test_a_van_agrees(ngspice: str) -> None:
    """40 points, a relay that pulls in and starts a motor, two gates."""
    gates = [k * 2e-3 + shift for k in range(6) for shift in (0.0, 0.8e-3)]
    gates += [k * 5e-3 + shift for k in range(3) for shift in (0.0, 3e-3)]
    one = Case(van(), "E1.1 M1.1 Y1.2 K1.85", "M1 Y1 K1coil E1", 10e-3, (*gates, 2.418e-3))
    assert compare(one, export(one), ngspice) == []


@pytest.mark.parametrize(
    ("line", "instead"),
    [(" 10.0\n", " 10.2\n"), ("0 0.01\nV", "0 0.0102\nV"), ("12.0\n", "12.1\n")],
    ids=["resistance", "inductance", "battery"],
)
def test_the_comparison_can_fail(ngspice: str, line: str, instead: str) -> None:
    one = CASES["RL step"]()
    netlist = export(one)
    wrong = netlist.replace(line, instead)
    assert wrong != netlist
    assert compare(one, wrong, ngspice)


def test_an_event_that_the_netlist_cannot_show_is_refused() -> None:
    one = switched(coil("L", "a", "body", 10.0, 10e-3))
    one.before[0, one.solver.network.element("L"), INDUCTANCE] = 1.0
    with pytest.raises(SolveError, match="let another element switch"):
        export(Case(one, "a", "L", 1e-3))


def test_an_open_contact_and_a_lamp_that_is_watched_are_written(ngspice: str) -> None:
    """Elements that the cases above lack: a limiter, a motor without inertia, a lamp's current."""
    one = switched(
        Element("I", "a", "b", 1 / 5.0, law=Law.LIMITER, shape=(1.0, 1.5, 1e-3)),
        Element("M", "b", "body", 1 / 2.0, law=Law.MOTOR, shape=(0.2, 0.1, 0.0)),
        coil("L", "a", "body", 10.0, 10e-3),
    )
    assert one.after[0, one.solver.network.element("I"), CONDUCTANCE] > 0
    case = Case(one, "a b", "I M L", 1e-3)
    assert compare(case, export(case), ngspice) == []
