"""`halfsplit replay CASE RECORD`: whether the simulator would have shown the same."""

from __future__ import annotations

import argparse
from pathlib import Path

from grader.record import read_record
from grader.replay import replay
from grader.suspects import line_up
from lessons.command.workorder import add_case, load_case, student_draw


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("replay", help="check a record against the simulator")
    add_case(parser)
    parser.add_argument("record", type=Path, metavar="RECORD")
    parser.add_argument("--student", metavar="ID", help="whose record it should be")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what does not fit; 1 if anything does not."""
    entries = read_record(arguments.record)
    lineup = line_up(load_case(arguments))
    student = arguments.student or str(entries[0].data.get("student", ""))
    drawn = student_draw(arguments, lineup, student)
    played = replay(lineup, drawn, student, entries)
    for mismatch in played.mismatches:
        print(f"entry {mismatch.line}: {mismatch.text}")
    ended = "closed" if played.vehicle.progress.closed else "no end: the work order was not closed"
    print(f"{len(entries)} entries, {len(played.mismatches)} mismatches, {ended}")
    return 1 if played.mismatches else 0
