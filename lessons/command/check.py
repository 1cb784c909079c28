"""`halfsplit check FILE`: whether a circuit or case holds together, and how hard it is.

Every mistake is one line, file:line first; a warning does not stop the file from being used.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from grader.casefile import read_case_through
from grader.errors import GraderError
from grader.judge import Judge
from grader.prepared import prepare
from grader.score import par_minutes
from lessons.catalogue import (
    CASE_ENDING,
    CIRCUIT_ENDING,
    case_path,
    circuit_path,
    shipped_cases,
    shipped_circuits,
)
from lessons.command.workorder import circuits_for
from sim.checks import check_circuit_file
from sim.errors import SimError
from sim.faults import possible_faults
from sim.yamltext import TextError, read_document

SOUND, MISTAKEN = 0, 2


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "check", help="name every mistake in circuits and cases, and show how hard a case is"
    )
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help="a circuit file or a case file, or the id of a shipped one",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what an author wants to know of every file."""
    worst = SOUND
    for name in arguments.files:
        try:
            code = check_circuit(name) if is_circuit(name) else check_case(name)
        except (SimError, GraderError) as error:
            complain(str(error))
            code = MISTAKEN
        worst = max(worst, code)
    return worst


def complain(text: str) -> None:
    """Print a mistake or a warning, one line."""
    sys.stderr.write(f"halfsplit check: {text}\n")


def is_circuit(name: str) -> bool:
    """Tell whether a name means a circuit: by id, by ending, or by what the file says it is."""
    if name in shipped_circuits() or name.endswith(CIRCUIT_ENDING):
        return True
    if name in shipped_cases() or name.endswith(CASE_ENDING) or not Path(name).exists():
        return False
    try:
        return read_document(Path(name), tolerant=True).data.get("format") != "case"
    except TextError:
        return True


def check_circuit(name: str) -> int:
    """Name every mistake in a circuit, or count what is in it."""
    checked = check_circuit_file(circuit_path(name))
    for mistake in checked.mistakes:
        complain(str(mistake))
    if not checked.sound or checked.circuit is None:
        return MISTAKEN
    circuit = checked.circuit
    faults = len(possible_faults(circuit))
    warned = len(checked.mistakes)
    but = "" if not warned else f", {warned} warning{'s' if warned > 1 else ''}"
    print(f"{circuit.name}: {len(circuit.parts)} parts, {faults} possible faults: sound{but}")
    return SOUND


def check_case(name: str) -> int:
    """Name every mistake in a case, or print its suspects, its par and its best path."""
    path = case_path(name)
    reading = read_case_through(path, circuits_for(path))
    for mistake in reading.mistakes:
        complain(str(mistake))
    if reading.case is None:
        return MISTAKEN
    prepared = prepare(reading.case)
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
    return SOUND


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
