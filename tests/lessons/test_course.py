"""A release carries the lesson and its key, never the secret; a case is set up from it alone."""

import json
import shutil
from base64 import b64encode
from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.draw import draw, lesson_key
from grader.errors import CaseFileError, DrawError, RecordError, SealError
from grader.seal import seal
from lessons.course import (
    PRACTICE_SECRET,
    SEAL_FILE,
    Setup,
    case_setup,
    read_seal,
    release_lesson,
)
from lessons.errors import FolderError, ReleaseError
from lessons.folder import HOME_FILE, Home

LESSON = "06-two-circuits-in-one-can"
SECRET = b"a long course secret"
CASE = "foggy-window"


def opened(setup: Setup) -> Attempt:
    return Attempt(setup.lineup, setup.drawn, setup.student, setup.record)


# Releasing


def test_a_release_holds_all_that_the_notebook_needs(source: Path, tmp_path: Path) -> None:
    release_lesson(source, tmp_path / LESSON, SECRET)
    files = {p.relative_to(tmp_path / LESSON).as_posix() for p in tmp_path.rglob("*.*")}
    assert files == {
        f"{LESSON}.ipynb",
        "foggy-window.case.yaml",
        "hoarse-horn.case.yaml",
        "no-fog-lamps.case.yaml",
        "quiet-horn.case.yaml",
        "circuits/fog-lamps.circuit.yaml",
        "circuits/horn-relay.circuit.yaml",
        "circuits/rear-window-heater.circuit.yaml",
        SEAL_FILE,
    }
    assert read_seal(tmp_path / LESSON) == (LESSON, lesson_key(SECRET, LESSON))


def test_what_only_the_instructor_needs_stays_at_home(source: Path, tmp_path: Path) -> None:
    own = tmp_path / "own" / LESSON
    shutil.copytree(source, own)
    shutil.copytree(source.parents[1] / "circuits", own.parent / "circuits")
    for name in ("marking.md", "foggy-window.record.jsonl", "secret.txt", ".hidden.yaml"):
        (own / name).write_text("not for students")
    (own / ".ipynb_checkpoints").mkdir()
    release_lesson(own, tmp_path / "out", SECRET)
    texts = [p.read_text("utf-8") for p in (tmp_path / "out").rglob("*") if p.is_file()]
    assert len(texts) == 9  # notebook, course sheet, four cases, three circuits
    assert [text for text in texts if "not for students" in text] == []


def test_neither_secret_nor_key_nor_any_students_draw_is_in_a_release(
    source: Path, tmp_path: Path
) -> None:
    release_lesson(source, tmp_path, SECRET)
    key = lesson_key(SECRET, LESSON)
    (tmp_path / HOME_FILE).write_text(
        json.dumps({"format": "student-folder", "version": 1, "student": "ada", "released": {}})
    )
    tags = [case_setup(tmp_path, CASE, name).drawn.tag for name in ("ada", "ben")]
    (tmp_path / HOME_FILE).unlink()
    spellings = [SECRET.decode(), SECRET.hex(), key.hex(), b64encode(key).decode(), *tags]
    for path in (p for p in tmp_path.rglob("*") if p.is_file()):
        text = path.read_text("utf-8")
        assert [spelling for spelling in spellings if spelling in text] == []


def test_releasing_again_brings_the_release_up_to_date(source: Path, tmp_path: Path) -> None:
    release_lesson(source, tmp_path, b"last year")
    (tmp_path / "foggy-window.case.yaml").write_text("old")
    release_lesson(source, tmp_path, SECRET)
    assert read_seal(tmp_path)[1] == lesson_key(SECRET, LESSON)
    assert (tmp_path / "foggy-window.case.yaml").read_text("utf-8") != "old"


def test_what_is_no_lesson_is_not_released(source: Path, tmp_path: Path) -> None:
    with pytest.raises(ReleaseError, match="no lesson"):
        release_lesson(tmp_path, tmp_path / "out", SECRET)
    with pytest.raises(ReleaseError, match="onto itself"):
        release_lesson(source, source, SECRET)
    with pytest.raises(DrawError, match="at least one byte"):
        release_lesson(source, tmp_path / "out", b"")


def test_a_case_with_a_mistake_is_not_released(source: Path, tmp_path: Path) -> None:
    own = tmp_path / LESSON
    shutil.copytree(source, own)
    case = own / "foggy-window.case.yaml"
    case.write_text(case.read_text("utf-8").replace("version: 1", "version: 99"))
    with pytest.raises(CaseFileError, match="too new"):
        release_lesson(own, tmp_path / "out", SECRET)


# Setting a case up


def test_the_instructor_recomputes_what_the_student_got(source: Path, tmp_path: Path) -> None:
    release_lesson(source, tmp_path / LESSON, SECRET)
    for student in ("ada", "ben", "cleo"):
        setup = case_setup(tmp_path / LESSON, CASE, student)
        again = draw(setup.lineup, lesson_key(SECRET, LESSON), student)
        assert setup.drawn == again


