"""What an engine, or anything else that runs, does to the thermistors it warms.

A thermistor that a control warms (``warmed by: engine``) goes towards its warm temperature while
the control stands in any other than its first position, and back to the vehicle's own while it
stands there: ``dT/dt = (T_end - T) / tau``, with a tau for each way (Newton's law of cooling, as in
OpenStax College Physics 2e; the time constants are those of the circuit file). At hand-over it has
its own temperature. Nothing else warms or cools it; a fan that does not turn makes no engine hot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim.circuit import Circuit
from sim.network import CONDUCTANCE, Floats, Network
from sim.parts.family import conductance
from sim.parts.thermistor import resistance, standing_temperature
from sim.situation import Memory, Situation

KIND = "thermistor"


@dataclass(frozen=True, slots=True)
class Warmed:
    """A thermistor: its name and element, the control that warms it, and that one's rest."""

    name: str
    element: int
    control: str
    rest: str
    warming: float
    cooling: float


@dataclass(frozen=True, slots=True)
class Temperatures:
    """All thermistors that something warms.

    Attributes
    ----------
    sensors : tuple of Warmed (T,)
    start, warm : float arrays (V, T)
        In degC: at hand-over, and where they end while what warms them runs.
    """

    circuits: tuple[Circuit, ...]
    sensors: tuple[Warmed, ...]
    start: Floats
    warm: Floats

    @classmethod
    def of(cls, network: Network, circuits: Sequence[Circuit]) -> Temperatures:
        """Find the thermistors of these variants that something warms."""
        circuit = circuits[0]
        sensors = tuple(
            Warmed(
                part.name,
                network.element(f"{part.name} bead"),
                control,
                circuit.controls[control].positions[0],
                part.number("warming"),
                part.number("cooling"),
            )
            for part in circuit.parts.values()
            if part.kind == KIND and (control := str(part.values["warmed by"]))
            if control in circuit.controls and not part.settings
        )
        found = [[one.parts[s.name] for s in sensors] for one in circuits]
        shape = (len(circuits), len(sensors))
        start = [
            [standing_temperature(part, one.temperature) for part in row]
            for one, row in zip(circuits, found, strict=True)
        ]
        warm = [[part.number("warm") for part in row] for row in found]
        return cls(
            tuple(circuits), sensors, np.array(start).reshape(shape), np.array(warm).reshape(shape)
        )

    def after(self, memory: Memory, situation: Situation, seconds: float) -> Memory:
        """Return the memory after controls have stood like this for a while."""
        if not self.sensors or seconds == 0.0:
            return memory
        celsius, standing = memory.celsius.copy(), dict(situation.controls)
        for number, sensor in enumerate(self.sensors):
            runs = standing.get(sensor.control, sensor.rest) != sensor.rest
            ambient = np.array([circuit.temperature for circuit in self.circuits])
            end = self.warm[:, number] if runs else ambient
            tau = sensor.warming if runs else sensor.cooling
            celsius[:, number] = end + (celsius[:, number] - end) * np.exp(-seconds / tau)
        return replace(memory, celsius=celsius)

    def present(self, rows: Floats, situation: Situation, memory: Memory) -> None:
        """Put the temperatures of this hour into rows (V, E, 13), where a bead is not open.

        A known-good thermistor on the plug is as warm as the old one, and has none of its faults.
        """
        for number, sensor in enumerate(self.sensors):
            column, good = rows[:, sensor.element, CONDUCTANCE], sensor.name in situation.tried
            for lane, circuit in enumerate(self.circuits):
                if column[lane] > 0.0:
                    part = circuit.parts[sensor.name]
                    bead = replace(part, faults=()) if good else part
                    celsius = float(memory.celsius[lane, number])
                    column[lane] = conductance(resistance(bead, celsius))
