"""A class graded by nbgrader's own commands, its points taken from replayed records."""

import re

import pytest

from grader.casefile import read_case
from grader.draw import draw, lesson_key
from grader.prepared import Prepared, prepare
from grader.record import read_record
from grader.score import score
from tests.course.classroom import ANSWER_CELL, CASE, LESSON, POINTS_CELL, RECORD, fingerprint

GOOD = ["ada", "ben", "cleo", "dora", "tess", "kai", "lea", "mia", "pia", "uma", "vic", "wes"]


@pytest.fixture(scope="module")
def ready(graded) -> Prepared:
    return prepare(read_case(graded.course.root / "source" / LESSON / f"{CASE}.case.yaml"))


def expected_points(graded, ready, student: str) -> float:
    """Score a student's own record here, on the draw that follows from the course's secret."""
    secret = (graded.course.root / "course.secret").read_bytes().strip()
    drawn = draw(ready.lineup, lesson_key(secret, LESSON), student)
    entries = read_record(graded.course.homes / student / LESSON / RECORD)
    return score(ready, drawn.cause, entries).points


@pytest.mark.parametrize("student", GOOD)
def test_points_are_those_of_the_record(graded, ready, student):
    points, manual = graded.course.grade(POINTS_CELL, student)
    assert points == pytest.approx(expected_points(graded, ready, student), abs=1e-9)
    assert not manual


def test_points_differ_as_the_paths_do(graded):
    rows = graded.rows()
    points = [float(rows[name]["score"]) for name in ("ada", "ben", "cleo")]
    assert points[0] > points[1] > points[2] == 0.0
    assert float(rows["ada"]["max_score"]) == 110


def test_a_true_zero_has_no_problem(graded):
    assert graded.rows()["cleo"]["problem"] == ""
    assert graded.kinds("cleo") == []


@pytest.mark.parametrize(
    ("student", "kinds"),
    [
        ("ada", []),
        ("ben", []),
        ("tess", []),
        ("dora", ["not closed"]),
        ("emil", ["no record"]),
        ("finn", ["edited"]),
        ("gus", ["does not replay"]),
        ("hal", ["other student"]),
        ("ida", ["other case"]),
        ("jon", ["other version"]),
        ("sue", ["other draw"]),
        ("kai", ["damaged notebook"]),
        ("lea", ["wrong notebook name"]),
        ("mia", ["deleted cell"]),
        ("pia", []),
        ("ned", ["refused zip", "no notebook", "no record"]),
        ("ole", ["refused zip", "no notebook", "no record"]),
        ("oli", ["refused zip", "no notebook", "no record"]),
        ("qin", ["refused zip", "no notebook", "no record"]),
        ("rob", ["refused zip", "no notebook", "no record"]),
        ("uma", ["refused zip"]),
        ("vic", ["damaged notebook"]),
        ("wes", ["wrong notebook name"]),
    ],
)
def test_every_bad_hand_in_is_named(graded, student, kinds):
    assert graded.kinds(student) == kinds
    shown = graded.rows()[student]["problem"]
    assert [part for part in kinds if part not in shown] == []
    assert bool(shown) == bool(kinds)


@pytest.mark.parametrize(
    "student",
    ["emil", "finn", "gus", "hal", "ida", "jon", "sue", "ned", "ole", "oli", "qin", "rob"],
)
def test_what_cannot_count_gets_nothing_and_stops_nobody(graded, student):
    assert float(graded.rows()[student]["score"]) == 0.0


def test_who_handed_in_nothing_is_told_from_who_was_not_graded(graded):
    rows = graded.rows()
    assert rows["yan"]["problem"] == "nothing handed in"
    assert rows["xena"]["problem"].startswith("no notebook")


def test_files_that_are_nobodys_are_told(graded):
    ran = graded.course.run("halfsplit", "course", "report", check=False)
    assert ran.returncode == 1
    assert "nobody's file: homework.zip" in ran.stdout
    assert "99999999T999999Z" in ran.stdout
    assert len([line for line in ran.stdout.splitlines() if "  ada " in line]) == 1
    said = [line for line in ran.stdout.splitlines() if line.startswith("ada: ")]
    assert len(said) == 1
    assert "A grade asks for 10 cases" in said[0]
    assert "student" not in graded.rows()


def test_no_code_of_a_student_was_run(graded):
    assert not graded.trap.exists()
    notebook = graded.course.root / "autograded" / "pia" / LESSON / f"{LESSON}.ipynb"
    assert "alert(1)&lt;/script> my answer &#91;click]" in notebook.read_text("utf-8")
    page = (graded.course.root / "feedback" / "pia" / LESSON / f"{LESSON}.html").read_text("utf-8")
    assert "&lt;script&gt;alert(1)&lt;/script&gt; my answer [click]" in page
    assert re.findall(r"<[^<>]*(?:javascript:|onerror)[^<>]*>|<script>alert", page) == []


def test_nothing_was_written_outside_the_course(graded):
    assert not list(graded.course.root.parent.rglob("climbed*"))
    secret = (graded.course.root / "course.secret").read_text().strip()
    for folder in ("release", "submitted", "autograded", "feedback", "handout", "downloaded"):
        for path in (graded.course.root / folder).rglob("*"):
            assert not path.is_symlink()
            assert not path.is_file() or secret.encode() not in path.read_bytes()


def test_the_written_answer_waits_for_a_person(graded):
    assert graded.course.grade(ANSWER_CELL, "ada") == (None, True)
    assert graded.course.grade(ANSWER_CELL, "ben") == (0, False)
    assert graded.rows()["ada"]["needs_manual_grade"] == "True"


def test_feedback_shows_the_path_step_by_step(graded):
    page = (graded.course.root / "feedback" / "ben" / LESSON / f"{LESSON}.html").read_text("utf-8")
    sheet = graded.result("ben")["cases"][0]["sheet"]
    for mark in sheet["marks"]:
        assert mark["line"] in page
    assert page.count("called ") >= 2
    assert "best choice then" in page
    assert "given away" in page


def test_feedback_names_a_problem(graded):
    page = (graded.course.root / "feedback" / "gus" / LESSON / f"{LESSON}.html").read_text("utf-8")
    assert "Problem, does not replay" in page
    assert "77.77" in page


def test_grading_again_changes_nothing(graded):
    root = graded.course.root
    before = fingerprint(root / "autograded" / "ada")
    graded.course.run("nbgrader", "autograde", LESSON, "--student", "ada", "--force")
    after = fingerprint(root / "autograded" / "ada")
    assert before == after
