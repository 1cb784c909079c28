"""Every odd record gets its name; none stops the class."""

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.attempt import Attempt
from grader.draw import draw, lesson_key
from grader.gradebook.marking import MOST_ENTRIES, Outcome, mark_record
from grader.gradebook.results import CaseResult
from grader.gradebook.sheetpage import page
from grader.record import canonical, line_hash
from tests.grader.foggy import ON, prepared

KEY = lesson_key(b"a course of its own", "06-two-circuits-in-one-can")
NAME = "foggy-window.record.jsonl"


def lines_of(record: Path) -> list[dict]:
    return [json.loads(line) for line in record.read_text("utf-8").splitlines()]


def write(record: Path, lines: list[dict]) -> None:
    """Write lines with hashes made anew, as somebody would who knows how."""
    prev = ""
    for number, line in enumerate(lines):
        line |= {"n": number, "prev": prev}
        prev = line["hash"] = line_hash(line)
    record.write_text("".join(canonical(line) + "\n" for line in lines), "utf-8")


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Give kim's closed record with the right call."""
    path, lineup = tmp_path / NAME, prepared().lineup
    drawn = draw(lineup, KEY, "kim")
    with Attempt(lineup, drawn, "kim", path) as attempt:
        attempt.act({"set": ON})
        attempt.act({"measure": "volts", "red": "K3.87", "black": "body"})
        attempt.strike(["F7=open"] if drawn.cause != "F7=open" else ["K3=open coil"])
        attempt.call(lineup.suspects[lineup.index(drawn.cause)].unit.name, drawn.cause)
        attempt.note("done <b>")
        attempt.close()
    return path


def mark(record: Path, student: str = "kim") -> Outcome:
    return mark_record(record, student, prepared(), KEY)


def kinds(outcome: Outcome) -> list[str]:
    return [problem.kind for problem in outcome.problems]


def test_a_whole_record_has_points_and_no_problem(record: Path) -> None:
    outcome = mark(record)
    assert kinds(outcome) == []
    assert outcome.sheet is not None
    assert 0 < outcome.share <= 1
    assert outcome.share * 100 == pytest.approx(outcome.sheet.points)
    assert mark(record, "Kim") == outcome


@pytest.mark.parametrize("content", [None, b""])
def test_no_record(tmp_path: Path, content: bytes | None) -> None:
    if content is not None:
        (tmp_path / NAME).write_bytes(content)
    assert kinds(mark(tmp_path / NAME)) == ["no record"]


def test_a_record_that_is_a_torn_first_line_is_none(tmp_path: Path) -> None:
    (tmp_path / NAME).write_bytes(b'{"n":0,"kind":"op')
    assert kinds(mark(tmp_path / NAME)) == ["no record"]


@pytest.mark.parametrize(
    ("changes", "kind"),
    [
        ({"version": 2}, "other version"),
        ({"version": 0}, "other version"),
        ({"format": "diary"}, "no record"),
        ({"case": "dead-horn"}, "other case"),
        ({"case_sha256": "0"}, "other version"),
        ({"circuit_sha256": "0"}, "other version"),
        ({"student": "ada"}, "other student"),
        ({"student": None}, "other student"),
        ({"student": 5}, "other student"),
        ({"student": ""}, "other student"),
        ({"draw": "0"}, "other draw"),
        ({"draw": None}, "other draw"),
    ],
)
def test_an_opening_line_that_does_not_fit(record: Path, changes: dict, kind: str) -> None:
    lines = lines_of(record)
    lines[0] |= changes
    write(record, lines)
    outcome = mark(record)
    assert (kinds(outcome), outcome.share) == ([kind], 0.0)


def test_a_record_longer_than_anybody_works(record: Path) -> None:
    lines = lines_of(record)
    notes = [dict(lines[-2]) for _ in range(MOST_ENTRIES)]
    write(record, lines[:-1] + notes + lines[-1:])
    assert kinds(mark(record)) == ["too long"]


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "act", "do": None},
        {"kind": "act", "do": []},
        {"kind": "act", "do": {"set": 5}},
        {"kind": "act", "do": {"measure": "volts", "red": [], "black": {}}},
        {"kind": "act"},
        {"kind": "strike", "suspects": 5},
        {"kind": "strike", "suspects": [[]]},
        {"kind": "strike", "suspects": ["no such suspect"]},
        {"kind": "strike"},
        {"kind": "call", "unit": [], "cause": {}, "option": None},
        {"kind": "restore", "suspects": None},
        {"kind": "close"},
    ],
)
def test_a_line_that_no_bench_would_write(record: Path, line: dict) -> None:
    lines = lines_of(record)
    write(record, [*lines[:2], line, *lines[2:]])
    outcome = mark(record)
    assert (kinds(outcome), outcome.share) == (["does not replay"], 0.0)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=4,
)


@settings(max_examples=60)
@given(
    kind=st.sampled_from(["act", "strike", "restore", "note", "predict", "hint", "call", "close"]),
    keys=st.dictionaries(
        st.sampled_from(["do", "suspects", "unit", "cause", "shown", "harm", "minutes"]), JSON
    ),
)
def test_no_line_whatever_stops_the_class(tmp_path_factory, kind: str, keys: dict) -> None:
    path = tmp_path_factory.mktemp("odd") / NAME
    lineup = prepared().lineup
    with Attempt(lineup, draw(lineup, KEY, "kim"), "kim", path) as attempt:
        attempt.close()
    write(path, [*lines_of(path), {"kind": kind, **keys}])
    outcome = mark(path)
    assert 0.0 <= outcome.share <= 1.0


def test_the_page_escapes_what_was_handed_in(record: Path) -> None:
    outcome = mark(record)
    shown = page(CaseResult("cell", 12.5, 100, outcome))
    assert "12.5 of 100 points" in shown
    assert outcome.sheet is not None
    for given_mark in outcome.sheet.marks:
        assert given_mark.line in shown
    write(record, [{**lines_of(record)[0], "student": "<script>"}])
    shown = page(CaseResult("cell", 0, 100, mark(record)))
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown


def test_a_waived_step_stands_on_the_sheet_with_its_reason(record: Path) -> None:
    outcome = mark_record(record, "kim", prepared(), KEY, {2: "waived: I asked for it"})
    assert outcome.sheet is not None
    assert [step.free for step in outcome.sheet.steps if 2 in step.numbers] == [
        "waived: I asked for it"
    ]
