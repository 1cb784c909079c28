"""Where circuits' control units come from."""

from dataclasses import replace
from pathlib import Path

from sim.circuitfile import read_circuit
from sim.diagnosis.sample import brakes_unit
from sim.diagnosis.vehicle import control_units

CIRCUIT = Path(__file__).parents[3] / "lessons/circuits/rear-window-heater.circuit.yaml"


def test_a_circuit_without_modules_has_no_control_unit():
    assert control_units(read_circuit(CIRCUIT)) == ()


def test_parts_of_a_kind_with_a_server_become_units_in_their_order():
    circuit = read_circuit(CIRCUIT)
    relays = [part.name for part in circuit.parts.values() if part.kind == "relay"]
    units = control_units(
        circuit, {"relay": lambda _circuit, part, _place: replace(brakes_unit(), name=part.name)}
    )
    assert [unit.name for unit in units] == relays
    assert relays
