"""`halfsplit skill [FOLDER]`: every closed case of one person, and what all of them say."""

from __future__ import annotations

import argparse
from pathlib import Path

from grader.errors import GraderError
from lessons.errors import LessonError
from sim.errors import SimError


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "skill",
        help="points of every closed case in a folder, and what they say together",
        description="Goes through all lessons of a student's or a new hire's folder. A case that "
        "was worked with a hint has its points, but does not count. Exit code 1 says that a "
        "record cannot be scored.",
    )
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        metavar="FOLDER",
        help="the person's folder, or one lesson's (default: where you are, or else the folder "
        "that `halfsplit learn` used last)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print a line a closed case, then what those without a hint say; 1 if a record is bad."""
    from grader.skill import Standing
    from lessons.course import CASE_ENDING
    from lessons.folder import meant_folder
    from lessons.points import worked_case

    folder = meant_folder(arguments.folder, "a student's folder")
    counted, bad = list[tuple[float, float]](), False
    for file in sorted([*folder.glob(f"*{CASE_ENDING}"), *folder.glob(f"*/*{CASE_ENDING}")]):
        case = file.name.removesuffix(CASE_ENDING)
        try:
            worked = worked_case(case, file.parent)
        except (SimError, GraderError, LessonError) as error:
            bad = True
            print(f"{case:<28} {error}")
            continue
        if worked is None:
            continue
        note = "" if worked.hints == 0 else "   with a hint: does not count"
        print(f"{case:<28} {worked.sheet.points:5.1f} points{note}", flush=True)
        if not worked.hints:
            counted.append(worked.sheet.counted)
    print(Standing.of(counted).words() if counted else f"{folder}: no closed case counts yet.")
    return 1 if bad else 0