def test_a_case_is_set_up_for_the_owner_of_the_folder(lesson: Path) -> None:
    setup = case_setup(lesson, CASE)
    assert setup.student == "ada"
    assert setup.case.name == CASE
    assert setup.record == lesson.resolve() / "foggy-window.record.jsonl"
    assert setup.drawn == draw(setup.lineup, lesson_key(PRACTICE_SECRET, LESSON), "ada")


def test_no_folder_means_where_the_notebook_runs(
    lesson: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(lesson)
    assert case_setup(None, CASE).record.parent == lesson.resolve()


def test_a_moved_folder_still_works(home: Home, lesson: Path, tmp_path: Path) -> None:
    before = case_setup(lesson, CASE).drawn
    moved = tmp_path / "elsewhere"
    home.folder.rename(moved)
    assert case_setup(moved / LESSON, CASE).drawn == before


def test_a_begun_case_is_taken_up_again(lesson: Path) -> None:
    with opened(case_setup(lesson, CASE)) as attempt:
        attempt.act({"set": {"key": "run", "heater switch": "on"}})
        clock = attempt.vehicle.bench.situation.position(attempt.case.circuit, "key")
    with opened(case_setup(lesson, CASE)) as attempt:
        assert len(attempt.writer.entries) == 2
        assert attempt.vehicle.bench.situation.position(attempt.case.circuit, "key") == clock


def one_line(error: pytest.ExceptionInfo[Exception]) -> str:
    text = str(error.value)
    assert "\n" not in text
    return text


def test_another_case_is_refused_with_those_that_are_there(lesson: Path) -> None:
    with pytest.raises(
        FolderError, match=r"not in .*there: foggy-window, hoarse-horn, no-fog-lamps, quiet-horn;"
    ) as error:
        case_setup(lesson, "no-horn")
    assert "halfsplit learn" in one_line(error)


def test_a_folder_without_an_id_says_so(lesson: Path, tmp_path: Path) -> None:
    shutil.move(lesson, tmp_path / LESSON)
    with pytest.raises(FolderError, match="no student id yet") as error:
        case_setup(tmp_path / LESSON, CASE)
    assert "halfsplit learn" in one_line(error)


def test_a_folder_that_has_gone_says_so(lesson: Path) -> None:
    shutil.rmtree(lesson)
    with pytest.raises(FolderError, match="gone or was moved") as error:
        case_setup(lesson, CASE)
    one_line(error)


def test_a_damaged_seal_says_so(lesson: Path) -> None:
    (lesson / SEAL_FILE).write_bytes(b"\xff\xfe")
    with pytest.raises(SealError, match="damaged") as error:
        case_setup(lesson, CASE)
    assert SEAL_FILE in one_line(error)


def test_a_missing_seal_says_so(lesson: Path) -> None:
    (lesson / SEAL_FILE).unlink()
    with pytest.raises(FolderError, match="key cannot be read") as error:
        case_setup(lesson, CASE)
    one_line(error)


def test_a_case_of_a_newer_program_says_so(lesson: Path) -> None:
    case = lesson / "foggy-window.case.yaml"
    case.write_text(case.read_text("utf-8").replace("version: 1", "version: 2"))
    with pytest.raises(CaseFileError, match="too new") as error:
        case_setup(lesson, CASE)
    one_line(error)


@pytest.mark.parametrize(
    ("name", "what"),
    [("foggy-window.case.yaml", "case"), ("circuits/rear-window-heater.circuit.yaml", "circuit")],
)
def test_a_record_of_another_version_says_so(lesson: Path, name: str, what: str) -> None:
    with opened(case_setup(lesson, CASE)):
        pass
    file = lesson / name
    file.write_text(file.read_text("utf-8") + "# another version\n", "utf-8")
    with pytest.raises(FolderError, match=f"another version of the {what}") as error:
        case_setup(lesson, CASE)
    assert "rename the record" in one_line(error)


def test_an_edited_record_says_so(lesson: Path) -> None:
    with opened(case_setup(lesson, CASE)) as attempt:
        attempt.note("one")
    record = lesson / "foggy-window.record.jsonl"
    record.write_text(record.read_text("utf-8").replace('"one"', '"two"'), "utf-8")
    with pytest.raises(RecordError, match="edited") as error:
        case_setup(lesson, CASE)
    one_line(error)


def test_another_courses_key_gives_another_draw(lesson: Path) -> None:
    before = case_setup(lesson, CASE).drawn.tag
    (lesson / SEAL_FILE).write_text(seal(lesson_key(SECRET, LESSON), LESSON), "utf-8")
    assert case_setup(lesson, CASE).drawn.tag != before
