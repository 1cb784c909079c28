"""`halfsplit serve-bus CASE`: the simulated vehicle's control units on loopback, for any scan tool.

ISO 13400-2 on 127.0.0.1 only; Ctrl-C ends it. `--demo` serves three invented units instead.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence

from lessons.errors import LessonError
from sim.diagnosis.doipmessages import HOST, PORT
from sim.diagnosis.unit import UnitState

LARGEST_PORT = 65535


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "serve-bus", help="put a vehicle's control units on loopback, by ISO 13400-2"
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "case", nargs="?", metavar="CASE", help="id of a shipped case, or a case file"
    )
    what.add_argument("--demo", action="store_true", help="three invented units instead")
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

    units = sample_units() if arguments.demo else units_of_case(arguments)
    try:
        serve(units, arguments.port)
    except KeyboardInterrupt:
        print("stopped")
    return 0


def units_of_case(arguments: argparse.Namespace) -> tuple[UnitState, ...]:
    """Return the control units of the vehicle that a case is about.

    Raises
    ------
    LessonError
        It has none.
    """
    from lessons.command.workorder import load_case
    from sim.diagnosis.vehicle import control_units

    case = load_case(arguments)
    units = control_units(case.circuit)
    if not units:
        raise LessonError(
            f"case {case.name!r}: its vehicle has no control unit; try --demo, or a case that has"
        )
    return units


def _for_ever() -> None:
    """Wait until the user interrupts; on Windows nothing but a sleep lets Ctrl-C through."""
    while True:
        time.sleep(3600)


def serve(
    units: Sequence[UnitState],
    port: int,
    say: Callable[[str], object] = print,
    wait: Callable[[], object] = _for_ever,
) -> None:
    """Put control units on loopback until `wait` returns (by default: never, Ctrl-C ends it).

    Parameters
    ----------
    port : int
        0 lets the system choose.
    say : callable
        Gets what to tell the user, a line at a time; the first when a tester may connect.
    """
    from sim.diagnosis.doip import VehicleOnLoopback
    from sim.diagnosis.doipgateway import GATEWAY

    with VehicleOnLoopback(units, port) as vehicle:
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
