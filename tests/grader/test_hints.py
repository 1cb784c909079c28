"""Hints: four levels from a nudge to the answer, from the record alone, priced as the case says."""

from dataclasses import replace
from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.casefile import read_case
from grader.draw import Draw
from grader.errors import AttemptError, CaseFileError
from grader.hints import LEVELS, MENDED, next_hint, next_level
from grader.marks import reasoning_mark
from grader.prepared import Prepared
from grader.record import Entry, read_record
from grader.replay import replay
from grader.score import score
from sim.errors import ActionError
from tests.grader.foggy import FILE, LESSONS, ON, VALUES, Worker, prepared

HINGE = "C41.1=high resistance:0.8 ohm"
OTHER = "C41.1=high resistance:2 ohm"


def hinted(worker: Worker) -> str:
    """Take the next hint, as an attempt would, and write it down."""
    given = next_hint(prepared(), worker.drawn.cause, worker.entries)
    worker._add("hint", {"level": given.level, "text": given.text})  # noqa: SLF001 -- the rig's own
    return given.text


def with_hints(points: float | None) -> Prepared:
    """Give the shipped case with another price of hints."""
    one = prepared()
    lineup = replace(one.lineup, case=replace(one.case, hint_points=points))
    return Prepared(lineup, one.healthy, one.space)


def test_hints_go_from_a_nudge_to_the_answer():
    worker = Worker(HINGE)
    worker.confirm()
    nudge, possible, split, answer, again = (hinted(worker) for _ in range(5))
    assert nudge == (
        "54 suspects left, in 18 repair units. "
        "Something pays now that your senses can do without going anywhere."
    )
    assert possible.startswith("Still possible: hinge joint 21 %, ")
    assert "[relay K3, socket of K3, plug of S4, wire 3 or wire 5]" in split
    assert "by way of link 30, wire 11, S1, wire 1, F12, wire 2, S4, wire 3, K3" in split
    assert answer.startswith("The best next step: listen to K3 (switching heater switch on).")
    assert again == answer


def test_after_something_new_the_next_hint_is_a_nudge():
    worker = Worker(HINGE)
    hinted(worker)
    hinted(worker)
    worker.strike("K3=coil open")
    assert next_level(worker.entries) == 3
    worker.do(set=ON)
    assert next_level(worker.entries) == 1


def test_a_hint_follows_the_evidence():
    worker = Worker(HINGE)
    worker.do(set=ON)
    worker.volts("C41.1b")
    hinted(worker)
    possible = hinted(worker)
    assert "relay K3" in possible  # a burnt contact shows the same
    worker.volts("K3.87")
    hinted(worker)
    possible = hinted(worker)
    assert "relay K3" not in possible
    assert possible.startswith("Still possible: hinge joint ")


def test_when_one_unit_is_left_the_answer_is_its_repair():
    worker = Worker(HINGE)
    worker.do(look="tailgate hinge")
    texts = [hinted(worker) for _ in LEVELS]
    assert texts[0].startswith("All that is left lies in one repair unit.")
    assert texts[2] == "Nothing need be told apart any more: one unit has 100 %."
    assert texts[3] == "Repair hinge joint."


def test_when_the_fault_is_mended_a_hint_says_what_is_left_to_do():
    worker = Worker(HINGE)
    worker.call("hinge joint")
    assert hinted(worker) == MENDED


def test_a_hint_tells_nothing_that_the_record_does_not():
    """Two causes that have shown the same get the same hints."""
    texts = []
    for cause in (HINGE, OTHER):
        worker = Worker(cause)
        worker.do(set=ON)
        worker.do(look="fuse panel")
        worker.call("fuse F7")
        texts.append([hinted(worker) for _ in LEVELS])
    assert texts[0] == texts[1]


