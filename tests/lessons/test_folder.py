"""A student's folder knows whose it is, whatever the id, and says what is wrong with it."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.errors import FolderError
from lessons.folder import (
    HOME_FILE,
    Home,
    file_name,
    home_of,
    read_home,
    read_last,
    usual_folder,
    write_home,
    write_last,
)

GOOD = {"format": "student-folder", "version": 1, "student": "ada", "released": {"a/b": "00"}}


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    home = Home(tmp_path / "new" / "ada", "ada", {"b": "1", "a": "2"})
    write_home(home)
    assert read_home(home.folder) == home
    assert [path.name for path in home.folder.iterdir()] == [HOME_FILE]


def test_a_place_inside_finds_its_folder(tmp_path: Path) -> None:
    write_home(Home(tmp_path, "ada"))
    assert home_of(tmp_path / "lesson" / "deeper") == Home(tmp_path, "ada")


def test_the_folder_used_last_is_remembered(user: Path, tmp_path: Path) -> None:
    assert read_last() is None
    write_last(Home(tmp_path / "ada", "ada"))
    write_last(Home(tmp_path / "ben", "ben"))
    assert read_last() == ("ben", tmp_path / "ben")
    assert usual_folder("ada") == user / "halfsplit" / "ada"


@pytest.mark.parametrize(
    ("student", "name"),
    [
        ("ada.l-7", "ada.l-7"),
        ("ada@example", "ada@example"),
        ("jürgen", "jürgen"),
        ("..", "student"),
        ("a: b?", "a-b"),
        ("nul", "nul-"),
        ("com1.x", "com1.x-"),
    ],
)
def test_an_id_makes_a_name_for_a_file(student: str, name: str) -> None:
    assert file_name(student) == name


@given(st.text(max_size=70))
def test_every_id_makes_one_name(student: str) -> None:
    name = file_name(student)
    assert name not in {"", ".", ".."}
    assert not set(name) & set('/\\:*?"<>|\0\n')


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("{", "not JSON"),
        ("[]", "format"),
        (json.dumps({**GOOD, "version": 2}), "too new: update halfsplit"),
        (json.dumps({**GOOD, "version": 0}), "too old"),
        (json.dumps({**GOOD, "colour": "red"}), "unknown: colour"),
        (json.dumps({**GOOD, "released": [1]}), "released"),
        (json.dumps({**GOOD, "student": "a/b"}), "student id"),
    ],
)
def test_a_damaged_file_is_named_in_one_line(tmp_path: Path, text: str, problem: str) -> None:
    (tmp_path / HOME_FILE).write_text(text)
    with pytest.raises(FolderError, match=problem) as error:
        read_home(tmp_path)
    assert HOME_FILE in str(error.value)
    assert "\n" not in str(error.value)


def test_a_place_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(FolderError, match="cannot be written"):
        write_home(Home(tmp_path / "file" / "ada", "ada"))
