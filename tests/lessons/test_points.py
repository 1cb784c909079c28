"""The points of a case are a plain number that follows from the record alone."""

import json
from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.errors import AttemptError, RecordError
from grader.record import Writer, read_record
from lessons.course import Setup, case_setup
from lessons.folder import HOME_FILE, Home
from lessons.points import case_points

CASE = "foggy-window"


def finish(setup: Setup) -> None:
    """Call the right cause at once: a lucky guess, with points for the call alone."""
    suspect = setup.lineup.suspects[setup.lineup.index(setup.drawn.cause)]
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        attempt.call(suspect.unit.name, suspect.name)
        attempt.close()


def test_nothing_is_worth_nothing(lesson: Path) -> None:
    assert case_points(CASE, lesson) == 0.0
    setup = case_setup(lesson, CASE)
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        attempt.note("begun, not closed")
    assert case_points(CASE, lesson) == 0.0


def test_a_closed_case_gives_a_plain_number(home: Home, lesson: Path) -> None:
    finish(case_setup(lesson, CASE))
    points = case_points(CASE, lesson)
    assert type(points) is float
    assert 0.0 < points < 100.0
    assert float(repr(points)) == points
    # collected work lies outside the student's folder; the record says whose it is
    (home.folder / HOME_FILE).unlink()
    assert case_points(CASE, lesson) == points


def test_another_students_record_gives_no_points(home: Home, lesson: Path) -> None:
    finish(case_setup(lesson, CASE))
    file = home.folder / HOME_FILE
    file.write_text(json.dumps({**json.loads(file.read_text()), "student": "ben"}))
    with pytest.raises(AttemptError, match="another student's record"):
        case_points(CASE, lesson)


def test_a_forged_reading_gives_no_points(lesson: Path) -> None:
    setup = case_setup(lesson, CASE)
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        attempt.act({"measure": "volts", "red": "B1.+", "black": "B1.-"})
        attempt.close()
    entries = read_record(setup.record)
    setup.record.unlink()
    with Writer(setup.record) as writer:
        for entry in entries:
            data = dict(entry.data)
            if "shown" in data:
                data["shown"] = {**data["shown"], "value": "3.21"}
            writer.append(entry.kind, data)
    with pytest.raises(RecordError, match=r"entry 1: shown is .*3.21"):
        case_points(CASE, lesson)
