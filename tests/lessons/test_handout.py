"""Handing a lesson out again never overwrites what the student has done."""

import json
import shutil
import zipfile
from pathlib import Path

import pytest

from grader.draw import lesson_key
from lessons.course import SEAL_FILE, read_seal, release_lesson
from lessons.errors import FolderError, ReleaseError
from lessons.folder import Home
from lessons.handout import hand_out, locked, practice_release, released_lessons

LESSON = "06-two-circuits-in-one-can"
CASE, RECORD = "foggy-window.case.yaml", "foggy-window.record.jsonl"
CIRCUIT = "circuits/rear-window-heater.circuit.yaml"
OTHERS = [
    *(f"{name}.case.yaml" for name in ("hoarse-horn", "no-fog-lamps", "quiet-horn")),
    *(f"circuits/{name}.circuit.yaml" for name in ("fog-lamps", "horn-relay")),
]
NOTEBOOK = f"{LESSON}.ipynb"


@pytest.fixture
def newer(source: Path, tmp_path: Path) -> Path:
    """Give a newer version of the shipped lesson, released for practice."""
    own = tmp_path / "newer" / LESSON
    with practice_release(source) as release:
        shutil.copytree(release, own)
    for name in (CASE, CIRCUIT):
        (own / name).write_text((own / name).read_text("utf-8") + "# newer\n", "utf-8")
    (own / NOTEBOOK).write_text((own / NOTEBOOK).read_text("utf-8").replace("can", "CAN"), "utf-8")
    return own


@pytest.fixture
def course(source: Path, tmp_path: Path) -> Path:
    """Give the lesson as an instructor releases it."""
    release_lesson(source, tmp_path / "course" / LESSON, b"a course")
    return tmp_path / "course" / LESSON


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_the_first_time_everything_is_added(source: Path, tmp_path: Path) -> None:
    with practice_release(source) as release:
        home, report = hand_out(release, Home(tmp_path / "ada", "ada"))
    assert sorted(report.added) == sorted([NOTEBOOK, CASE, CIRCUIT, SEAL_FILE, *OTHERS])
    assert report.lines() == [f"{LESSON}: 9 files added"]
    assert set(home.released) == {f"{LESSON}/{name}" for name in report.added}


def test_the_second_time_nothing_happens(source: Path, home: Home) -> None:
    before = contents(home.folder)
    with practice_release(source) as release:
        again, report = hand_out(release, home)
    assert report.lines() == [f"{LESSON}: nothing new"]
    assert again == home
    assert contents(home.folder) == before


def test_a_newer_version_replaces_what_nobody_touched(
    home: Home, lesson: Path, newer: Path
) -> None:
    again, report = hand_out(newer, home)
    assert sorted(report.updated) == sorted([CASE, CIRCUIT])
    assert (lesson / CASE).read_bytes() == (newer / CASE).read_bytes()
    assert again.released != home.released
    assert "2 files brought up to date" in report.lines()[0]


def test_a_notebook_is_never_touched(home: Home, lesson: Path, newer: Path) -> None:
    before = (lesson / NOTEBOOK).read_bytes()
    _again, report = hand_out(newer, home)
    assert (lesson / NOTEBOOK).read_bytes() == before
    assert "another version" in report.kept[NOTEBOOK]


def test_a_worked_notebook_of_the_same_version_needs_no_words(
    source: Path, home: Home, lesson: Path
) -> None:
    (lesson / NOTEBOOK).write_text("{}")
    with practice_release(source) as release:
        _again, report = hand_out(release, home)
    assert report.lines() == [f"{LESSON}: nothing new"]
    assert (lesson / NOTEBOOK).read_text() == "{}"


def test_a_changed_case_is_kept(home: Home, lesson: Path, newer: Path) -> None:
    (lesson / CASE).write_text("my own\n")
    _again, report = hand_out(newer, home)
    assert (lesson / CASE).read_text() == "my own\n"
    assert report.kept[CASE] == "you changed it"
    assert report.updated == [CIRCUIT]


def test_a_begun_case_keeps_its_files(home: Home, lesson: Path, newer: Path) -> None:
    (lesson / RECORD).write_text("a line\n")
    before = contents(lesson)
    _again, report = hand_out(newer, home)
    assert contents(lesson) == before
    assert "would not fit your record" in report.kept[CASE]


def test_a_lost_file_comes_back(source: Path, home: Home, lesson: Path) -> None:
    (lesson / RECORD).write_text("a line\n")
    (lesson / CIRCUIT).unlink()
    with practice_release(source) as release:
        _again, report = hand_out(release, home)
    assert report.added == [CIRCUIT]


