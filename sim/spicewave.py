"""A waveform as a netlist for ngspice: what `sim.solver.waveform` computes, by its own devices.

To what `sim.spice` writes for an operating point come:

- an inductance: L behind the element's resistance; a capacitance: C across the element;
- a sine: a SIN source as the EMF; a gate: a switch in place of the resistance, driven by PULSE;
- a motor with inertia: resistance, inductance and back-EMF in series; the back-EMF is the voltage
  of a node outside the circuit, on which the motor's current charges ``J / k^2`` against its load.
  Dry friction, which jumps at no speed, is taken as ``i0 tanh(e / 1 mV)``;
- a lamp with a heat capacity (`sim.solver.filament`): a node outside the circuit, at 1 V for each
  kelvin, whose capacitor is charged by the power taken and discharged by the power given off. 1e-7
  W/K to room temperature, which stand for no part, keep ngspice's matrix regular where a cold
  filament gives off nothing;
- the event: what differs between the rows before and after it is switched by a PWL source, from
  the operating point that ngspice finds with the rows before.

Resistances are plain R here, and diodes have a shunt of 1 Gohm (gmin): with `sim.spice`'s more
precise forms ngspice 39 finds no time step short enough when a diode takes over a coil's current.
The relay's current is measured by a source of 0 V in series with its coil. Time runs from 0: the
event is at `lead_in`. Fuses do not blow in the netlist.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.errors import SolveError
from sim.network import (
    AMPLITUDE,
    CAPACITANCE,
    COLUMNS,
    CONDUCTANCE,
    EMF,
    FREQUENCY,
    INDUCTANCE,
    PHASE,
    SHAPE,
    WAVE,
    Floats,
    Network,
)
from sim.parts.family import Law, Wave
from sim.solver.filament import GROWTH, ROOM
from sim.solver.steady import LEAK
from sim.spice import TEMPERATURE, Held, _Writer

EDGE = 1e-8  # s, in which a switch is driven over its threshold
SHUT = 1e-9  # of its conductance, what an open gate keeps: with none ngspice 39 finds no time step
ROOM_LOSS = 1e-7  # W/K
OPTIONS = (
    f".options reltol=1e-6 vntol=1e-6 abstol=1e-8 gmin=1e-9 itl1=500 itl4=200 "
    f"temp={TEMPERATURE!r} tnom={TEMPERATURE!r}"
)


@dataclass(frozen=True, slots=True)
class Times:
    """What to run: as in `sim.solver.waveform`; `longest` is ngspice's longest step in s."""

    duration: float
    step: float
    lead_in: float = 0.0
    longest: float = 0.5e-6


def write_waveform(
    network: Network,
    before: Floats,
    after: Floats,
    held: Held,
    times: Times,
    points: Sequence[int],
    elements: Sequence[int] = (),
) -> str:
    """Return the netlist of one lane.

    Parameters
    ----------
    before, after : float arrays (E, 13)
        As configured, the instrument's four rows last. They may differ in the conductance and EMF
        of straight elements without inductance.
    held : Held
        The state before the event.
    points, elements : sequences of int
        What is printed: one line for each sample, its number, the time, V and A.

    Raises
    ------
    SolveError
        Something else differs.
    """
    writer = _WaveWriter(network, before, after, held, times, tuple(elements))
    used = [node for node in range(1, len(network.nodes)) if writer.in_circuit(node)]
    vectors = [f"v({writer.nodes[node]})" for node in points]
    vectors += [f"i(vi{writer.names[number]})" for number in elements]
    end = times.lead_in + times.duration
    lines = [
        "* a waveform",
        *(f"* {writer.nodes[node]} = {network.nodes[node]}" for node in used),
        *(line for number in range(len(network.elements)) for line in writer.element(number)),
        *writer.leads(),
        *writer.event(),
        *(
            f"Rleak{node} {writer.nodes[node]} 0 {1 / LEAK!r}"
            for node in used
            if node < writer.first_lead
        ),
        OPTIONS,
        ".control",
        "set numdgt=9",
        "set nobreak",
        "set width=4000",
        f"tran {times.step!r} {end!r} {times.lead_in!r} {times.longest!r}",
        f"linearize {' '.join(vectors)}",
        f"print time {' '.join(vectors)}",
        ".endc",
        ".end",
    ]
    return "\n".join(lines) + "\n"


