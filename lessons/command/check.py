"""`halfsplit check FILE`: whether a circuit or case holds together, and how hard it is.

Every mistake is one line, file:line first; a warning does not stop the file from being used.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from textwrap import fill

from grader.authoring import (
    ambiguity_groups,
    depth,
    hurtful,
    ruled_out_by_complaint,
)
from grader.besttree import best_tree, tree_lines
from grader.casefile import read_case_through
from grader.draw import assignable
from grader.errors import GraderError
from grader.judge import Judge
from grader.linedup import lined_up
from grader.prepared import Prepared, prepare
from grader.promises import broken_promises
from grader.reasonwords import bare_name, listed
from grader.score import par_minutes
from grader.workers import workers_keep
from lessons.catalogue import (
    CASE_ENDING,
    CIRCUIT_ENDING,
    CIRCUITS,
    case_path,
    circuit_path,
    shipped_cases,
    shipped_circuits,
)
from lessons.command.counting import causes_played, clear, cleared, readings_taken
from lessons.command.overview import overview
from sim.checks import check_circuit_file
from sim.checks.names import misnamed
from sim.errors import SimError
from sim.faults import possible_faults
from sim.yamltext import TextError, read_document

SOUND, MISTAKEN = 0, 2
DEEP = " " * 6
MANY = 80  # suspects from which a complaint is too wide to be thought through; ours
TOO_WIDE = (
    "{} suspects fit the complaint, which is more than anybody can think through, and slow to get "
    "ready; say in `shows` what else the customer saw, above all what still works: each such line "
    "takes away what would have shown otherwise"
)
UNDECIDED = (
    "different repairs: only trying them tells; give them a sign that is seen, a question, or one "
    "unit"
)


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "check", help="name every mistake in circuits and cases, and show how hard a case is"
    )
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        help="a circuit file or a case file, or the id of a shipped one",
    )
    parser.add_argument(
        "--all",
        action="store_true",
        help="list every shipped case: par, depth, what no reading tells apart, what habit costs",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what an author wants to know of every file."""
    if bool(arguments.files) == arguments.all:
        complain("say which FILE, or --all for every shipped case, not both; see --help")
        return MISTAKEN
    if arguments.all:
        for line in overview(sorted(shipped_cases().values())):
            print(line, flush=True)
        return SOUND
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
    reading = read_case_through(path, CIRCUITS)
    for mistake in reading.mistakes:
        complain(str(mistake))
    if reading.case is None:
        return MISTAKEN
    document = read_document(path, tolerant=True)
    for odd in misnamed(path.name, reading.case.name, CASE_ENDING):
        complain(str(document.mistake(odd.where, odd.text, warning=odd.warning)))
    suspects = len(lined_up(reading.case).suspects)
    if suspects >= MANY:
        complain(str(document.mistake(("shows",), TOO_WIDE.format(suspects), warning=True)))
    with cleared():
        prepared = prepare(reading.case, tell=readings_taken)
    assignable(prepared.lineup)  # or the first to notice would be a student
    broken = broken_promises(prepared)
    for one in broken:
        complain(str(document.mistake(one.where, one.text, warning=one.warning)))
    tell_case(prepared)
    return SOUND if all(one.warning for one in broken) else MISTAKEN


def tell_case(prepared: Prepared) -> None:
    """Print what an author wants to know of a sound case."""
    lineup = prepared.lineup
    judge = Judge(prepared, lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    units = judge.units(judge.possible)
    tree = best_tree(prepared)
    print(f"{prepared.case.name}: {len(lineup.suspects)} suspects in {len(units)} units")
    print(f"plain readings that tell something: {len(prepared.space.choices)}")
    print(f"V at the start {start.upper:.2f} min (proven from {start.lower:.2f})")
    print(
        f"par {par_minutes(prepared, start):.1f} min; at most {depth(tree)} steps on the best path"
    )
    print("\nwhat is kept of the efficiency by somebody who ...")
    with cleared():
        for kept in workers_keep(prepared, causes_played):
            clear()
            words = f"  ({kept.words()})" if kept.words() else ""
            print(f"  {100 * kept.share:4.0f} %  {kept.worker}{words}", flush=True)
    print("\nsuspects")
    for suspect, chance in zip(lineup.suspects, prepared.likelihoods(), strict=True):
        print(f"  {100 * chance:5.1f} %  {suspect.name:<46} {suspect.unit.name}")
    tell_apart(prepared)
    print("\nbest path")
    for line in tree_lines(prepared, tree):
        print(line)


def tell_apart(prepared: Prepared) -> None:
    """Print what cannot be told apart, what the complaint rules out, and what would hurt."""
    print("\nno reading tells apart")
    groups = ambiguity_groups(prepared)
    for group in groups:
        mends = f"mended by {group.units[0]}" if len(group.units) == 1 else UNDECIDED
        print(f"  {', '.join(group.suspects)}: {mends}")
    if not groups:
        print("  nothing: every suspect can be proven")
    print("\nthe complaint already rules out")
    for contradicted in ruled_out_by_complaint(prepared):
        print(f"  {len(contradicted.faults):3} faults ({contradicted.would})")
        names = listed(list(dict.fromkeys(map(bare_name, contradicted.faults))), "and", most=12)
        print(fill(names, 100, initial_indent=DEEP, subsequent_indent=DEEP))
    print("\nwould hurt something")
    for harm, deeds in hurtful(prepared).items():
        print(f"  {harm}: {listed(deeds, 'or', most=5)}")
