"""Whatever is handed in, a sound notebook of the right name is there afterwards."""

import json
from pathlib import Path

import pytest

from grader.gradebook.notebooks import is_sound, make_gradable
from grader.gradebook.problems import FILE, Problem, add_problems, read_problems

CELL = {"cell_type": "markdown", "metadata": {}, "source": ["a", "b"], "id": "x"}
SOUND = {"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [CELL]}


def raw(**changes: object) -> bytes:
    return json.dumps({**SOUND, **changes}).encode()


def test_a_plain_notebook_is_sound() -> None:
    assert is_sound(raw())
    assert is_sound(raw(cells=[{**CELL, "source": "text"}]))


@pytest.mark.parametrize(
    "damaged",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b"[" * 100_000,
        raw(nbformat=3),
        raw(nbformat_minor="5"),
        raw(metadata=[]),
        raw(cells={}),
        raw(cells=[5]),
        raw(cells=[{**CELL, "cell_type": "heading"}]),
        raw(cells=[{**CELL, "metadata": None}]),
        raw(cells=[{**CELL, "source": [1]}]),
        raw(cells=[{**CELL, "source": None}]),
        raw(cells=[{**CELL, "source": "\ud800"}]),
    ],
)
def test_anything_else_is_not(damaged: bytes) -> None:
    assert not is_sound(damaged)


@pytest.fixture
def blank(tmp_path: Path) -> Path:
    (tmp_path / "release").mkdir()
    path = tmp_path / "release" / "L.ipynb"
    path.write_bytes(raw(cells=[{**CELL, "source": "blank"}]))
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "handed in"
    place.mkdir()
    return place


def kinds(problems: list[Problem]) -> list[str]:
    return [problem.kind for problem in problems]


def test_a_sound_notebook_is_left_alone(folder: Path, blank: Path) -> None:
    (folder / "L.ipynb").write_bytes(raw())
    assert make_gradable(folder, [blank]) == []
    assert (folder / "L.ipynb").read_bytes() == raw()


def test_a_missing_notebook_is_the_released_one(folder: Path, blank: Path) -> None:
    assert kinds(make_gradable(folder, [blank])) == ["no notebook"]
    assert (folder / "L.ipynb").read_bytes() == blank.read_bytes()
    assert make_gradable(folder, [blank]) == []


def test_one_notebook_of_another_name_is_meant(folder: Path, blank: Path) -> None:
    (folder / "mine.ipynb").write_bytes(raw())
    assert kinds(make_gradable(folder, [blank])) == ["wrong notebook name"]
    assert (folder / "L.ipynb").read_bytes() == raw()
    assert not (folder / "mine.ipynb").exists()


def test_which_of_two_is_meant_is_not_guessed(folder: Path, blank: Path) -> None:
    for name in ("a.ipynb", "b.ipynb"):
        (folder / name).write_bytes(raw())
    assert kinds(make_gradable(folder, [blank])) == ["no notebook"]


def test_a_damaged_notebook_is_kept_aside(folder: Path, blank: Path) -> None:
    (folder / "mine.ipynb").write_bytes(b"{")
    found = kinds(make_gradable(folder, [blank]))
    assert found == ["wrong notebook name", "damaged notebook"]
    assert (folder / "L.ipynb.damaged").read_bytes() == b"{"
    assert (folder / "L.ipynb").read_bytes() == blank.read_bytes()


# The small file in which problems travel


def test_problems_come_back_once_and_in_order(folder: Path) -> None:
    first, second = Problem("b", "is\nodd"), Problem("a", "“quoted”")
    assert read_problems(folder) == ()
    add_problems(folder, [])
    assert not (folder / FILE).exists()
    add_problems(folder, [first])
    add_problems(folder, [second, first])
    assert read_problems(folder) == (first, second)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"problems": 5}', '{"problems": [{"kind": 1}]}'])
def test_a_file_of_problems_that_is_none_is_empty(folder: Path, text: str) -> None:
    (folder / FILE).write_text(text)
    assert read_problems(folder) == ()
