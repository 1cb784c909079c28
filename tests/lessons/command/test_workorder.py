"""The commands about a case find the key its draws are made from."""

from argparse import Namespace
from pathlib import Path

import pytest

from grader.draw import lesson_key
from grader.errors import DrawError
from lessons.command.workorder import case_key
from lessons.course import PRACTICE_SECRET, release_lesson

LESSON = "06-two-circuits-in-one-can"


def key_of(case: str | Path, secret: Path | None = None) -> bytes:
    return case_key(Namespace(case=str(case), secret_file=secret))


def test_a_shipped_case_is_drawn_for_practice() -> None:
    assert key_of("foggy-window") == lesson_key(PRACTICE_SECRET, LESSON)


def test_a_released_case_is_drawn_from_its_own_key(source: Path, tmp_path: Path) -> None:
    release_lesson(source, tmp_path / "renamed", b"a course")
    case = tmp_path / "renamed" / "foggy-window.case.yaml"
    assert key_of(case) == lesson_key(b"a course", LESSON)


def test_the_instructors_secret_gives_the_same_key(source: Path, tmp_path: Path) -> None:
    release_lesson(source, tmp_path / "renamed", b"a course")
    secret = tmp_path / "secret"
    secret.write_bytes(b"a course\n")
    for case in ("foggy-window", tmp_path / "renamed" / "foggy-window.case.yaml"):
        assert key_of(case, secret) == lesson_key(b"a course", LESSON)


def test_a_secret_that_is_none_is_refused(tmp_path: Path) -> None:
    (tmp_path / "empty").write_bytes(b"\n")
    for name, problem in (("empty", "at least one byte"), ("none", "cannot be read")):
        with pytest.raises(DrawError, match=problem):
            key_of("foggy-window", tmp_path / name)
