"""A real JupyterLab with the shipped lesson, and a real Chromium to work it with."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from grader.besttree import best_tree
from grader.casefile import read_case
from grader.prepared import prepare
from lessons.catalogue import CIRCUITS, case_path, shipped_lessons
from lessons.course import release_lesson
from lessons.folder import Home, write_home
from lessons.server import Server

TOP = Path(__file__).parents[2]
LESSON = "06-two-circuits-in-one-can"
CASE = "foggy-window"
STUDENTS = ("ada", "bea", "cai", "dan", "eve", "fay", "ida")


@pytest.fixture(scope="session")
def machine_code() -> None:
    """Have the machine code of solver and search made, and the best path worked out, beforehand.

    A page that waits for a score sheet then waits for the sheet, not for a compiler.
    """
    prepared = prepare(read_case(case_path(CASE), CIRCUITS))
    best_tree(prepared)


@pytest.fixture(scope="session")
def school(tmp_path_factory: pytest.TempPathFactory, machine_code: None) -> Path:  # noqa: ARG001 -- made first
    """Give a folder with a student's folder for each student, the lesson in it."""
    folder = tmp_path_factory.mktemp("school")
    for student in STUDENTS:
        home = Home(folder / student, student)
        write_home(home)
        release_lesson(shipped_lessons()[LESSON], home.folder / LESSON, b"a secret for tests")
    return folder


@pytest.fixture(scope="session")
def server(school: Path, chromium: str) -> Iterator[Server]:  # noqa: ARG001 -- none without a browser
    """Give a JupyterLab that serves all of them, on this machine only, behind a token."""
    with pytest.MonkeyPatch.context() as patch:
        paths = [str(TOP), *filter(None, [os.environ.get("PYTHONPATH")])]
        patch.setenv("PYTHONPATH", os.pathsep.join(paths))
        with Server(Home(school, "nobody")) as server:
            yield server


@pytest.fixture(scope="session")
def pictures() -> Path:
    """Give the folder where pictures stay for looking at, `.screenshots` beside the tests."""
    folder = TOP / ".screenshots"
    folder.mkdir(exist_ok=True)
    return folder


@contextmanager
def window(browser: Browser) -> Iterator[Page]:
    """Open a window of a 13-inch laptop; what its page complains of is an error on the way out."""
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.set_default_timeout(30_000)
    yield page
    page.close()
    assert complaints == []


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """Give a window to one test."""
    with window(browser) as page:
        yield page
