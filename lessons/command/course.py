"""`halfsplit course new | release | report`: the instructor's course folder."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand and its own subcommands."""
    parser = subparsers.add_parser("course", help="make and keep an nbgrader course (instructors)")
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    new = actions.add_parser("new", help="make a course folder, or add what is missing in one")
    new.add_argument("folder", type=Path, metavar="DIR")
    new.set_defaults(run=run_new)
    release = actions.add_parser("release", help="pack a released lesson as a zip for students")
    release.add_argument("lesson", metavar="LESSON")
    release.add_argument("folder", nargs="?", type=Path, default=Path(), metavar="DIR")
    release.set_defaults(run=run_release)
    report = actions.add_parser(
        "report", help="list students, points, problems, and what all cases say of each student"
    )
    report.add_argument("folder", nargs="?", type=Path, default=Path(), metavar="DIR")
    report.set_defaults(run=run_report)


def run_new(arguments: argparse.Namespace) -> int:
    """Make a course folder and say what was done."""
    from lessons.coursefolder import make_course, need_nbgrader

    need_nbgrader()
    root = arguments.folder.expanduser().absolute()
    made = make_course(root)
    for name in made.added:
        print(f"  made {name}")
    for name in made.kept:
        print(f"  kept {name} as it is")
    print(f"The course is {root}; what to type there stands in its README.md.")
    return 0


def run_release(arguments: argparse.Namespace) -> int:
    """Pack a lesson for the students."""
    from lessons.coursefolder import course_of, pack_release

    print(f"Hand out this one file: {pack_release(course_of(arguments.folder), arguments.lesson)}")
    return 0


def run_report(arguments: argparse.Namespace) -> int:
    """Print a line a lesson and student, and one a student; 1 if there is any problem."""
    from lessons.coursefolder import course_of, need_nbgrader

    need_nbgrader()
    from grader.gradebook.report import report, standings

    root = course_of(arguments.folder)
    rows = report(root)
    for row in rows:
        print(report_line(row))
    for student, standing in standings(root).items():
        print(f"{student}: {standing.words()}")
    return 1 if any(row["problem"] for row in rows) else 0


def report_line(row: dict[str, str]) -> str:
    """Return lesson, student, points and problem of one row as a line."""
    if not row["student_id"]:
        return f"{row['assignment']}: {row['problem']}"
    points = f"{float(row['score']):6.1f} / {float(row['max_score']):g}"
    waits = "  written answer not marked yet" if row["needs_manual_grade"] == "True" else ""
    problem = f"  {row['problem']}" if row["problem"] else ""
    return f"{row['assignment']}  {row['student_id']:<20} {points}{waits}{problem}"
