"""Steps an instructor lets pass, from the course folder."""

import json
from pathlib import Path

import pytest

from grader.errors import GradebookError
from grader.gradebook.waivers import WAIVERS_FILE, waived_steps

WHO = ("06-two-circuits", "kim", "foggy-window")


def written(root: Path, data: object) -> Path:
    (root / WAIVERS_FILE).write_text(json.dumps(data), encoding="utf-8")
    return root


def test_without_the_file_nothing_is_waived(tmp_path):
    assert waived_steps(tmp_path, *WHO) == {}


def test_entries_and_reasons_of_this_record_only(tmp_path):
    mine = {"7": " I asked for it ", "9": "meter was broken"}
    data = {WHO[0]: {WHO[1]: {WHO[2]: mine, "other": {"1": "x"}}, "ada": {WHO[2]: {"2": "y"}}}}
    found = waived_steps(written(tmp_path, data), *WHO)
    assert found == {7: "waived: I asked for it", 9: "waived: meter was broken"}
    assert waived_steps(tmp_path, WHO[0], "bo", WHO[2]) == {}


@pytest.mark.parametrize(
    "data",
    [
        [1],
        {WHO[0]: []},
        {WHO[0]: {WHO[1]: {WHO[2]: ["7"]}}},
        {WHO[0]: {WHO[1]: {WHO[2]: {"seven": "x"}}}},
        {WHO[0]: {WHO[1]: {WHO[2]: {"7": " "}}}},
    ],
)
def test_what_is_none_is_one_clear_line(tmp_path, data):
    with pytest.raises(GradebookError, match=r"waivers\.json: ") as caught:
        waived_steps(written(tmp_path, data), *WHO)
    assert "\n" not in str(caught.value)


def test_what_cannot_be_read_is_named(tmp_path):
    (tmp_path / WAIVERS_FILE).write_text("{", encoding="utf-8")
    with pytest.raises(GradebookError, match="cannot be read"):
        waived_steps(tmp_path, *WHO)
