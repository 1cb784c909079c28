"""A bench rig for instruments: two batteries in series, loads of any resistance, a few faults.

The batteries stand at 12.0 V each (11.89 V at 0 %, 12.06 V at 25 % charge, so 12.00 V at 16.18 %)
and hardly have a resistance. A resistor is a grid of 10 V: ``R = 100 V2 / P``.
"""

from pathlib import Path

from sim.action import Reading, action_from_json
from sim.bench import Bench, Step
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.situation import Situation

TWELVE = (12.0 - 11.89) / (12.06 - 11.89) * 0.25  # charge


def resistor(name: str, ohms: float) -> str:
    """Give the line of a part that is a plain resistance."""
    return f"  {name}: {{kind: heater grid, power: {100.0 / ohms:.12g} W at 10 V, at: bench}}"


def circuit(folder: Path, parts: list[str], wires: list[str], more: str = "") -> Circuit:
    """Give a circuit with a 12 V battery B1 (ground at the body), B2 on top of it, and parts."""
    charge = f"{100 * TWELVE:.10g} %"
    battery = f"{{kind: battery, cold cranking: 2000 A, charge: {charge}, at: bench}}"
    lines = [
        "format: circuit",
        "version: 1",
        "id: rig",
        "title: rig",
        "vehicle: Kestrin rig",
        "places:",
        "  bench: {reach: 1 min, again: 0.5 min}",
        "  far end: {reach: 3 min, again: 1 min}",
        "parts:",
        f"  B1: {battery}",
        f"  B2: {battery}",
        "  S1: {kind: key switch, at: bench}",
        *parts,
        "rails:",
        '  "30": B1.+',
        '  "15": S1.run',
        '  "31": body',
        "controls:",
        "  key: {off, accessory, run, crank, sets: S1}",
        "wires:",
        "  1: [B1.-, body, black, 50 mm2, 0.1 m]",
        "  2: [B1.+, B2.-, red, 50 mm2, 0.1 m]",
        "  3: [B1.+, S1.in, red, 6 mm2, 0.1 m]",
        *[f"  {number}: [{wire}]" for number, wire in enumerate(wires, start=4)],
        "effects: {}",
        "diagram: {}",
        more,
    ]
    file = folder / "rig.circuit.yaml"
    file.write_text("\n".join(lines) + "\n", "utf-8")
    return read_circuit(file)


def wire(one: str, other: str) -> str:
    """Give a short thick wire."""
    return f"{one}, {other}, red, 10 mm2, 0.1 m"


class Rig:
    """Does things at a rig, written as in a record."""

    def __init__(self, whole: Circuit, faults: str = "", start: Situation | None = None) -> None:
        faulty = with_faults(whole, parse_faults(whole, faults)) if faults else whole
        self.bench = Bench(faulty, situation=start)

    def step(self, **do: object) -> Step:
        return self.bench.do(action_from_json(do))

    def do(self, **do: object) -> Reading:
        reading = self.step(**do).reading
        assert reading is not None
        return reading
