"""The zip a student hands in: laid out for zip_collect, and honest about what is missing."""

import json
import os
import re
import zipfile
from pathlib import Path

import pytest

from grader.attempt import Attempt
from lessons.command import main
from lessons.course import case_setup
from lessons.errors import FolderError, HandInError
from lessons.folder import Home, write_last
from lessons.handin import is_blank, lesson_to_hand_in, make_handin

LESSON = "06-two-circuits-in-one-can"
NOTEBOOK, RECORD = f"{LESSON}.ipynb", "foggy-window.record.jsonl"
#: What the module's docstring promises to zip_collect (nbgrader 0.9.6 unpacks NAME.zip to NAME/).
COLLECTED = re.compile(
    r".*/(?P<student_id>[^/]+)--[^/]+--(?P<timestamp>[0-9TZ]+)/(.*/)?(?P<file_id>[^/]+)"
)


def work(lesson: Path, *, close: bool = True) -> None:
    setup = case_setup(lesson, "foggy-window")
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        attempt.note("looked at it")
        if close:
            attempt.close()


def answer(lesson: Path, text: str) -> None:
    notebook = lesson / NOTEBOOK
    data = json.loads(notebook.read_text("utf-8"))
    cell = next(c for c in data["cells"] if c["id"] == "why-not-the-relay")
    cell["source"] = text
    notebook.write_text(json.dumps(data), "utf-8")


@pytest.fixture
def done(lesson: Path) -> Path:
    """Give a lesson with a closed case and a written answer, saved last."""
    work(lesson)
    answer(lesson, "The click proves the coil.")
    return lesson


def test_a_finished_lesson_makes_a_zip_without_remarks(home: Home, done: Path) -> None:
    made = make_handin(done)
    assert made.missing == ()
    assert made.advice == ""
    assert made.path.parent == home.folder
    with zipfile.ZipFile(made.path) as archive:
        assert archive.namelist() == [f"{LESSON}/{NOTEBOOK}", f"{LESSON}/{RECORD}"]
        for name in (NOTEBOOK, RECORD):
            assert archive.read(f"{LESSON}/{name}") == (done / name).read_bytes()


def test_the_collector_finds_student_time_and_files(done: Path) -> None:
    made = make_handin(done)
    with zipfile.ZipFile(made.path) as archive:
        names = archive.namelist()
    found = [
        COLLECTED.match(f"/c/downloaded/x/extracted/{made.path.stem}/{name}") for name in names
    ]
    assert [match and match["file_id"] for match in found] == [NOTEBOOK, RECORD]
    assert {match and match["student_id"] for match in found} == {"ada"}
    assert re.fullmatch(r"\d{8}T\d{6}Z", str(found[0] and found[0]["timestamp"]))


def test_the_same_work_makes_the_same_zip(done: Path, tmp_path: Path) -> None:
    first, again = make_handin(done), make_handin(done, tmp_path)
    assert first.path.name == again.path.name
    assert first.path.read_bytes() == again.path.read_bytes()


def test_later_work_makes_a_zip_that_sorts_later(done: Path) -> None:
    first = make_handin(done)
    later = (done / NOTEBOOK).stat().st_mtime + 60
    os.utime(done / NOTEBOOK, (later, later))
    assert make_handin(done).path.name > first.path.name


def test_what_is_missing_is_said(lesson: Path) -> None:
    assert [line.partition(":")[0] for line in make_handin(lesson).missing] == [
        "case foggy-window",
        "written answer why-not-the-relay",
    ]
    work(lesson, close=False)
    assert "not closed" in make_handin(lesson).missing[0]
    work(lesson)
    assert [line for line in make_handin(lesson).missing if "case" in line] == []
    answer(lesson, "It clicks, so ...")
    assert make_handin(lesson).missing == ()


def test_an_edited_record_is_said(done: Path) -> None:
    record = done / RECORD
    record.write_text(record.read_text("utf-8").replace("looked", "locked"), "utf-8")
    assert "edited" in make_handin(done).missing[0]


def test_a_notebook_saved_before_the_last_step_is_said(done: Path) -> None:
    early = (done / RECORD).stat().st_mtime - 60
    os.utime(done / NOTEBOOK, (early, early))
    made = make_handin(done)
    assert made.missing == ()
    assert "save it" in made.advice


@pytest.mark.parametrize("text", ["", "  \n", "*Write your answer here.*", "YOUR ANSWER HERE"])
def test_an_empty_answer_is_blank(text: str) -> None:
    assert is_blank(text)


@pytest.mark.parametrize("text", ["The coil.", "*Write your answer here.*\n\nThe coil."])
def test_a_written_answer_is_not_blank(text: str) -> None:
    assert not is_blank(text)


def test_the_lessons_own_placeholder_is_blank(lesson: Path) -> None:
    cells = json.loads((lesson / NOTEBOOK).read_text("utf-8"))["cells"]
    texts = ["".join(c["source"]) for c in cells if c["id"] == "why-not-the-relay"]
    assert [is_blank(text) for text in texts] == [True]


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"cells": [{"source": 5}]}', "[" * 100_000])
def test_a_damaged_notebook_is_refused(done: Path, text: str) -> None:
    (done / NOTEBOOK).write_text(text)
    with pytest.raises(HandInError, match="damaged") as error:
        make_handin(done)
    assert "\n" not in str(error.value)


def test_a_renamed_notebook_is_refused(done: Path) -> None:
    (done / NOTEBOOK).rename(done / "mine.ipynb")
    with pytest.raises(HandInError, match="put it back under this name"):
        make_handin(done)


def test_a_lesson_outside_a_students_folder_is_refused(home: Home, done: Path) -> None:
    (home.folder / "halfsplit.json").unlink()
    with pytest.raises(FolderError, match="no student id yet"):
        make_handin(done)


# Which lesson is meant


def test_a_lesson_is_found_from_within_and_from_above(home: Home, lesson: Path) -> None:
    places = (lesson, lesson / "circuits", home.folder)
    assert {lesson_to_hand_in(place) for place in places} == {lesson}


def test_several_lessons_are_asked_about(home: Home, lesson: Path) -> None:
    other = home.folder / "07-half-and-half-again"
    other.mkdir()
    (other / "lesson.sealed.json").write_bytes((lesson / "lesson.sealed.json").read_bytes())
    with pytest.raises(HandInError, match=r"which lesson.*06-two.*07-half"):
        lesson_to_hand_in(home.folder)


# The command


def test_the_command_names_the_file(done: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["handin", str(done)]) == 0
    said = capsys.readouterr().out
    made = Path(said.partition("Hand in this one file: ")[2].strip())
    assert zipfile.is_zipfile(made)


def test_the_command_says_what_is_missing(
    home: Home, lesson: Path, user: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_last(home)
    assert user.is_dir()
    assert lesson.is_dir()
    assert main(["handin"]) == 1
    said = capsys.readouterr().out.splitlines()
    assert [line.partition(":")[0] for line in said] == [
        "Missing",
        "Missing",
        "Hand in this one file",
    ]


def test_the_command_refuses_in_one_line(
    user: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert not (user / "halfsplit").exists()
    for arguments in (["handin"], ["handin", "nowhere"], ["handin", str(tmp_path)]):
        assert main(arguments) == 2
        assert capsys.readouterr().err.count("\n") == 1
