"""Hand-ins that come later: collected again, graded again, the rest left as it is."""

import os
import time

from tests.course import classroom as room
from tests.course.classroom import CASE, LESSON, POINTS_CELL


def test_a_later_hand_in_counts_and_an_instructors_own_record_does_not(tmp_path) -> None:
    course = room.new_course(tmp_path)
    lesson = course.student("ada")
    course.archive.mkdir(parents=True, exist_ok=True)
    room.work(lesson, room.in_vain)
    course.collect(lesson)
    course.run("nbgrader", "zip_collect", LESSON)
    course.run("nbgrader", "autograde", LESSON)
    assert course.grade(POINTS_CELL, "ada")[0] == 0.0

    (lesson / room.RECORD).unlink()
    room.work(lesson, room.carefully)
    later = time.time() + 3600
    os.utime(lesson / room.RECORD, (later, later))
    course.collect(lesson)
    own = course.root / "source" / LESSON / f"{CASE}.record.jsonl"
    own.write_text("the instructor tried the lesson in the source folder\n", "utf-8")
    course.run("nbgrader", "zip_collect", LESSON, "--force")
    course.run("nbgrader", "autograde", LESSON)
    points, _waits = course.grade(POINTS_CELL, "ada")
    assert points is not None
    assert points > 50
    submitted = course.root / "submitted" / "ada" / LESSON / room.RECORD
    assert submitted.read_bytes() == (lesson / room.RECORD).read_bytes()


def test_without_the_secret_nobody_gets_a_zero(graded) -> None:
    secret = graded.course.root / "course.secret"
    before = graded.course.grade(POINTS_CELL, "ada")
    away = secret.rename(secret.with_suffix(".away"))
    try:
        words = ("nbgrader", "autograde", LESSON, "--student", "ada", "--force")
        ran = graded.course.run(*words, check=False)
    finally:
        away.rename(secret)
    assert ran.returncode == 1
    assert "put it back from your backup" in ran.stderr
    assert graded.course.grade(POINTS_CELL, "ada") == before
    graded.course.run("nbgrader", "autograde", LESSON, "--student", "ada", "--force")
    assert graded.course.grade(POINTS_CELL, "ada") == before
