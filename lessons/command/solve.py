"""`halfsplit solve CIRCUIT`: voltages, currents and states of a vehicle at rest."""

from __future__ import annotations

import argparse
import json
from typing import Any

import numpy as np

from lessons.command.vehicle import Vehicle, add_vehicle, settle_vehicle
from sim.modules.leftover import pulsed_share, residuals
from sim.network import INSTRUMENTS, LEADS
from sim.parts import FAMILIES
from sim.parts.family import Element, Law
from sim.solver.residuals import live_conductances

FORMAT, VERSION = "solution", 1
ROW = "  {:<22} {:>14}"
NUMBER = "z.6f"  # z: no minus before a zero


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("solve", help="print every voltage and current of a vehicle")
    add_vehicle(parser)
    parser.add_argument("--json", action="store_true", help="print the solution as JSON")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the solution."""
    vehicle = settle_vehicle(arguments)
    solution = solution_json(vehicle)
    print(json.dumps(solution, indent=1) if arguments.json else table(vehicle.title, solution))
    return 0


def solution_json(vehicle: Vehicle) -> dict[str, Any]:
    """Return the solution as formats.md has it.

    `points` are volts against the body, `currents` amperes into the part (or wire) at each of its
    ends; a relay is closed where its contact lets current through, a fuse blown where it does not.
    Where outputs are pulsed, `pulsed` gives the share of the time for which each is on; voltages
    and currents are then means, states those while they are on, and what is left over is the worst
    of every stretch of the period.
    """
    solver, modules, solution = vehicle.solver, vehicle.modules, vehicle.solution
    kirchhoff, law = residuals(solver, modules, vehicle.rows, vehicle.lanes, solution)
    pulsed = pulsed_share(modules, solution)
    return {
        "format": FORMAT,
        "version": VERSION,
        "points": points(vehicle),
        "currents": currents(vehicle),
        "states": states(vehicle),
        **({"pulsed": pulsed} if pulsed else {}),
        "kcl_residual": float(kirchhoff[0]),
        "law_residual": float(law[0]),
    }


def points(vehicle: Vehicle) -> dict[str, float]:
    """Return the voltage of every point that has a terminal; not those inside wires."""
    inner = vehicle.solver.network.nodes[: -len(LEADS)]
    volts = vehicle.solution.volts[0].tolist()
    return {
        name: value + 0.0  # not -0.0
        for name, value in zip(inner, volts, strict=False)
        if not name.endswith(" middle")
    }


def currents(vehicle: Vehicle) -> dict[str, float]:
    """Return the current into every part at every end of it, in A."""
    found: dict[str, float] = {}
    amps = iter(vehicle.solution.current[0].tolist())
    for part in vehicle.circuit.parts.values():
        family = FAMILIES[part.kind]
        branches = [(e, next(amps)) for e in family.elements(part, vehicle.circuit.temperature)]
        if part.kind == "wire":
            found[f"{part.name}.from"] = branches[0][1] + 0.0  # not -0.0
            found[f"{part.name}.to"] = 0.0 - branches[-1][1]
            continue
        halves = ("a", "b") if part.kind == "connector" else ("",)
        for end in (f"{part.name}.{pin}{half}" for pin in family.pins(part) for half in halves):
            found[end] = into(end, branches)
    return found


def into(point: str, branches: list[tuple[Element, float]]) -> float:
    """Return the current that leaves a point through branches, in A."""
    leaving = sum(amps for element, amps in branches if element.a == point)
    return leaving - sum(amps for element, amps in branches if element.b == point)


def states(vehicle: Vehicle) -> dict[str, str]:
    """Return how each relay's contact and each fuse stands."""
    network, solution = vehicle.solver.network, vehicle.solution
    live = live_conductances(network, vehicle.rows, solution.closed, solution.blown)[0]
    words = {Law.CONTACT: ("open", "closed"), Law.FUSE: ("blown", "whole")}
    carrying = np.asarray(live > 0.0).tolist()
    inner = len(network.elements) - len(INSTRUMENTS)
    return {
        element.relay or element.name: words[element.law][carries]
        for element, carries in zip(network.elements[:inner], carrying, strict=False)
        if element.law in words
    }


def table(title: str, solution: dict[str, Any]) -> str:
    """Return a solution as text to read."""
    lines = [title, "", "voltages against the body, V"]
    lines += [ROW.format(name, f"{volts:{NUMBER}}") for name, volts in solution["points"].items()]
    lines += ["", "currents into parts, A"]
    lines += [ROW.format(name, f"{amps:{NUMBER}}") for name, amps in solution["currents"].items()]
    lines += ["", "relays and fuses"]
    lines += [ROW.format(name, state) for name, state in solution["states"].items()]
    if "pulsed" in solution:
        lines += ["", "pulsed, share of the time on; voltages and currents are means"]
        lines += [ROW.format(name, f"{share:.3f}") for name, share in solution["pulsed"].items()]
    kirchhoff, law = solution["kcl_residual"], solution["law_residual"]
    lines += ["", f"left over: {kirchhoff:.1e} A at a node, {law:.1e} V at an element"]
    return "\n".join(lines)
