"""The instructor's course folder: made once, sealed for its own secret, handed out without it."""

import json
import stat
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from grader.draw import lesson_key
from grader.errors import SealError
from grader.gradebook.courseside import read_secret
from lessons.catalogue import shipped_lessons
from lessons.command import main
from lessons.course import read_seal, release_lesson
from lessons.coursefolder import course_of, make_course, pack_release
from lessons.errors import CourseError
from lessons.folder import Home
from lessons.handout import hand_out, released_lessons

TOP = Path(__file__).parents[2]
LESSON = "06-two-circuits-in-one-can"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    made = make_course(tmp_path / "course")
    assert made.kept == []
    return tmp_path / "course"


@pytest.fixture
def released(root: Path) -> Path:
    """Give the release as nbgrader makes it, as far as files go: a copy of the source."""
    secret = read_secret(root / "course.secret")
    release_lesson(shipped_lessons()[LESSON], root / "release" / LESSON, secret)
    return root / "release" / LESSON


def contents(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_every_shipped_lesson_is_in_it_sealed_for_the_courses_own_secret(root: Path) -> None:
    secret = read_secret(root / "course.secret")
    assert len(secret) == 64
    for lesson in shipped_lessons():
        assert read_seal(root / "source" / lesson) == (lesson, lesson_key(secret, lesson))
        assert (root / "downloaded" / lesson / "archive").is_dir()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_only_its_owner_reads_the_secret(root: Path) -> None:
    assert stat.S_IMODE((root / "course.secret").stat().st_mode) == 0o600


def test_two_courses_have_two_secrets(root: Path, tmp_path: Path) -> None:
    make_course(tmp_path / "other")
    assert read_secret(tmp_path / "other" / "course.secret") != read_secret(root / "course.secret")


def test_making_it_again_overwrites_nothing(root: Path) -> None:
    (root / "nbgrader_config.py").write_text("mine")
    notebook = root / "source" / LESSON / f"{LESSON}.ipynb"
    notebook.write_text("mine")
    before = contents(root)
    made = make_course(root)
    assert made.added == []
    assert contents(root) == before


def test_making_it_again_brings_back_what_was_taken_away(root: Path) -> None:
    secret = (root / "course.secret").read_bytes()
    (root / "README.md").unlink()
    (root / "source" / LESSON).rename(root / "old lesson")
    assert make_course(root).added == ["README.md", f"source/{LESSON}"]
    assert (root / "course.secret").read_bytes() == secret
    assert sorted(p.name for p in root.iterdir() if p.name.startswith("tmp")) == []


def test_a_file_in_its_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CourseError, match="cannot be made") as error:
        make_course(tmp_path / "file")
    assert "\n" not in str(error.value)


def test_the_handout_is_a_lesson_for_learn_and_holds_no_secret(root: Path, released: Path) -> None:
    for name in ("course.secret", "foggy-window.record.jsonl", "notes.txt"):
        (released / name).write_text("not for students")
    made = pack_release(root, LESSON)
    assert made == root / "handout" / f"{LESSON}.zip"
    with zipfile.ZipFile(made) as archive:
        names = sorted(name.removeprefix(f"{LESSON}/") for name in archive.namelist())
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert names == [
        f"{LESSON}.ipynb",
        "circuits/fog-lamps.circuit.yaml",
        "circuits/horn-relay.circuit.yaml",
        "circuits/rear-window-heater.circuit.yaml",
        "foggy-window.case.yaml",
        "hoarse-horn.case.yaml",
        "lesson.sealed.json",
        "no-fog-lamps.case.yaml",
        "quiet-horn.case.yaml",
    ]
    assert read_secret(root / "course.secret") not in everything
    with released_lessons(made) as (folder,):
        _home, report = hand_out(folder, Home(root / "ada", "ada"))
    assert sorted(report.added) == names


def test_a_lesson_that_is_not_released_is_refused(root: Path) -> None:
    for lesson in (LESSON, "", "..", "no-such"):
        with pytest.raises(CourseError, match="generate_assignment"):
            pack_release(root, lesson)


def test_a_lesson_of_another_course_is_refused(root: Path, released: Path) -> None:
    release_lesson(shipped_lessons()[LESSON], released, b"another course's secret")
    with pytest.raises(CourseError, match="sealed for another course"):
        pack_release(root, LESSON)
    seal = released / "lesson.sealed.json"
    seal.write_text(json.dumps({**json.loads(seal.read_text()), "sealed": "AAAA"}))
    with pytest.raises(SealError):
        pack_release(root, LESSON)


def test_the_course_is_found_from_within(root: Path, tmp_path: Path) -> None:
    assert course_of(root / "source" / LESSON) == root
    with pytest.raises(CourseError, match="course new"):
        course_of(tmp_path)


# The command


def test_the_commands_refuse_in_one_line(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for arguments in (["release", LESSON, str(root)], ["release", LESSON, str(tmp_path)]):
        assert main(["course", *arguments]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_release_names_the_file(
    root: Path, released: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert released.is_dir()
    assert main(["course", "release", LESSON, str(root)]) == 0
    assert capsys.readouterr().out == f"Hand out this one file: {root}/handout/{LESSON}.zip\n"


def test_without_nbgrader_one_line_says_what_to_install(tmp_path: Path) -> None:
    code = (
        "import sys; sys.modules['nbgrader'] = None; from lessons.command import main; "
        f"sys.exit(main(['course', 'new', {str(tmp_path / 'course')!r}]))"
    )
    command = [sys.executable, "-c", code]
    ran = subprocess.run(command, cwd=TOP, check=False, capture_output=True, text=True)
    assert ran.returncode == 2
    assert ran.stderr.count("\n") == 1
    assert ".[teach]" in ran.stderr
    assert not (tmp_path / "course").exists()
