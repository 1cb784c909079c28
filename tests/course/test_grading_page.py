"""nbgrader's grading page, served by JupyterLab in the course folder, shows points and sheets."""

import json
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from lessons.catalogue import shipped_lessons
from tests.course.classroom import LESSON, POINTS_CELL

WORD = "for-the-test"  # that lets us in
PATIENCE = 120  # s, beyond which the server does not come up at all


class Page:
    """A running JupyterLab."""

    def __init__(self, address: str) -> None:
        self.address = address

    def get(self, path: str, method: str = "GET") -> str:
        request = urllib.request.Request(self.address + path, method=method)  # noqa: S310 -- ours
        request.add_header("Authorization", f"token {WORD}")
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:  # noqa: S310 -- the same
            return answer.read().decode("utf-8")


@pytest.fixture(scope="module")
def page(graded, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    place = tmp_path_factory.mktemp("server")
    command = [sys.executable, "-m", "jupyter", "lab", "--no-browser", "--allow-root"]
    command += ["--ServerApp.port=0", f"--IdentityProvider.token={WORD}"]
    environment = {**graded.course.environment, "JUPYTER_RUNTIME_DIR": str(place)}
    with (
        (place / "log.txt").open("w") as log,
        subprocess.Popen(
            command, cwd=graded.course.root, env=environment, stdout=log, stderr=log
        ) as server,
    ):
        try:
            yield Page(address_of(server, place))
        finally:
            server.terminate()


def address_of(server: subprocess.Popen, place: Path) -> str:
    """Wait until the server has written its address, and listens there: it writes first."""
    end = time.monotonic() + PATIENCE
    while server.poll() is None and time.monotonic() < end:
        for file in place.glob("jpserver-*.json"):
            try:
                address = json.loads(file.read_text("utf-8"))["url"].rstrip("/")
                Page(address).get("/api")
            except (ValueError, urllib.error.URLError):
                continue  # being written, or not yet listening
            return address
        time.sleep(0.2)
    pytest.fail((place / "log.txt").read_text("utf-8"), pytrace=False)


def test_the_lesson_and_its_hand_ins_are_listed(graded, page: Page) -> None:
    listed = {one["name"]: one for one in json.loads(page.get("/formgrader/api/assignments"))}
    assert listed.keys() == shipped_lessons().keys()
    assert listed[LESSON]["max_score"] == 110
    hand_ins = json.loads(page.get(f"/formgrader/api/submissions/{LESSON}"))
    by_student = {one["student"]: one for one in hand_ins}
    assert by_student["ada"]["autograded"]
    assert by_student["ada"]["needs_manual_grade"]
    points, _waits = graded.course.grade(POINTS_CELL, "ada")
    assert by_student["ada"]["score"] == pytest.approx(points)
    assert by_student["ned"]["score"] == 0


def test_the_page_of_a_hand_in_shows_the_score_sheet(page: Page) -> None:
    hand_ins = json.loads(page.get(f"/formgrader/api/submitted_notebooks/{LESSON}/{LESSON}"))
    (ben,) = [one["id"] for one in hand_ins if one["student"] == "ben"]
    shown = page.get(f"/formgrader/submissions/{ben}/")
    assert "halfsplit-sheet" in shown
    assert "best choice then" in shown
    (gus,) = [one["id"] for one in hand_ins if one["student"] == "gus"]
    assert "does not replay" in page.get(f"/formgrader/submissions/{gus}/")


def test_the_button_that_grades_one_hand_in_takes_the_record_too(graded, page: Page) -> None:
    before = graded.course.grade(POINTS_CELL, "ben")
    path = f"/formgrader/api/submission/{LESSON}/ben/autograde"
    answer = json.loads(page.get(path, method="POST"))
    assert answer["success"], answer.get("log")
    assert "Converting notebook" in answer["log"]
    assert graded.course.grade(POINTS_CELL, "ben") == before
    assert graded.kinds("ben") == []
