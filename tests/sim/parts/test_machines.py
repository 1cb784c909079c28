"""One circuit file with every machine and sensor: it can be written, and every fault solved."""

from pathlib import Path

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.effects import effect_holds
from sim.errors import CircuitFileError
from sim.faults import possible_faults, with_faults, write_faults
from sim.network import Configuration, build_network, circuit_elements, configured, stack_rows
from sim.parts import FAMILIES
from sim.parts.positions import stands
from sim.solver.steady import Solver

FILE = Path(__file__).parent / "machines.circuit.yaml"
DRIVES = (
    Configuration(),
    Configuration((("key", "run"), ("bus", "dominant"), ("wheel", "tooth"))),
    Configuration((("key", "crank"), ("coolant", "90 degC"), ("pedal", "30 %"))),
    Configuration(
        (
            ("key", "run"),
            ("engine", "idle 800 rpm"),
            ("fan", "on"),
            ("oil", "3 bar"),
            ("boost", "1.5 bar"),
            ("wheel", "300 rpm"),
            ("crank", "800 rpm"),
            ("bus", "busy 70 %"),
        )
    ),
)


@pytest.fixture(scope="module")
def machines() -> Circuit:
    return read_circuit(FILE)


def test_every_kind_set_by_a_control_here_reads_its_positions(machines: Circuit) -> None:
    read = {
        part.name: [stand.value for stand in stands(part, FAMILIES[part.kind].setting, 0.0)]
        for part in machines.parts.values()
        if part.settings and FAMILIES[part.kind].setting
    }
    assert set(read) == {"G1", "R1", "R3", "P1", "V3", "N1", "N2", "U1"}
    assert read["R1"] == [20.0, 90.0, 105.0]
    assert read["P1"] == pytest.approx([0.0, 1.5e5])


@pytest.mark.parametrize("drive", DRIVES, ids=lambda drive: str(dict(drive.controls)))
def test_every_fault_has_a_steady_state_that_obeys_all_laws(
    machines: Circuit, drive: Configuration
) -> None:
    faults = possible_faults(machines)
    circuits = [machines, *(with_faults(machines, fault) for fault, _ in faults)]
    network = build_network(machines)
    for circuit in circuits[1::40]:
        mine = build_network(circuit)
        assert np.array_equal(mine.ends, network.ends)
        assert np.array_equal(mine.laws, network.laws)
    solver = Solver.of(machines)
    rows = configured(machines, network, stack_rows(circuits), drive)
    lanes = solver.lanes(np.arange(len(circuits)))
    solution = solver.solve(rows, lanes)
    unsolved = [
        write_faults(machines, faults[index - 1][0]) for index in np.flatnonzero(solution.status)
    ]
    assert unsolved == []
    kirchhoff, law = solver.residuals(rows, lanes, solution)
    assert kirchhoff.max() < 1e-9
    assert law.max() < 1e-9
    assert np.abs(solution.volts[:, :-4]).max() < 30.0


@pytest.mark.parametrize(
    ("controls", "effects"),
    [
        ((), set()),
        ((("key", "run"),), set()),
        ((("key", "crank"),), {"engine cranks"}),
        ((("key", "run"), ("fan", "on")), {"fan runs"}),
        ((("key", "run"), ("engine", "idle 800 rpm")), {"charging"}),
    ],
)
def test_what_a_sound_vehicle_does(machines: Circuit, controls: tuple, effects: set[str]) -> None:
    solver = Solver.of(machines)
    network = solver.network
    rows = configured(machines, network, stack_rows([machines]), Configuration(controls))
    solution = solver.solve(rows, solver.lanes(np.zeros(1, dtype=np.int64)))
    seen = {
        name
        for name, effect in machines.effects.items()
        if effect_holds(machines, network, solution, effect)[0]
    }
    assert seen == effects


def test_asleep_the_unit_takes_its_few_milliamperes(machines: Circuit) -> None:
    solver = Solver.of(machines)
    load = solver.network.element("A1 load")
    amps = []
    for asleep in ((), ("A1",)):
        at_rest = Configuration(asleep=asleep)
        rows = configured(machines, solver.network, stack_rows([machines]), at_rest)
        solution = solver.solve(rows, solver.lanes(np.zeros(1, dtype=np.int64)))
        amps.append(float(solution.current[0, load]))
    assert amps == pytest.approx([0.418, 0.00313], rel=0.01)


def test_every_terminal_has_its_own_side(machines: Circuit) -> None:
    points = {point for e in circuit_elements(machines) for point in (e.a, e.b)}
    for part in machines.parts.values():
        if FAMILIES[part.kind].separable:
            assert {f"{part.name}.{pin}b" for pin in FAMILIES[part.kind].pins(part)} <= points


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ("105 degC, sets: R1", "105 bar, sets: R1", "temperature: got unit 'bar'"),
        ("closed: below 0.5 bar", "closed: under 0.5 bar", "closed must be `below` or `above`"),
        ("current: 18 A, stall", "current: 180 A, stall", "stall current must be above"),
        ("load: window", "load: door", "load must be fan or pump or friction or window"),
        ("type: split", "type: both", "type must be single or split"),
    ],
)
def test_a_slip_in_the_file_is_named_with_its_line(
    tmp_path: Path, right: str, wrong: str, said: str
) -> None:
    text = FILE.read_text("utf-8")
    assert right in text
    path = tmp_path / "machines.circuit.yaml"
    path.write_text(text.replace(right, wrong), "utf-8")
    with pytest.raises(CircuitFileError, match=said) as caught:
        read_circuit(path)
    assert "\n" not in str(caught.value)
    assert "machines.circuit.yaml:" in str(caught.value)
