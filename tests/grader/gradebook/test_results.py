"""What grading leaves beside a notebook: read back, and named where it is damaged."""

from pathlib import Path

import pytest

from grader.gradebook.marking import Outcome
from grader.gradebook.problems import Problem
from grader.gradebook.results import (
    ENDING,
    CaseResult,
    Result,
    read_cases,
    read_result_problems,
    write_result,
)
from tests.grader.test_score import HINGE, best

LATE = Problem("late", "two days")


@pytest.fixture
def graded(tmp_path: Path) -> Path:
    """Give a folder with the result of one notebook: one case worked, one not begun."""
    _worker, sheet = best(HINGE)
    cases = (
        CaseResult("one", 40.0, 100.0, Outcome("foggy-window", 0.4, (), sheet)),
        CaseResult("two", 0.0, 100.0, Outcome("hoarse-horn", 0.0, (LATE,))),
    )
    write_result(tmp_path, Result("06", "ada", "06", (), cases))
    return tmp_path


def test_what_was_written_is_read(graded: Path) -> None:
    _worker, sheet = best(HINGE)
    ((given, value),) = read_cases(graded)
    assert given == pytest.approx(sheet.given, abs=1e-3)
    assert value == pytest.approx(sheet.value, abs=1e-3)
    assert read_result_problems(graded) == (LATE,)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"cases": []}', '{"format": "else"}'])
def test_a_damaged_result_is_named_and_stops_nobody(graded: Path, text: str) -> None:
    (graded / f"other{ENDING}").write_text(text)
    assert len(read_cases(graded)) == 1
    damaged, *rest = reversed(read_result_problems(graded))
    assert rest == [LATE]
    assert str(damaged) == (
        f"damaged result: other{ENDING} cannot be read; grade this hand-in again with --force"
    )
