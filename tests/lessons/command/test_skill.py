"""`halfsplit skill`: closed cases of a folder, what counts, what cannot be scored."""

from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.prepared import prepare
from lessons.command import main
from lessons.course import Setup, case_setup, record_of
from lessons.folder import Home

CASE, OTHER = "foggy-window", "hoarse-horn"


def close(setup: Setup, *, hint: bool = False) -> None:
    """Call the right cause at once."""
    suspect = setup.lineup.suspects[setup.lineup.index(setup.drawn.cause)]
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        if hint:
            attempt.hint(prepare(setup.case))
        attempt.call(suspect.unit.name, suspect.name)
        attempt.close()


def test_nothing_closed_counts_nothing(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["skill", str(home.folder)]) == 0
    assert capsys.readouterr().out == f"{home.folder}: no closed case counts yet.\n"


def test_closed_cases_count_and_those_with_a_hint_do_not(
    home: Home, lesson: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    close(case_setup(lesson, CASE))
    assert main(["skill", str(home.folder)]) == 0
    one = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in one[:-1]] == [CASE]
    assert one[-1].startswith("One case says little")
    close(case_setup(lesson, OTHER), hint=True)
    assert main(["skill", str(lesson)]) == 0
    two = capsys.readouterr().out.splitlines()
    assert two[0] == one[0]
    assert two[1].split()[0] == OTHER
    assert two[1].endswith("with a hint: does not count")
    assert two[-1] == one[-1]


def test_a_record_that_was_edited_is_named_and_the_rest_counts(
    home: Home, lesson: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    close(case_setup(lesson, CASE))
    record = record_of(lesson, CASE)
    record.write_text(record.read_text().replace('"minutes":"', '"minutes":"9', 1))
    assert main(["skill", str(home.folder)]) == 1
    told = capsys.readouterr().out.splitlines()
    assert told[0].startswith(CASE)
    assert "record" in told[0]
    assert told[-1].endswith("no closed case counts yet.")


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["skill", str(tmp_path / "nobody")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