def test_without_its_list_a_folder_keeps_everything(home: Home, lesson: Path, newer: Path) -> None:
    before = contents(lesson)
    _again, report = hand_out(newer, Home(home.folder, "ada"))
    assert contents(lesson) == before
    assert set(report.kept) == {NOTEBOOK, CASE, CIRCUIT}


def test_a_records_namesake_in_a_release_is_not_taken(
    home: Home, lesson: Path, newer: Path
) -> None:
    (newer / RECORD).write_text("forged\n")
    (newer / "halfsplit.json").write_text("forged\n")
    hand_out(newer, home)
    assert not (lesson / RECORD).exists()
    assert not (lesson / "halfsplit.json").exists()


# Practice and an instructor


def test_an_instructors_lesson_replaces_untouched_practice(
    home: Home, lesson: Path, course: Path
) -> None:
    _again, report = hand_out(course, home)
    assert read_seal(lesson) == (LESSON, lesson_key(b"a course", LESSON))
    assert SEAL_FILE in report.updated


@pytest.mark.parametrize("name", [RECORD, NOTEBOOK])
def test_an_instructors_lesson_does_not_replace_work(
    home: Home, lesson: Path, course: Path, name: str
) -> None:
    (lesson / name).write_text("mine")
    before = contents(lesson)
    with pytest.raises(FolderError, match="rename this folder"):
        hand_out(course, home)
    assert contents(lesson) == before


def test_practice_does_not_replace_an_instructors_lesson(
    source: Path, home: Home, lesson: Path, course: Path
) -> None:
    again, _report = hand_out(course, home)
    before = contents(lesson)
    with practice_release(source) as release:
        _again, report = hand_out(release, again)
    assert contents(lesson) == before
    assert "instructor" in report.kept[LESSON]


# What a release may look like


def zipped(folder: Path, path: Path, top: str) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for file in sorted(p for p in folder.rglob("*") if p.is_file()):
            archive.write(file, f"{top}{file.relative_to(folder).as_posix()}")
    return path


@pytest.mark.parametrize("top", ["", f"{LESSON}/", "some other name/"])
def test_a_zip_is_taken_with_or_without_a_folder(course: Path, tmp_path: Path, top: str) -> None:
    file = zipped(course, tmp_path / "release.zip", top)
    with released_lessons(file) as found:
        assert [read_seal(folder)[0] for folder in found] == [LESSON]
        home, _report = hand_out(found[0], Home(tmp_path / "ben", "ben"))
    assert (home.folder / LESSON / NOTEBOOK).is_file()


def test_a_folder_of_lessons_is_taken(course: Path) -> None:
    with released_lessons(course) as alone, released_lessons(course.parent) as above:
        assert alone == above == [course]


def test_what_is_no_release_is_refused(course: Path, tmp_path: Path) -> None:
    whole = zipped(course, tmp_path / "release.zip", "")
    torn = tmp_path / "torn.zip"
    torn.write_bytes(whole.read_bytes()[:-200])
    empty = zipped(tmp_path / "nothing", tmp_path / "empty.zip", "")
    for path, problem in (
        (torn, "no whole zip"),
        (empty, "no lesson in it"),
        (tmp_path, "no lesson in it"),
        (tmp_path / "none.zip", "cannot be read"),
    ):
        with pytest.raises(ReleaseError, match=problem), released_lessons(path):
            pass


def test_a_zip_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, course: Path
) -> None:
    monkeypatch.setattr("lessons.handout.LARGEST", 1000)
    file = zipped(course, tmp_path / "release.zip", "")
    with pytest.raises(ReleaseError, match="at most 1000 allowed"), released_lessons(file):
        pass


def test_a_release_without_its_notebook_is_refused(course: Path, home: Home) -> None:
    (course / NOTEBOOK).unlink()
    with pytest.raises(ReleaseError, match="missing"):
        hand_out(course, home)


# Locks


def test_text_is_locked_and_answers_are_not(lesson: Path) -> None:
    cells = json.loads((lesson / NOTEBOOK).read_text("utf-8"))["cells"]
    open_ones = [c["id"] for c in cells if c["metadata"].get("editable", True)]
    assert open_ones == ["why-not-the-relay"]
    assert all(c["metadata"]["deletable"] is False for c in cells)


def test_locking_changes_no_text(source: Path, lesson: Path) -> None:
    before = json.loads((source / NOTEBOOK).read_text("utf-8"))["cells"]
    after = json.loads((lesson / NOTEBOOK).read_text("utf-8"))["cells"]
    assert [(c["id"], c["source"]) for c in after] == [(c["id"], c["source"]) for c in before]


@pytest.mark.parametrize("text", [b"", b"{}", b'{"cells": [5]}', b"\xff"])
def test_what_is_no_notebook_is_not_locked(text: bytes) -> None:
    with pytest.raises(ReleaseError, match="not a notebook"):
        locked(text, "x.ipynb")
