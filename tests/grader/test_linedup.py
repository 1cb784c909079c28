"""Suspects are tried once and kept by content; read back they are the same to the last bit."""

import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import grader.linedup
from grader.linedup import lined_up
from grader.suspects import Lineup, line_up
from tests.grader.foggy import foggy


@cache
def anew() -> Lineup:
    """Give the line-up as it is tried without a file."""
    return line_up(foggy())


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the file of a line-up that was tried; to be copied."""
    folder = tmp_path_factory.mktemp("written")
    lined_up(foggy(), folder)
    [file] = folder.iterdir()
    return file


@pytest.fixture
def tried(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Note for every line-up whether the faults were tried on the complaint."""
    noted = []

    def noting(case: object, showing: object = None) -> Lineup:
        noted.append(showing is None)
        return line_up(case, showing=showing)

    monkeypatch.setattr(grader.linedup, "line_up", noting)
    return noted


def same(one: Lineup, other: Lineup) -> bool:
    return (
        one.suspects == other.suspects
        and one.corners == other.corners
        and one.fleet.circuits == other.fleet.circuits
        and np.array_equal(one.fleet.rows, other.fleet.rows)
    )


def test_what_is_read_back_is_what_was_tried(tmp_path, tried):
    first, second = lined_up(foggy(), tmp_path), lined_up(foggy(), tmp_path)
    assert tried == [True, False]
    assert same(first, second)
    assert same(first, anew())


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"[]",
        b"\xff",
        b'{"names": []}',
        b'{"names": ["no such=fault"]}',
        b'{"names": [1, "x"]}',
    ],
)
def test_a_damaged_file_is_done_without_and_mended(tmp_path, written, tried, damage):
    file = tmp_path / written.name
    file.write_bytes(damage)
    assert same(lined_up(foggy(), tmp_path), anew())
    assert tried[-1]
    assert file.read_bytes() == written.read_bytes()


def test_a_name_that_is_none_of_the_cases_is_not_believed(tmp_path, written):
    file = Path(shutil.copy(written, tmp_path))
    whole = file.read_text("utf-8")
    file.write_text(whole.replace('"names": [', '"names": ["F99=open", '), "utf-8")
    assert same(lined_up(foggy(), tmp_path), anew())
    assert file.read_text("utf-8") == whole


def test_a_folder_that_cannot_be_written_is_done_without(tmp_path, tried):
    (tmp_path / "file").write_text("not a folder")
    for _time in range(2):
        lined_up(foggy(), tmp_path / "file")
    assert tried == [True, True]
