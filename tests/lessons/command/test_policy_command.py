"""`halfsplit policy`: a problem in, a policy out; a mistake is one line and exit code 2."""

import io
import json
from pathlib import Path

import pytest

from lessons.command.policy import run_policy

PROBLEM = {
    "format": "policy-problem",
    "version": 1,
    "suspects": [{"name": name, "likelihood": 1} for name in ("a", "b", "c")],
    "tests": [
        {"name": "one", "minutes": 2, "outcomes": ["0", "1", "1"]},
        {"name": "two", "minutes": 1, "outcomes": ["0", "0", "1"], "place": "boot"},
    ],
    "places": [{"name": "boot", "minutes": 1, "again": 1}],
}


def test_a_file_is_solved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "problem.json"
    file.write_text(json.dumps(PROBLEM), encoding="utf-8")
    assert run_policy(str(file)) == 0
    shown = capsys.readouterr()
    result = json.loads(shown.out)
    assert (result["format"], result["version"]) == ("policy", 1)
    # Either test costs 2 at first; the other is then needed in two cases out of three.
    assert result["value"] == result["upper"] == result["lower"] == pytest.approx(2 + 2 * 2 / 3)
    assert result["first"] in {"one", "two"}
    assert result["tree"]["test"] == result["first"]
    assert shown.err == ""


def test_standard_input_is_solved(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(json.dumps(PROBLEM)))
    assert run_policy("-") == 0
    assert json.loads(capsys.readouterr().out)["format"] == "policy"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"{", "not JSON at line 1"),
        (b"\xff\xfe", "not UTF-8 text at byte 0"),
        (json.dumps(PROBLEM | {"version": 9}).encode(), "problem.version: 9 is too new"),
        (json.dumps(PROBLEM | {"suspects": []}).encode(), "suspects: got 0"),
    ],
    ids=["no JSON", "no text", "too new", "no suspects"],
)
def test_a_malformed_problem_is_one_line(
    content: bytes, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "problem.json"
    file.write_bytes(content)
    assert run_policy(str(file)) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith(f"halfsplit policy: {file}: {said}")
    assert shown.err.count("\n") == 1


def test_a_file_that_is_not_there_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        assert run_policy(str(path)) == 2
        shown = capsys.readouterr()
        assert shown.err.startswith(f"halfsplit policy: {path}: cannot be read: ")
        assert (shown.out, shown.err.count("\n")) == ("", 1)
