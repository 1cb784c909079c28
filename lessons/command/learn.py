"""`halfsplit learn`: make a student's folder with its lessons and open JupyterLab there."""

from __future__ import annotations

import argparse
import signal
import sys
import webbrowser
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from grader.draw import clean_student
from grader.errors import DrawError
from grader.outcomes import Progress
from lessons.benchonly import THEMES, require_voila
from lessons.errors import FolderError, ReleaseError
from lessons.folder import (
    HOME_FILE,
    Home,
    read_home,
    read_last,
    usual_folder,
    write_home,
    write_last,
)
from lessons.server import Server, running

if TYPE_CHECKING:
    from lessons.readying import Readying


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "learn",
        help="make your folder with the lessons and open it in JupyterLab",
        description="Makes your folder with the lessons, or brings it up to date (what you have "
        "done there stays as it is), and opens the first lesson in JupyterLab.",
    )
    parser.add_argument("--student", metavar="ID", help="your id in the course; asked for once")
    parser.add_argument(
        "--folder", type=Path, help="where your folder is or shall be (default: ~/halfsplit/ID)"
    )
    parser.add_argument(
        "--lesson",
        type=Path,
        metavar="PATH",
        help="add the lesson your instructor released: a zip or a folder",
    )
    parser.add_argument(
        "--bench-only",
        nargs="?",
        const=THEMES[0],
        choices=THEMES,
        default="",
        help="show a lesson as benches and text only: no code, no menus, nothing to run "
        "(default: light); needs voila",
    )
    parser.add_argument(
        "--no-browser",
        action="store_true",
        help="print the address and serve until stopped with Ctrl-C",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Make or find the student's folder, bring it up to date, serve it until stopped."""
    if arguments.bench_only:
        require_voila()
    home = settle_home(arguments.student, arguments.folder)
    write_home(home)  # from here on the folder says whose it is, whatever comes next
    home, names = bring_lessons(home, arguments.lesson)
    write_home(home)
    write_last(home)
    first, *later = names
    make_ready(home, first)
    print(f"Your folder is {home.folder}", flush=True)
    return serve(
        home,
        f"{first}/{first}.ipynb",
        later,
        browser=not arguments.no_browser,
        bench_only=arguments.bench_only,
    )


def settle_home(student: str | None, folder: Path | None) -> Home:
    """Return the student's folder: the one named, the one used last, or a new one.

    Raises
    ------
    FolderError
        The folder is another student's, has gone, or there is nobody to ask for an id.
    DrawError
        The id given is none.
    """
    wanted = None if student is None else clean_student(student)
    last = read_last() if folder is None else None
    if folder is None and last is not None and wanted in {None, last[0]}:
        folder = last[1]
        if not (folder / HOME_FILE).is_file():
            raise FolderError(
                f"{folder}: your folder is not there any more; say where it is now with --folder, "
                f"or make a new one with --folder {usual_folder(last[0])} --student {last[0]}"
            )
    if folder is None:
        wanted = wanted or ask_student()
        folder = usual_folder(wanted)
    folder = folder.expanduser().absolute()
    if not (folder / HOME_FILE).is_file():
        return Home(folder, wanted or ask_student())
    home = read_home(folder)
    if wanted not in {None, home.student}:
        raise FolderError(
            f"{folder}: belongs to student {home.student!r}, got {wanted!r}; "
            "leave --student out, or choose another --folder"
        )
    return home


def ask_student() -> str:
    """Ask for the student's id until there is one.

    Raises
    ------
    FolderError
        Nobody answers.
    """
    while True:
        try:
            answer = input("Your student id (learning alone? any name will do): ")
        except EOFError:
            raise FolderError("no student id: give yours with --student ID") from None
        try:
            return clean_student(answer)
        except DrawError as error:
            print(error, file=sys.stderr)


def bring_lessons(home: Home, release: Path | None) -> tuple[Home, list[str]]:
    """Put lessons into the folder and say what was done; return their ids too."""
    from lessons.catalogue import shipped_lessons
    from lessons.handout import hand_out, practice_release, released_lessons

    names = []
    if release is not None:
        with released_lessons(release.expanduser()) as folders:
            for folder in folders:
                home, report = hand_out(folder, home)
                print(*report.lines(), sep="\n")
                names.append(report.lesson)
        return home, names
    shipped = shipped_lessons()
    if not shipped:
        raise ReleaseError("this installation holds no lessons; install halfsplit again")
    for source in shipped.values():
        with practice_release(source) as folder:
            home, report = hand_out(folder, home)
        print(*report.lines(), sep="\n")
        names.append(report.lesson)
    return home, names


def make_ready(home: Home, lesson: str) -> None:
    """Work out the best paths of a lesson now, so that no score sheet keeps the student waiting."""
    from grader.casefile import read_case
    from grader.prepared import prepare
    from lessons.course import cases_in

    for name, file in cases_in(home.folder / lesson).items():
        title = f"Getting case {name} ready (takes a while the first time) ..."
        print(title, end="", flush=True)
        prepare(read_case(file), tell=dots())
        print(" ready.", flush=True)


def meanwhile(home: Home, lessons: Iterable[str]) -> Readying:
    """Return what works out best paths in the background; say so if there are any to do."""
    from lessons.course import cases_in
    from lessons.readying import Readying

    cases = [file for lesson in lessons for file in cases_in(home.folder / lesson).values()]
    if cases:
        print(f"The cases of later lessons ({len(cases)}) are got ready while you work.")
    return Readying(home, cases)


def dots() -> Callable[[Progress], None]:
    """Return what prints a dot for every tenth of the work; Ctrl-C keeps what is done."""
    shown = 0

    def tell(progress: Progress) -> None:
        nonlocal shown
        tenths = 10 * progress.done // progress.of
        print("." * (tenths - shown), end="", flush=True)
        shown = max(shown, tenths)

    return tell


def serve(
    home: Home, notebook: str, later: Iterable[str], *, browser: bool, bench_only: str
) -> int:
    """Open a notebook, in JupyterLab or as benches only; return when it has been stopped.

    Meanwhile the cases of `later` lessons are got ready.
    """
    there = running(home)
    if there is not None:
        print("JupyterLab is already running for this folder:")
        show(there.page(notebook, bench_only), browser=browser)
        return 0
    stop_on_request()
    try:
        print("Starting JupyterLab ...", flush=True)
        with Server(home) as server:
            show(server.address.page(notebook, bench_only), browser=browser)
            with meanwhile(home, later):
                print("Stop with Ctrl-C.", flush=True)
                server.wait()
    except KeyboardInterrupt:
        print()
    print(f"Stopped. Your work is in {home.folder}")
    return 0


def show(address: str, *, browser: bool) -> None:
    """Print an address, and open it in the browser if wanted and possible."""
    print(f"  {address}", flush=True)
    if browser and not webbrowser.open(address):
        print("No browser could be opened: open the address above in yours.", flush=True)


def stop_on_request() -> None:
    """Let Ctrl-C and a request to end the program stop JupyterLab, also in the background."""

    def stop(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
