"""Grading 30 hand-ins from their records, as a ratio to stock nbgrader that runs the notebooks.

Run with ``python -m pytest -m benchmark_study -s``. The ratio is printed; nothing is asserted about
time. Both are nbgrader's own command, started anew, on the same notebooks; stock nbgrader runs the
lesson's cells, which work out the points of the record in a kernel.
"""

import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.course import classroom as room
from tests.course.classroom import LESSON, Course

HAND_INS = 30


def grade(course: Course) -> float:
    """Grade the class; return how long it took, in seconds."""
    start = time.perf_counter()
    course.run("nbgrader", "autograde", LESSON)
    return time.perf_counter() - start


def test_autograde(benchmark, tmp_path: Path, say: Callable[[str], None]) -> None:
    """Thirty carefully worked hand-ins: ours, then stock."""
    pytest.importorskip("nbgrader")
    course = room.new_course(tmp_path)
    course.archive.mkdir(parents=True, exist_ok=True)
    for number in range(HAND_INS):
        lesson = course.student(f"student{number:02}")
        room.work(lesson, room.carefully)
        room.write_answer(lesson, "The click proves the control side.")
        course.collect(lesson)
    course.run("nbgrader", "zip_collect", LESSON)
    course.run("nbgrader", "autograde", LESSON, "--student", "student00")  # prepares the case
    shutil.rmtree(course.root / "autograded")
    ours = benchmark.pedantic(grade, args=(course,))
    points = [course.grade(room.POINTS_CELL, f"student{n:02}")[0] for n in range(HAND_INS)]
    shutil.rmtree(course.root / "autograded")
    (course.root / "nbgrader_config.py").write_text("c = get_config()\n")
    stock = grade(course)
    again = [course.grade(room.POINTS_CELL, f"student{n:02}")[0] for n in range(HAND_INS)]
    assert again == pytest.approx(points)
    say(
        f"autograde of {HAND_INS} hand-ins: {stock / ours:.1f} times as fast as stock nbgrader "
        f"({ours:.1f} s against {stock:.1f} s)"
    )
