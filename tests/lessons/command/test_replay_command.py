"""`halfsplit replay`: what does not fit; and what neither it nor `score` takes for a record."""

from pathlib import Path

import pytest

from tests.lessons.command.worked import CASE, prepare_once, rewritten, run, worked


@pytest.fixture(autouse=True)
def once(monkeypatch) -> None:
    prepare_once(monkeypatch)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "kim.record.jsonl"
    path.write_bytes(worked())
    return path


def test_a_record_that_fits_is_told_in_one_line(record, capsys):
    assert run("replay", CASE, record) == 0
    assert capsys.readouterr().out == "13 entries, 0 mismatches, closed\n"


def test_a_record_without_its_end_says_so(record, capsys):
    record.write_bytes(b"".join(worked().splitlines(keepends=True)[:-1]))
    assert run("replay", CASE, record) == 0
    assert "no end: the work order was not closed" in capsys.readouterr().out


def test_a_torn_last_line_is_normal(record, capsys):
    record.write_bytes(worked()[:-7])
    assert run("replay", CASE, record) == 0
    assert capsys.readouterr().out.startswith("12 entries, 0 mismatches, no end")


def test_what_does_not_fit_is_listed(record, capsys):
    rewritten(record, 5, minutes="0.1")
    assert run("replay", CASE, record) == 1
    out = capsys.readouterr().out.splitlines()
    assert out[0].startswith("entry 5: minutes is '0.1'")
    assert out[-1] == "13 entries, 1 mismatches, closed"


@pytest.mark.parametrize("command", ["score", "replay"])
@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"{}\n", "not a record"),
        (b"\x00" * 1000 + b"\n", "edited: not a line of JSON"),
        (worked().replace(b'"version":1', b'"version":7'), "too new"),
        (worked().replace(b'"wait":"300 s"', b'"wait":"900 s"'), ":3: edited"),
        (b"".join(worked().splitlines(keepends=True)[:2] * 2), "does not belong here"),
    ],
    ids=["empty", "no record", "junk", "too new", "edited", "twice"],
)
def test_what_is_no_good_record_is_one_line_and_exit_code_2(
    command, content, says, tmp_path, capsys
):
    path = tmp_path / "bad.record.jsonl"
    path.write_bytes(content)
    assert run(command, CASE, path) == 2
    shown = capsys.readouterr()
    assert (shown.out, shown.err.count("\n")) == ("", 1)
    assert shown.err.startswith(f"halfsplit {command}: bad.record.jsonl")
    assert says in shown.err


@pytest.mark.parametrize("command", ["score", "replay"])
def test_what_is_not_there_is_one_line(command, record, tmp_path, capsys):
    for arguments, says in (
        ([CASE, tmp_path / "none"], "cannot be read"),
        ([CASE, tmp_path], "cannot be read"),
        (["no-case", record], "no such file"),
        ([CASE, record, "--secret-file", tmp_path / "none"], "cannot be read"),
        ([CASE, record, "--student", "a/b"], "student id"),
    ):
        assert run(command, *arguments) == 2
        shown = capsys.readouterr()
        assert (shown.out, shown.err.count("\n")) == ("", 1)
        assert says in shown.err


@pytest.mark.parametrize("command", ["score", "replay"])
@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("case_sha256", "0", "made with another version of the case"),
        ("circuit_sha256", "0", "made with another version of the circuit"),
        ("case", "other", "another case's record"),
        ("draw", "0", "another draw"),
        ("student", "ada", "another draw"),  # ada's own draw has another tag
        ("student", "", "student id"),
    ],
)
def test_a_record_of_something_else_is_one_line(command, key, value, says, record, capsys):
    rewritten(record, 0, **{key: value})
    assert run(command, CASE, record) == 2
    shown = capsys.readouterr()
    assert (shown.out, shown.err.count("\n")) == ("", 1)
    assert says in shown.err


def test_the_courses_secret_makes_another_draw(record, tmp_path, capsys):
    secret = tmp_path / "secret"
    secret.write_bytes(b"another course")
    assert run("replay", CASE, record, "--secret-file", secret) == 2
    assert "another draw" in capsys.readouterr().err
