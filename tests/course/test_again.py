"""Hand-ins that come later: collected again, graded again, the rest left as it is."""

import os
import time
from collections.abc import Iterator

import pytest

from tests.course import classroom as room
from tests.course.classroom import CASE, LESSON, POINTS_CELL, Course
from tests.course.extra import need_nbgrader


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Course]:
    """Give a course in which ada has handed in a case that she had not solved."""
    need_nbgrader()
    with room.new_course(tmp_path_factory.mktemp("again")) as course:
        lesson = course.student("ada")
        room.work(lesson, room.in_vain)
        course.collect(lesson)
        course.run("nbgrader", "zip_collect", LESSON)
        yield course


def test_without_the_secret_nobody_gets_a_zero(begun: Course) -> None:
    secret = begun.root / "course.secret"
    away = secret.rename(secret.with_suffix(".away"))
    try:
        ran = begun.run("nbgrader", "autograde", LESSON, check=False)
    finally:
        away.rename(secret)
    assert ran.returncode == 1
    assert "put it back from your backup" in ran.stderr
    assert begun.grade(POINTS_CELL, "ada")[0] is None


def test_a_later_hand_in_counts_and_an_instructors_own_record_does_not(begun: Course) -> None:
    begun.run("nbgrader", "autograde", LESSON)
    assert begun.grade(POINTS_CELL, "ada") == (0.0, False)
    lesson = begun.homes / "ada" / LESSON
    (lesson / room.RECORD).unlink()
    room.work(lesson, room.carefully)
    later = time.time() + 3600
    os.utime(lesson / room.RECORD, (later, later))
    begun.collect(lesson)
    own = begun.root / "source" / LESSON / f"{CASE}.record.jsonl"
    own.write_text("the instructor tried the lesson in the source folder\n", "utf-8")
    begun.run("nbgrader", "zip_collect", LESSON, "--force")
    begun.run("nbgrader", "autograde", LESSON)
    points, waits = begun.grade(POINTS_CELL, "ada")
    assert points is not None
    assert points > 50
    assert not waits
    submitted = begun.root / "submitted" / "ada" / LESSON / room.RECORD
    assert submitted.read_bytes() == (lesson / room.RECORD).read_bytes()
