"""`halfsplit replay CASE RECORD`: whether the simulator would have shown the same."""

from __future__ import annotations

import argparse

from grader.linedup import lined_up
from lessons.command.workorder import add_record, load_case, played_record


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("replay", help="check a record against the simulator")
    add_record(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what does not fit; 1 if anything does not."""
    played, _drawn = played_record(arguments, lined_up(load_case(arguments)))
    for mismatch in played.mismatches:
        print(f"entry {mismatch.line}: {mismatch.text}")
    ended = "closed" if played.vehicle.progress.closed else "no end: the work order was not closed"
    print(f"{len(played.entries)} entries, {len(played.mismatches)} mismatches, {ended}")
    return 1 if played.mismatches else 0
