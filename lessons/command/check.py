"""`halfsplit check FILE`: whether a circuit or case holds together, and how hard it is."""

from __future__ import annotations

import argparse
from typing import Any

from grader.judge import Judge
from grader.prepared import prepare
from grader.score import par_minutes
from lessons.catalogue import CIRCUIT_ENDING, circuit_path, shipped_circuits
from lessons.command.workorder import add_case, load_case
from sim.circuitfile import read_circuit
from sim.faults import possible_faults


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "check", help="check a circuit or a case, and show how hard it is"
    )
    add_case(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what an author wants to know."""
    name = arguments.case
    if name in shipped_circuits() or name.endswith(CIRCUIT_ENDING):
        circuit = read_circuit(circuit_path(name))
        faults = possible_faults(circuit)
        print(f"{circuit.name}: {len(circuit.parts)} parts, {len(faults)} possible faults: sound")
        return 0
    prepared = prepare(load_case(arguments))
    lineup = prepared.lineup
    judge = Judge(prepared, lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    units = judge.units(judge.possible)
    print(f"{prepared.case.name}: {len(lineup.suspects)} suspects in {len(units)} units")
    print(f"plain readings that tell something: {len(prepared.space.choices)}")
    print(f"V at the start {start.upper:.2f} min (proven from {start.lower:.2f})")
    print(f"par {par_minutes(prepared, start):.1f} min\n")
    for suspect, chance in zip(lineup.suspects, prepared.likelihoods(), strict=True):
        print(f"  {chance:6.1%}  {suspect.name:<46} {suspect.unit.name}")
    print("\nbest path")
    policy = prepared.policy()
    print_tree(policy.tree(policy.everything), "  ", "")
    return 0


def print_tree(tree: dict[str, Any], indent: str, label: str) -> None:
    """Print a policy tree, one line a choice."""
    lead = f"{indent}{label}: " if label else indent
    if "test" in tree:
        name = str(tree["test"]).partition(": ")[2]
        print(f"{lead}{name} [{tree['minutes']:.1f} min]")
        for outcome, branch in tree["outcomes"].items():
            print_tree(branch, indent + "   ", outcome)
    elif "replace" in tree:
        print(f"{lead}repair {tree['replace']}")
        print_tree(tree["wrong"], indent + "   ", "complaint still there")
    else:
        print(f"{lead}-> {tree['unit']}")
