"""`halfsplit handin [FOLDER]`: one zip of a lesson, for the instructor."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "handin",
        help="make the zip that you hand in",
        description="Makes one zip of a lesson's notebook and records. Exit code 1 says that "
        "something in it is missing or not finished.",
    )
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        metavar="FOLDER",
        help="the lesson's folder, or yours if it holds one lesson (default: where you are, or "
        "else the folder that `halfsplit learn` used last)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Make the zip and say what is missing in it; 1 if anything is."""
    from lessons.folder import meant_folder
    from lessons.handin import lesson_to_hand_in, make_handin

    folder = meant_folder(arguments.folder, "the lesson's folder")
    made = make_handin(lesson_to_hand_in(folder))
    for line in made.missing:
        print(f"Missing: {line}.")
    if made.advice:
        print(f"Make sure: {made.advice}.")
    print(f"Hand in this one file: {made.path}")
    return 1 if made.missing else 0
