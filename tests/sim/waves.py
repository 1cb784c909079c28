"""Small circuits that move, for the tests of waveforms, and one of the size of a vehicle's."""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.network import CONDUCTANCE, INSTRUMENTS, Floats, element_row, network_of
from sim.parts.family import STILL, Element, Law, Motion, Wave
from sim.parts.lamp import filament
from sim.solver.program import build_program
from sim.solver.steady import Lanes, Solver
from sim.solver.waveform import Trace, waveform

DIODE = (1e-9, 0.0257 * 1.7, 0.0)  # as across a relay's coil
RECTIFIER = (1e-8, 0.0257 * 1.7, 0.0)


@dataclass(frozen=True)
class Rig:
    """A circuit with the rows before and after an event."""

    solver: Solver
    before: Floats
    after: Floats

    def nodes(self, names: Sequence[str]) -> list[int]:
        return [self.solver.network.node(name) for name in names]

    def elements(self, names: Sequence[str]) -> list[int]:
        return [self.solver.network.element(name) for name in names]

    def lanes(self, count: int = 1) -> Lanes:
        return self.solver.lanes(np.zeros(count, dtype=np.int64))

    def run(
        self,
        points: str = "",
        elements: str = "",
        *,
        duration: float,
        step: float = 1e-5,
        lead_in: float = 0.0,
        lanes: Lanes | None = None,
    ) -> Trace:
        """Run with points and elements given as words."""
        return waveform(
            self.solver,
            self.before,
            self.after,
            self.lanes() if lanes is None else lanes,
            duration=duration,
            step=step,
            points=self.nodes(points.split()),
            elements=self.elements(elements.split()),
            lead_in=lead_in,
        )


def rig(*elements: Element, opens: str = "", closes: str = "") -> Rig:
    """Give a circuit of which elements named in words open or close at t = 0."""
    network = network_of((*elements, *INSTRUMENTS))
    solver = Solver(network, build_program(network))
    before = element_row(network.elements)[None]
    after = before.copy()
    before[0, [network.element(name) for name in closes.split()], CONDUCTANCE] = 0.0
    after[0, [network.element(name) for name in opens.split()], CONDUCTANCE] = 0.0
    return Rig(solver, before, after)


def resistor(name: str, a: str, b: str, ohms: float) -> Element:
    return Element(name, a, b, 1 / ohms)


def battery(volts: float = 12.0, ohms: float = 0.01) -> Element:
    return Element("B", "plus", "body", 1 / ohms, volts)


def coil(name: str, a: str, b: str, ohms: float, henry: float) -> Element:
    return Element(name, a, b, 1 / ohms, motion=Motion(inductance=henry))


def capacitor(name: str, a: str, b: str, farad: float) -> Element:
    return Element(name, a, b, 1e-9, motion=Motion(capacitance=farad))


def diode(name: str, a: str, b: str, shape: tuple[float, float, float] = DIODE) -> Element:
    return Element(name, a, b, 1.0, law=Law.DIODE, shape=shape)


def gated(name: str, a: str, b: str, ohms: float, duty: float, rate: float) -> Element:
    motion = Motion(wave=Wave.SWITCHED, amplitude=duty, frequency=rate)
    return Element(name, a, b, 1 / ohms, motion=motion)


def relay(name: str, coil_ends: tuple[str, str], contact_ends: tuple[str, str]) -> list[Element]:
    """Give the coil and the contact of a relay."""
    return [
        Element(
            f"{name}coil",
            *coil_ends,
            1 / 85,
            law=Law.COIL,
            shape=(7 / 85, 2.5 / 85, 0.0),
            relay=name,
            motion=Motion(inductance=0.25),
        ),
        Element(f"{name}contact", *contact_ends, 1 / 0.0015, law=Law.CONTACT, relay=name),
    ]


def motor(name: str, a: str, b: str) -> Element:
    """Give a blower: 0.3 ohm, takes 1 A to turn, a fan's load."""
    return Element(
        name,
        a,
        b,
        1 / 0.3,
        law=Law.MOTOR,
        shape=(1.0, 0.1, 0.02),
        motion=Motion(inductance=0.3e-3, capacitance=0.5),
    )


def lamp(name: str, a: str, b: str, watts: float) -> Element:
    return filament(name, a, b, 12.0, watts, whole=True)


def van() -> Rig:
    """Give 40 points: three lamps, one of them gated, a relay that feeds a motor, a gated valve."""
    parts = [
        Element("B", "plus", "minus", 1 / 0.01, 12.6),
        resistor("strap", "minus", "body", 1e-3),
    ]
    parts += [resistor("link", "plus", "rail", 3e-3), resistor("stud1", "g1", "body", 2e-3)]
    parts.append(resistor("stud2", "g2", "body", 2e-3))
    for name, watts in (("E1", 21.0), ("E2", 55.0), ("E3", 5.0)):
        motion = Motion(wave=Wave.SWITCHED, amplitude=0.6, frequency=200.0)
        parts += [
            *line(name, "rail", f"{name}.s", 20.0),
            Element(
                f"{name}switch",
                f"{name}.s",
                f"{name}.t",
                1 / 3e-3,
                motion=motion if name == "E1" else STILL,
            ),
            resistor(f"{name}wire2", f"{name}.t", f"{name}.1", 0.03),
            lamp(name, f"{name}.1", f"{name}.2", watts),
            resistor(f"{name}ground", f"{name}.2", "g1", 0.01),
        ]
    parts += [
        *line("K1", "rail", "K1.s", 10.0),
        resistor("key", "K1.s", "K1.86", 3e-3),
        *relay("K1", ("K1.86", "K1.85"), ("M1.30", "M1.87")),
        diode("K1diode", "K1.85", "K1.86"),
        resistor("K1ground", "K1.85", "g2", 0.01),
        *line("M1", "rail", "M1.30", 200.0),
        resistor("M1wire2", "M1.87", "M1.1", 0.02),
        motor("M1", "M1.1", "M1.2"),
        diode("M1diode", "M1.2", "M1.1"),
        resistor("M1ground", "M1.2", "g2", 0.01),
        *line("Y1", "rail", "Y1.1", 10.0),
        coil("Y1", "Y1.1", "Y1.2", 8.0, 20e-3),
        diode("Y1diode", "Y1.2", "Y1.1"),
        resistor("Y1wire2", "Y1.2", "Y1.3", 0.02),
        gated("driver", "Y1.3", "Y1.4", 0.05, 0.4, 500.0),
        resistor("driverground", "Y1.4", "g2", 0.01),
    ]
    return rig(*parts, closes="key")


def line(name: str, a: str, b: str, limit: float) -> list[Element]:
    """Give a feed, a fuse and a wire in series."""
    fuse = Element(
        f"{name}fuse", f"{name}.f", f"{name}.w", 200.0, law=Law.FUSE, shape=(limit, 0, 0)
    )
    return [
        resistor(f"{name}feed", a, f"{name}.f", 5e-3),
        fuse,
        resistor(f"{name}wire", f"{name}.w", b, 0.02),
    ]


def compiled_and_not(program: str) -> tuple[list, list]:
    """Run a program with numba and without it; give what each prints as JSON."""
    root, found = Path(__file__).parents[2], []
    for off in ("0", "1"):
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", program],
            capture_output=True,
            text=True,
            check=True,
            cwd=root,
            env={"NUMBA_DISABLE_JIT": off, "PYTHONPATH": str(root)},
        )
        found.append(json.loads(done.stdout))
    return found[0], found[1]
