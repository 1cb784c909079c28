"""`halfsplit score`: a record in, its sheet out."""

import io
import json
from pathlib import Path

import jsonschema
import pytest

from lessons.command.score import waivers
from tests.lessons.command.worked import CASE, rewritten, run, worked

#: formats.md, "Score sheet": its keys, and what stands in them.
SHEET = {
    "type": "object",
    "required": [
        "format",
        "version",
        "marks",
        "par",
        "value",
        "regret",
        "charged",
        "luck",
        "interval",
    ],
    "properties": {
        "format": {"const": "score-sheet"},
        "version": {"const": 1},
        "marks": {
            "type": "array",
            "minItems": 5,
            "items": {
                "type": "object",
                "required": ["line", "points", "of", "step", "reason"],
                "properties": {
                    "line": {"type": "string", "minLength": 1},
                    "points": {"type": "number", "minimum": 0},
                    "of": {"type": "number", "exclusiveMinimum": 0},
                    "step": {"type": ["integer", "null"]},
                    "reason": {"type": "string", "minLength": 1},
                },
            },
        },
        "par": {"type": "number", "exclusiveMinimum": 0},
        "value": {"type": "number", "exclusiveMinimum": 0},
        "regret": {"type": "array", "items": {"type": "number", "minimum": 0}},
        "charged": {"type": "number", "minimum": 0},
        "luck": {"type": "number"},
        "interval": {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "number"}},
    },
}


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "kim.record.jsonl"
    path.write_bytes(worked())
    return path


def test_a_sheet_as_json_is_what_the_format_says(record, capsys):
    assert run("score", CASE, record, "--json") == 0
    shown = capsys.readouterr()
    sheet = json.loads(shown.out)
    jsonschema.validate(sheet, SHEET)
    assert shown.err == ""
    assert sum(mark["of"] for mark in sheet["marks"]) == 100
    checked = sheet["marks"][-1]
    assert checked["points"] == checked["of"]


def test_a_sheet_as_text_names_every_line_and_step(record, capsys):
    assert run("score", CASE, record) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0].endswith("V 3.7 min")
    for text in ("efficiency", "right call, proven", "reasoning", "safe work", "checked"):
        assert text in out
    assert "volts from C41.1b to body" in out
    assert "54 -> " in out


def test_what_shows_nothing_ends_in_no_colon(record, capsys):
    assert run("score", CASE, record) == 0
    out = capsys.readouterr().out
    assert "  waited 5 min  (" in out
    assert ":  (" not in out


def test_whose_record_it_should_be_may_be_said_in_any_spelling(record, capsys):
    assert run("score", CASE, record, "--student", " Kim ") == 0
    capsys.readouterr()
    assert run("score", CASE, record, "--student", "ada") == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "another student's record" in err


def test_a_reading_the_simulator_would_not_give_gets_no_sheet(record, capsys):
    shown = {"value": "0.1", "unit": "mV", "range": "600"}
    rewritten(record, 5, shown=shown)
    assert run("score", CASE, record) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("kim.record.jsonl: entry 5: shown is")
    assert shown.err.count("\n") == 1


def test_a_path_may_be_worked_by_a_script_and_scored(tmp_path, monkeypatch, capsys):
    path = tmp_path / "ada.record.jsonl"
    lines = "set key=run, heater switch=on\nwait 5 min\nwatch rear window clears\nclose\n"
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    assert run("work", CASE, "--student", "Ada", "--record", path) == 0
    capsys.readouterr()
    assert run("score", CASE, path, "--json") == 0
    sheet = json.loads(capsys.readouterr().out)
    jsonschema.validate(sheet, SHEET)
    assert sum(mark["points"] for mark in sheet["marks"]) == 0  # nothing was found


def test_reasons_stand_under_every_step_and_in_the_json(record, capsys):
    assert run("score", CASE, record) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Ruled out: With " in out
    assert "there is no way for current" in out
    assert run("score", CASE, record, "--json") == 0
    sheet = json.loads(capsys.readouterr().out)
    assert len(sheet["steps"]) == len(sheet["regret"])
    assert all({"could", "ruled_out", "better", "saved"} <= set(step) for step in sheet["steps"])


def test_an_instructor_waives_a_step_on_the_command_line(record, capsys):
    assert waivers(["5= I asked for it ", "7=x=y"], 9) == {
        5: "waived: I asked for it",
        7: "waived: x=y",
    }
    assert run("score", CASE, record, "--waive", "5=I asked for it") == 0
    capsys.readouterr()
    assert run("score", CASE, record, "--waive", "5") == 2
    assert "expected ENTRY=REASON" in capsys.readouterr().err
    assert run("score", CASE, record, "--waive", "900=no such entry") == 2
    assert "from 1 to" in capsys.readouterr().err