def read_table(printed: str, columns: int) -> Floats:
    """Return what ngspice printed, a row for each sample: time in s, V and A."""
    rows = []
    for line in printed.splitlines():
        words = line.split()
        if len(words) == columns + 2 and words[0].isdigit():
            rows.append([float(word) for word in words[1:]])
    return np.array(rows)


class _WaveWriter(_Writer):
    """Writes the elements of one lane."""

    def __init__(
        self,
        network: Network,
        before: Floats,
        after: Floats,
        held: Held,
        times: Times,
        watched: tuple[int, ...],
    ) -> None:
        super().__init__(network, after, held)
        self.before, self.times, self.watched = before, times, watched
        self.differ = {int(n) for n in np.flatnonzero((before != after).any(axis=1))}

    def element(self, number: int) -> list[str]:
        """Return the lines of one element; none for an open one."""
        if number in self.differ:
            return self.switched_over(number)
        lines = super().element(number)
        farads = float(self.row[number, CAPACITANCE])
        inside = self.network.laws[number] in {Law.MOTOR, Law.LAMP}
        if farads > 0.0 and not inside and self.row[number, CONDUCTANCE] > 0.0:
            lines.append(f"C{self.names[number]} {self.ends(number)} {farads!r}")
        return lines

    def straight(self, number: int) -> list[str]:
        ohms = float(1 / self.row[number, CONDUCTANCE])
        return self.chain(number, [*self.source(number), self.resistance(number, ohms)])

    def resistance(self, number: int, ohms: float) -> str:
        """Return a resistor, or the switch of a gate, with its ends left open."""
        name = self.names[number]
        if self.row[number, WAVE] != Wave.SWITCHED:
            return f"R{name} {{}} {{}} {ohms!r}"
        return (
            f"B{name} {{0}} {{1}} I=v({{0}},{{1}})*{1 / ohms!r}*(v({name}_gate)+{SHUT!r})\n"
            f"V{name}_gate {name}_gate 0 {self.pulse(number)}"
        )

    def turn(self, number: int) -> float:
        """Return which part of its period a gate has behind it at the beginning."""
        turns = self.row[number, PHASE] - self.row[number, FREQUENCY] * self.times.lead_in
        return float(turns - math.floor(turns))

    def pulse(self, number: int) -> str:
        duty, rate = float(self.row[number, AMPLITUDE]), float(self.row[number, FREQUENCY])
        turn = self.turn(number)
        on = turn < duty
        wait = ((duty if on else 1.0) - turn) / rate - EDGE / 2
        width = ((1.0 - duty) if on else duty) / rate - EDGE
        low, high = (1, 0) if on else (0, 1)
        return f"PULSE({low} {high} {wait!r} {EDGE!r} {EDGE!r} {width!r} {1 / rate!r})"

    def source(self, number: int) -> list[str]:
        """Return the EMF with its ends left open, if there is one."""
        name, emf = self.names[number], float(self.row[number, EMF])
        if self.row[number, WAVE] == Wave.SINE:
            rate, size = float(self.row[number, FREQUENCY]), float(self.row[number, AMPLITUDE])
            phase = 360.0 * self.turn(number)
            return [f"V{name} {{}} {{}} SIN({emf!r} {size!r} {rate!r} 0 0 {phase!r})"]
        return [f"V{name} {{}} {{}} {emf!r}"] if emf != 0.0 else []

    def chain(self, number: int, links: list[str]) -> list[str]:
        """Return links in series, with an inductance and a source of 0 V to measure by."""
        name, henry = self.names[number], float(self.row[number, INDUCTANCE])
        if number in self.watched or self.network.laws[number] == Law.COIL:
            links = [f"Vi{name} {{}} {{}} 0", *links]
        if henry > 0.0:
            links = [*links, f"L{name} {{}} {{}} {henry!r}"]
        a, b = self.ends(number).split()
        inner = [f"{self.inner[number]}_{place}" for place in range(1, len(links))]
        ends = [a, *inner, b]
        return [link.format(ends[place], ends[place + 1]) for place, link in enumerate(links)]

    def diode(self, number: int) -> list[str]:
        name = self.names[number]
        device = f"D{name} {{}} {{}} {name}"
        return [*self.chain(number, [*self.source(number), device]), self.model(number)]

    def lamp(self, number: int) -> list[str]:
        heat = float(self.row[number, CAPACITANCE])
        if heat == 0.0:
            return self.watched_behaviour(number, super().lamp(number))
        name = self.names[number]
        cold, k, beta = self.row[number, SHAPE:COLUMNS].tolist()
        kelvin, volts = f"{self.inner[number]}_kelvin", self.across(number)
        ohms = f"({cold!r}*(max(v({kelvin}),{ROOM!r})/{ROOM!r})^{GROWTH!r})"
        held = f"((max({ohms}-{cold!r},0)+1e-30)/{k!r})^{2.0 / beta!r}"
        current = f"B{name} {self.ends(number)} I={volts}/{ohms}"
        return [
            *self.watched_behaviour(number, [current]),
            f"B{name}_taken 0 {kelvin} I={volts}*{volts}/{ohms}",
            f"B{name}_given {kelvin} 0 I={held}/{ohms}+{ROOM_LOSS!r}*(v({kelvin})-{ROOM!r})",
            f"C{name}_heat {kelvin} 0 {heat!r}",
        ]

    def limiter(self, number: int) -> list[str]:
        return self.watched_behaviour(number, super().limiter(number))

    def watched_behaviour(self, number: int, lines: list[str]) -> list[str]:
        if number not in self.watched:
            return lines
        links = []
        for line in lines:
            name, _a, _b, rest = line.split(maxsplit=3)
            links.append(f"{name} {{}} {{}} {rest.replace('{', '{{').replace('}', '}}')}")
        return self.chain(number, links)

    def motor(self, number: int) -> list[str]:
        farads = float(self.row[number, CAPACITANCE])
        if farads == 0.0:
            return self.watched_behaviour(number, super().motor(number))
        name, turning = self.names[number], f"{self.inner[number]}_speed"
        start, b, q = self.row[number, SHAPE : SHAPE + 3].tolist()
        ohms = float(1 / self.row[number, CONDUCTANCE])
        sense = [] if number in self.watched else [f"Vi{name} {{}} {{}} 0"]
        links = [*sense, *self.source(number), f"R{name} {{}} {{}} {ohms!r}"]
        load = f"{start!r}*tanh(v({turning})*1e3)+({b!r}+{q!r}*abs(v({turning})))*v({turning})"
        return [
            *self.chain(number, [*links, f"E{name} {{}} {{}} {turning} 0 1"]),
            f"F{name} 0 {turning} Vi{name} 1",
            f"C{name} {turning} 0 {farads!r}",
            f"B{name} {turning} 0 I={load}",
        ]

    def switch(self, number: int, coil: int, *, closed_at_rest: bool) -> list[str]:
        lines = super().switch(number, coil, closed_at_rest=closed_at_rest)
        amps = f"B{self.names[number]} {self.inner[number]} 0 V=abs(i(Vi{self.names[coil]}))"
        return [amps, *lines[1:]]

    def switched_over(self, number: int) -> list[str]:
        """Return the element before the event and after it, each behind a switch."""
        differing = np.flatnonzero(self.before[number] != self.row[number])
        straight = self.network.laws[number] in {Law.LINEAR, Law.COIL}
        still = self.row[number, INDUCTANCE] == 0.0 and self.row[number, WAVE] == 0.0
        if not (straight and still and set(differing.tolist()) <= {CONDUCTANCE, EMF}):
            name = self.network.elements[number].name
            raise SolveError(
                f"{name}: the netlist of an event can change conductance and EMF of a straight "
                "element without inductance and wave, no more; let another element switch"
            )
        lines = []
        for word, row, control in (("b", self.before, "gone"), ("a", self.row, "come")):
            siemens, emf = float(row[number, CONDUCTANCE]), float(row[number, EMF])
            if siemens > 0.0:
                name, inner = f"{self.names[number]}_{word}", f"{self.inner[number]}_{word}"
                a, b = self.ends(number).split()
                lines += [
                    f"V{name} {a} {inner} {emf!r}",
                    f"B{name} {inner} {b} I=v({inner},{b})*{siemens!r}*v(event_{control})",
                ]
        return lines

    def event(self) -> list[str]:
        """Return the two nodes that switch at the event: one comes, the other is gone."""
        if not self.differ:
            return []
        begin, end = self.times.lead_in, self.times.lead_in + EDGE
        return [
            f"Vevent_come event_come 0 PWL(0 0 {begin!r} 0 {end!r} 1)"
            if begin > 0.0
            else f"Vevent_come event_come 0 PWL(0 0 {end!r} 1)",
            "Bevent_gone event_gone 0 V=1-v(event_come)",
        ]
