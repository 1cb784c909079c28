"""`halfsplit serve-bus CASE`: the simulated vehicle's control units on loopback, for any scan tool.

ISO 13400-2 on 127.0.0.1 only; Ctrl-C ends it. The vehicle is a student's, hidden cause and all, or
without `--student` a sound one; it stands with its controls as at hand-over, or as `--set` puts
them. A circuit file may stand in place of a case. `--demo` serves three invented units instead.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from lessons.errors import LessonError
from sim.diagnosis.doipmessages import HOST, PORT
from sim.diagnosis.unit import UnitState

if TYPE_CHECKING:
    from sim.circuit import Circuit
    from sim.diagnosis.doipgateway import Refresh
    from sim.served import Served
    from sim.situation import Situation

LARGEST_PORT = 65535
CIRCUIT_FILE = ".circuit.yaml"


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "serve-bus", help="put a vehicle's control units on loopback, by ISO 13400-2"
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "case", nargs="?", metavar="CASE", help="id of a shipped case, a case file or circuit file"
    )
    what.add_argument("--demo", action="store_true", help="three invented units instead")
    parser.add_argument(
        "--student",
        metavar="ID",
        help="whose vehicle, with its hidden cause (default: a sound one)",
    )
    parser.add_argument(
        "--secret-file", metavar="FILE", type=Path, help="the course's secret (default: as in work)"
    )
    parser.add_argument(
        "--set",
        metavar="CONTROL=POSITION",
        action="append",
        default=[],
        help="a control that stands otherwise than at hand-over, such as key=run; may be repeated",
    )
    parser.add_argument(
        "--port",
        type=_port,
        default=PORT,
        metavar="N",
        help=f"TCP and UDP port on {HOST} (default {PORT}; 0 for any)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Serve until Ctrl-C."""
    from sim.diagnosis.sample import sample_units

    vehicle = None if arguments.demo else vehicle_of(arguments)
    units = sample_units() if vehicle is None else vehicle.units()
    try:
        serve(units, arguments.port, refresh=None if vehicle is None else vehicle.refresh)
    except KeyboardInterrupt:
        print("stopped")
    return 0


def vehicle_of(arguments: argparse.Namespace) -> Served:
    """Return the vehicle that the arguments name, ready to be served.

    Raises
    ------
    LessonError
        It has no control unit, or no such control or position.
    """
    from sim.diagnosis.vehicle import control_units
    from sim.served import Served

    circuit, situation = _handed_over(arguments)
    if not control_units(circuit):
        raise LessonError(
            f"case {arguments.case!r}: its vehicle has no control unit; try --demo, or a case that "
            "has"
        )
    return Served.of(circuit, _stood(circuit, situation, arguments.set))


def _handed_over(arguments: argparse.Namespace) -> tuple[Circuit, Situation]:
    """Return the vehicle and how it stands at hand-over."""
    from grader.draw import clean_student, drawn_circuit
    from grader.linedup import lined_up
    from grader.suspects import start_situation
    from lessons.command.workorder import load_case, student_draw
    from sim.circuitfile import read_circuit
    from sim.situation import Situation

    if arguments.case.endswith(CIRCUIT_FILE):
        return read_circuit(Path(arguments.case)), Situation()
    case = load_case(arguments)
    start = start_situation(case)
    if arguments.student is None:
        return case.circuit, start
    lineup = lined_up(case)
    drawn = student_draw(arguments, lineup, clean_student(arguments.student))
    return drawn_circuit(case, lineup, drawn), start


def _stood(circuit: Circuit, situation: Situation, written: Sequence[str]) -> Situation:
    """Return the bench with controls where the command line puts them."""
    controls = dict(situation.controls)
    for text in written:
        name, equals, position = (word.strip() for word in text.partition("="))
        known = circuit.controls.get(name)
        if not equals or known is None or position not in known.positions:
            there = "; ".join(f"{n}: {', '.join(c.positions)}" for n, c in circuit.controls.items())
            raise LessonError(f"--set {text!r}: expected CONTROL=POSITION; there are {there}")
        controls[name] = position
    return replace(situation, controls=tuple(sorted(controls.items())))


def _for_ever() -> None:
    """Wait until the user interrupts; on Windows nothing but a sleep lets Ctrl-C through."""
    while True:
        time.sleep(3600)


def serve(
    units: Sequence[UnitState],
    port: int,
    say: Callable[[str], object] = print,
    wait: Callable[[], object] = _for_ever,
    refresh: Refresh | None = None,
) -> None:
    """Put control units on loopback until `wait` returns (by default: never, Ctrl-C ends it).

    Parameters
    ----------
    port : int
        0 lets the system choose.
    say : callable
        Gets what to tell the user, a line at a time; the first when a tester may connect.
    refresh : callable, optional
        Brings the units up to date before each request.
    """
    from sim.diagnosis.doip import VehicleOnLoopback
    from sim.diagnosis.doipgateway import GATEWAY

    with VehicleOnLoopback(units, port, refresh=refresh) as vehicle:
        say(f"listening on {HOST}:{vehicle.port} (ISO 13400-2), gateway 0x{GATEWAY:04X}")
        for unit in units:
            services = "generic and UDS" if unit.generic else "UDS"
            say(f"  0x{unit.address:04X}  {unit.name}: {services}")
        say("Ctrl-C ends it")
        wait()


def _port(text: str) -> int:
    """Read a port number."""
    if not text.isascii() or not text.isdecimal() or int(text) > LARGEST_PORT:
        raise argparse.ArgumentTypeError(f"got {text!r}, expected 0 to {LARGEST_PORT}")
    return int(text)