def test_hints_cost_what_the_case_says():
    worker = Worker(HINGE)
    worker.confirm()
    hinted(worker)
    hinted(worker)
    worker.go_on_best()
    worker.finish()
    free = score(with_hints(0.0), HINGE, worker.entries)
    priced = score(with_hints(1.5), HINGE, worker.entries)
    assert free.points == pytest.approx(100.0)
    assert priced.points == pytest.approx(97.0)
    (reasoning,) = [mark for mark in priced.marks if mark.line == "reasoning"]
    assert reasoning.reason.endswith("2 hints taken: 3 points.")
    assert score(with_hints(20.0), HINGE, worker.entries).points == pytest.approx(85.0)
    assert reasoning_mark.__module__ == "grader.marks"


def test_a_case_may_give_none():
    with pytest.raises(AttemptError, match="no hints"):
        next_hint(with_hints(None), HINGE, Worker(HINGE).entries)


def without_price() -> str:
    """Give the shipped case without what it says of hints."""
    lines = FILE.read_text("utf-8").splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith("hints:"))


@pytest.mark.parametrize(
    ("text", "points"),
    [("free", 0.0), ("none", None), ("1 point each", 1.0), ("2.5 points each", 2.5)],
)
def test_the_price_stands_in_the_case_file(tmp_path: Path, text: str, points: float | None):
    file = tmp_path / FILE.name
    file.write_text(without_price() + f"hints: {text}\n", encoding="utf-8")
    assert read_case(file, LESSONS / "circuits").hint_points == points


def test_a_price_that_is_none_is_refused(tmp_path: Path):
    file = tmp_path / FILE.name
    file.write_text(without_price() + "hints: cheap\n", encoding="utf-8")
    with pytest.raises(CaseFileError, match="say free, none or `1 point each`"):
        read_case(file, LESSONS / "circuits")


# -- in the record


def attempt(path: Path) -> Attempt:
    return Attempt(prepared().lineup, Draw(HINGE, VALUES, "tag"), "kim", path)


def test_hints_and_predictions_are_recorded_taken_up_and_replayed(tmp_path: Path):
    path = tmp_path / "foggy.record.jsonl"
    do = {"measure": "volts", "red": "C41.1b", "black": "body"}
    with attempt(path) as one:
        one.act({"set": ON})
        one.predict(do, " 12 V ")
        one.act(do)
        first = one.hint(prepared())
    with attempt(path) as again:
        second = again.hint(prepared())
        assert (first.data["level"], second.data["level"]) == (1, 2)
        again.close()
    entries = read_record(path)
    assert [e.kind for e in entries[1:]] == ["act", "predict", "act", "hint", "hint", "close"]
    assert entries[2].data["expect"] == "12 V"
    played = replay(prepared().lineup, Draw(HINGE, VALUES, "tag"), "kim", entries)
    assert played.mismatches == ()


def test_a_prediction_needs_an_action_and_words(tmp_path: Path):
    with attempt(tmp_path / "foggy.record.jsonl") as one:
        with pytest.raises(AttemptError, match="needs words"):
            one.predict({"look": "fuse panel"}, "  ")
        with pytest.raises(ActionError):
            one.predict({"juggle": "F7"}, "12 V")
        assert len(one.writer.entries) == 1


def test_a_prediction_that_cannot_be_is_a_mismatch():
    worker = Worker(HINGE)
    entry = Entry(1, "predict", {"do": {"juggle": "F7"}, "expect": "12 V"})
    played = replay(prepared().lineup, worker.drawn, "kim", [*worker.entries, entry])
    assert [mismatch.line for mismatch in played.mismatches] == [1]


def test_a_closed_work_order_gives_neither(tmp_path: Path):
    with attempt(tmp_path / "foggy.record.jsonl") as one:
        one.close()
        with pytest.raises(AttemptError, match="closed"):
            one.hint(prepared())
        with pytest.raises(AttemptError, match="closed"):
            one.predict({"look": "fuse panel"}, "a blown fuse")
