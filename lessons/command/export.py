"""`halfsplit export CIRCUIT`: one operating point as a netlist for ngspice."""

from __future__ import annotations

import argparse

from lessons.command.vehicle import add_vehicle, settle_vehicle
from sim.modules.leftover import pulsed_share
from sim.spice import Held, write_netlist


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "export", help="print a vehicle's netlist, to be run as `ngspice -b FILE`"
    )
    add_vehicle(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the netlist; of our solution it takes what is remembered and what rules set.

    Where outputs are pulsed it is the moment in which all of them are on, and the title says so.
    """
    vehicle = settle_vehicle(arguments)
    held = Held(vehicle.solution.closed[0], vehicle.solution.blown[0])
    pulsed = pulsed_share(vehicle.modules, vehicle.solution)
    moment = f", while pulsed outputs are on: {', '.join(pulsed)}" if pulsed else ""
    title = vehicle.title + moment
    print(write_netlist(vehicle.solver.network, vehicle.rows[0], held, title), end="")
    return 0
