"""What `solve` and `export` share: a vehicle from the command line, brought to rest."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace

import numpy as np

from lessons.catalogue import circuit_path
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.errors import ActionError, FaultError, QuantityError, SolveError
from sim.faults import parse_faults, with_faults, write_faults
from sim.modules.leftover import rows_as_solved
from sim.modules.loop import rules_error, solve_standing
from sim.modules.wiring import Modules
from sim.network import Configuration, Floats, configured, stack_rows
from sim.parts import FAMILIES
from sim.parts.values import check_values, read_value
from sim.quantity import parse
from sim.solver.steady import Lanes, Solution, Solver

COLDEST, HOTTEST = -50.0, 150.0  # degC, what the tables of wires and batteries are good for
ENDS = ("from", "to", "beside", "supply beside")  # of a wire: not values but topology


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A circuit with its faults and settings, at rest: one lane, without instruments.

    `rows` is (1, E, 13), with what rules have set; `title` says in one line how the vehicle stands.
    """

    circuit: Circuit
    solver: Solver
    rows: Floats
    lanes: Lanes
    solution: Solution
    title: str
    modules: Modules


def add_vehicle(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say which vehicle, and how it stands."""
    parser.add_argument("circuit", metavar="CIRCUIT", help="id of a shipped circuit, or a file")
    parser.add_argument(
        "--fault",
        metavar="F",
        action="append",
        default=[],
        help="PART[.PIN]=way[:severity], such as 'C41.1=high resistance:1.2 ohm'; may be repeated",
    )
    parser.add_argument(
        "--set",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        help="a control (key=run), temperature ('temperature=-2 degC') or a part's value "
        "('B1.charge=70 %%'); may be repeated",
    )
    parser.add_argument(
        "--unplug",
        metavar="C",
        action="append",
        default=[],
        help="a part whose plug is off or that is pulled out; may be repeated",
    )


def settle_vehicle(arguments: argparse.Namespace) -> Vehicle:
    """Build the vehicle and bring it to rest from fuses whole and relays out.

    Raises
    ------
    SimError
        One line that says what was wrong with the arguments, or why there is no steady state.
    """
    circuit = read_circuit(circuit_path(arguments.circuit))
    circuit, controls = _set(circuit, arguments.set)
    circuit = _with_faults(circuit, arguments.fault)
    configuration = Configuration(tuple(controls.items()), _apart(circuit, arguments.unplug))
    solver = Solver.of(circuit)
    rows = configured(circuit, solver.network, stack_rows([circuit]), configuration)
    lanes = solver.lanes(np.zeros(1, dtype=np.int64))
    modules = Modules.of(solver.network, circuit)
    solution = solve_standing(solver, modules, rows, lanes)
    if solution.status[0] != 0:
        error = rules_error(solution, 0) or solver.explain(solution, 0)
        raise SolveError(f"{circuit.name}: {error}")
    rows = rows_as_solved(modules, rows, solution)
    title = _title(circuit, arguments)
    return Vehicle(circuit, solver, rows, lanes, solution, title, modules)


def _title(circuit: Circuit, arguments: argparse.Namespace) -> str:
    faults = write_faults(circuit, (f for part in circuit.parts.values() for f in part.faults))
    unplugged = [f"{name} apart" for name in arguments.unplug]
    return ", ".join([circuit.name, faults or "no fault", *arguments.set, *unplugged])


def _with_faults(circuit: Circuit, written: list[str]) -> Circuit:
    faults = [fault for text in written for fault in parse_faults(circuit, text)]
    places = [(fault.part, fault.pin, fault.way) for fault in faults]
    for fault, place in zip(faults, places, strict=True):
        if places.count(place) > 1:
            raise FaultError(f"fault {fault.point}={fault.way} is given twice; keep one")
    return with_faults(circuit, faults)


def _settings(written: str) -> list[str]:
    """Return the settings in one ``--set``: several are parted by commas, each with its ``=``."""
    several = written.split(",")
    return several if all("=" in one for one in several) else [written]


def _set(circuit: Circuit, written: list[str]) -> tuple[Circuit, dict[str, str]]:
    """Return the circuit with its values set, and the positions of the controls."""
    controls = {name: control.positions[0] for name, control in circuit.controls.items()}
    for text in (one for several in written for one in _settings(several)):
        key, equals, value = (word.strip() for word in text.partition("="))
        if not equals:
            raise ActionError(f"--set {text!r}: expected KEY=VALUE, such as key=run")
        if key in controls:
            positions = circuit.controls[key].positions
            if value not in positions:
                raise ActionError(
                    f"--set {text!r}: {key} has no position {value!r}, but {', '.join(positions)}"
                )
            controls[key] = value
        else:
            circuit = _set_value(circuit, text, key, value)
    return circuit, controls


def _set_value(circuit: Circuit, text: str, key: str, value: str) -> Circuit:
    try:
        if key == "temperature":
            return _at_temperature(circuit, value)
        name, _, parameter = key.rpartition(".")
        if name not in circuit.parts:
            known = ", ".join([*circuit.controls, "temperature", "PART.VALUE"])
            raise ActionError(f"--set {text!r}: {key!r} unknown; there are {known}")
        part = circuit.parts[name]
        allowed = {k: p for k, p in FAMILIES[part.kind].parameters.items() if k not in ENDS}
        if parameter not in allowed:
            raise ActionError(
                f"--set {text!r}: {name} has no {parameter!r}; a {part.kind} has "
                f"{', '.join(allowed) or 'nothing to set'}"
            )
        changed = circuit.changed(
            name, **{parameter: read_value(allowed[parameter], parameter, value)}
        )
        check_values(changed.parts[name])
    except QuantityError as error:
        raise ActionError(f"--set {text!r}: {error}") from error
    return changed


def _at_temperature(circuit: Circuit, value: str) -> Circuit:
    degrees = parse(value, "temperature")
    if not COLDEST <= degrees <= HOTTEST:
        raise QuantityError(f"got {value}, expected {COLDEST:g} degC to {HOTTEST:g} degC")
    return replace(circuit, temperature=degrees)


def _apart(circuit: Circuit, names: list[str]) -> tuple[str, ...]:
    loose = [
        name
        for name, part in circuit.parts.items()
        if FAMILIES[part.kind].separable or FAMILIES[part.kind].removable
    ]
    for name in names:
        if name not in loose:
            raise ActionError(f"--unplug {name!r}: what comes apart is {', '.join(loose)}")
    return tuple(dict.fromkeys(names))
