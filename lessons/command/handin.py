"""`halfsplit handin [FOLDER]`: one zip of a lesson, for the instructor."""

from __future__ import annotations

import argparse
from pathlib import Path

from lessons.errors import HandInError
from lessons.folder import HOME_FILE, read_last


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
    from lessons.handin import lesson_to_hand_in, make_handin

    folder = meant_folder(arguments.folder, "the lesson's folder")
    made = make_handin(lesson_to_hand_in(folder))
    for line in made.missing:
        print(f"Missing: {line}.")
    if made.advice:
        print(f"Make sure: {made.advice}.")
    print(f"Hand in this one file: {made.path}")
    return 1 if made.missing else 0


def meant_folder(given: Path | None, which: str) -> Path:
    """Return the folder given, or the student's folder one is in, or the one used last.

    Parameters
    ----------
    which : str
        What is asked for, in words.

    Raises
    ------
    HandInError
        There is no such folder.
    """
    if given is not None:
        if not given.is_dir():
            raise HandInError(f"{given}: no such folder; give {which}")
        return given.resolve()
    here = Path.cwd()
    if any((place / HOME_FILE).is_file() for place in (here, *here.parents)):
        return here
    last = read_last()
    if last is None or not last[1].is_dir():
        raise HandInError(f"{here}: not in a student's folder; give {which}")
    return last[1]
