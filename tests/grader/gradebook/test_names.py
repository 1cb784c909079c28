"""Students' ids in the gradebook, and the names of their zips."""

import re
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.errors import DrawError
from grader.gradebook.names import HandInName, gradebook_name, read_name
from lessons.folder import file_name

LESSON = "06-two-circuits-in-one-can"


@given(st.text(min_size=1, max_size=20))
def test_a_gradebook_name_is_the_zips_name_and_stays_in_its_folder(text: str) -> None:
    try:
        name = gradebook_name(text)
    except DrawError:
        return
    assert name == file_name(text.strip().lower()) or not text.isascii()
    assert re.fullmatch(r"[\w.@+-]+", name)
    assert name not in {".", ".."}
    assert gradebook_name(name) == name


@pytest.mark.parametrize(
    ("stem", "student"),
    [
        (f"kim--{LESSON}--20261124T101500Z", "kim"),
        (f"Kim--{LESSON}--20261124T101500Z", "kim"),
        (f"a--b--{LESSON}--20261124T101500Z", "a--b"),
        (f"kim.lee@shop--{LESSON}--20261124T101500Z", "kim.lee@shop"),
    ],
)
def test_a_zips_name_says_whose_it_is(stem: str, student: str) -> None:
    time = datetime(2026, 11, 24, 10, 15, tzinfo=UTC)
    assert read_name(stem) == HandInName(student, LESSON, time)


@pytest.mark.parametrize(
    "stem",
    [
        "homework",
        f"kim--{LESSON}",
        f"kim--{LESSON}--99999999T999999Z",
        f"kim--{LESSON}--TTTT",
        f"--{LESSON}--20261124T101500Z",
        f"{'x' * 100}--{LESSON}--20261124T101500Z",
    ],
)
def test_another_name_is_nobodys(stem: str) -> None:
    assert read_name(stem) is None


def test_a_climbing_name_does_not_climb() -> None:
    name = read_name(f"..--{LESSON}--20261124T101500Z")
    assert name is not None
    assert name.student == "student"
