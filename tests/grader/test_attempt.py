"""An attempt: written before it is shown, one writer, and nothing after the end."""

import os
from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.errors import AttemptError, RecordError
from grader.record import read_record
from sim.errors import ActionError
from tests.grader.attempts import HINGE, attempt, standing, work
from tests.grader.foggy import ON, foggy


@pytest.fixture
def path(tmp_path) -> Path:
    return tmp_path / "foggy.record.jsonl"


# -- what is written


def test_the_first_line_says_whose_attempt_at_what_it_is(path):
    with attempt(path, " Kim "):
        pass
    [first] = read_record(path)
    data = dict(first.data)
    for key in ("hash", "prev", "at", "made_by"):
        data.pop(key)
    assert data == {
        "n": 0,
        "kind": "open",
        "format": "record",
        "version": 1,
        "case": "foggy-window",
        "case_sha256": foggy().sha256,
        "circuit_sha256": foggy().circuit.sha256,
        "student": "kim",
        "draw": "tag",
    }
    assert HINGE not in path.read_text(encoding="utf-8")


def test_an_act_holds_what_was_done_what_it_took_and_what_was_shown(path):
    with attempt(path) as one:
        one.act({"set": ON})
        entry = one.act({"measure": "volts", "red": "C41.1b", "black": "body"})
        data = {k: v for k, v in entry.data.items() if k in ("do", "minutes", "clock", "harm")}
        assert data == {
            "do": {"measure": "volts", "red": "C41.1b", "black": "body"},
            "minutes": "3.5",
            "clock": "3.5",
            "harm": [],
        }
        assert set(entry.data["shown"]) == {"value", "unit", "range"}
        asked = one.act({"ask": "Since when?"})
        assert asked.data["shown"] == {"words": "Since the tailgate was repainted."}
        assert (asked.data["minutes"], asked.data["clock"]) == ("1", "4.5")
        harm = one.act({"measure": "amps", "red": "B1.+", "black": "B1.-"})
        assert harm.data["harm"] == ["the meter's fuse has blown"]
    assert read_record(path)[-1].data == harm.data


def test_a_call_costs_labour_and_part_whether_it_is_right_or_not(path):
    with attempt(path) as one:
        wrong = one.call("relay K3", "K3=coil open")
        right = one.call("hinge joint", "C41.1=open")  # the right joint, another cause
    assert (wrong.data["option"], wrong.data["minutes"]) == ("new", "11")
    assert (right.data["option"], right.data["minutes"]) == ("repair in place", "19")
    assert set(wrong.data) == set(right.data)
    assert one.progress.mended


def test_an_option_may_be_chosen(path):
    with attempt(path) as one:
        used = one.call("window glass", "E9=all lines open")
        new = one.call("window glass", "E9=all lines open", "new")
    assert (used.data["option"], used.data["minutes"]) == ("used", "240")
    assert (new.data["option"], new.data["minutes"]) == ("new", "460")


def test_only_the_right_call_mends(path):
    def clears(one: Attempt) -> str:
        one.act({"set": {"key": "off"}})
        one.act({"set": ON})
        one.act({"wait": "5 min"})
        return one.act({"watch": "rear window clears"}).data["shown"]["words"]

    with attempt(path) as one:
        assert clears(one) == "no"
        one.call("relay K3", "K3=coil open")
        assert clears(one) == "no"
        one.call("hinge joint", HINGE)
        assert clears(one) == "yes"


# -- before it is shown


def test_the_line_is_on_the_disk_before_the_reading_is_given(path, monkeypatch):
    real, on_disk = os.fsync, []

    def watch(descriptor: int) -> None:
        real(descriptor)
        on_disk.append(read_record(path)[-1].data)

    with attempt(path) as one:
        monkeypatch.setattr(os, "fsync", watch)
        for do in ({"set": ON}, {"look": "fuse panel"}, {"ask": "Since when?"}):
            entry = one.act(do)
            assert on_disk[-1] == entry.data
        for write in (lambda: one.strike([HINGE]), lambda: one.note("x"), one.close):
            assert write().data == on_disk[-1]
    assert len(on_disk) == 6


def test_what_cannot_be_written_is_not_shown_and_the_record_goes_on_when_opened_again(
    path, monkeypatch
):
    with attempt(path) as one:
        one.act({"set": ON})
        with monkeypatch.context() as patch:

            def full(_descriptor: int) -> None:
                raise OSError(28, "No space left on device")

            patch.setattr(os, "fsync", full)
            with pytest.raises(RecordError, match="No space left on device") as caught:
                one.act({"look": "fuse panel"})
        assert "\n" not in str(caught.value)
        with pytest.raises(RecordError, match="not open; open the case again"):
            one.act({"look": "fuse panel"})
    with attempt(path) as again:
        again.act({"look": "fuse panel"})
    assert [e.number for e in read_record(path)] == list(range(len(read_record(path))))


def test_half_a_character_is_refused_and_nothing_is_lost(path):
    with attempt(path) as one:
        with pytest.raises(RecordError, match="half a character"):
            one.note("\ud83d")
        one.note("whole again")
    assert [entry.kind for entry in read_record(path)] == ["open", "note"]


def test_a_place_that_cannot_be_written_is_one_line(tmp_path):
    (tmp_path / "file").write_text("no folder")
    for place in (tmp_path / "file" / "a.jsonl", tmp_path):
        with pytest.raises(RecordError, match="cannot be written") as caught, attempt(place):
            pass
        assert "\n" not in str(caught.value)


# -- what is refused


def test_a_second_writer_is_refused_until_the_first_is_done(path):
    with attempt(path) as one:
        with pytest.raises(RecordError, match="open in another window"), attempt(path):
            pass
        one.act({"set": ON})
    with attempt(path) as two:
        assert len(two.writer.entries) == 2


def test_after_the_end_nothing_is_written_and_nothing_changes(path):
    with attempt(path) as one:
        work(one)
        one.close()
        before, raw = standing(one), path.read_bytes()
        for late in (
            lambda: one.act({"look": "fuse panel"}),
            lambda: one.act({"ask": "Is it worse in the wet?"}),
            lambda: one.strike([HINGE]),
            lambda: one.restore(["K3=coil open"]),
            lambda: one.note("late"),
            lambda: one.call("hinge joint", HINGE),
            one.close,
        ):
            with pytest.raises(AttemptError, match="closed; its score sheet is final"):
                late()
            assert standing(one) == before
        assert path.read_bytes() == raw
    with attempt(path) as again, pytest.raises(AttemptError, match="closed"):
        again.act({"look": "fuse panel"})


REFUSED = {
    "pull a plug": (lambda one: one.act({"pull": "C41"}), ActionError, "cannot pull C41"),
    "no verb": (lambda one: one.act({"dance": True}), ActionError, "expected exactly one of"),
    "no question": (lambda one: one.act({"ask": "Why?"}), AttemptError, "'Why\\?' unknown"),
    "two things": (
        lambda one: one.act({"ask": "Since when?", "set": ON}),
        AttemptError,
        "unknown",
    ),
    "strike nobody": (lambda one: one.strike(["K9=open"]), AttemptError, "'K9=open' unknown"),
    "strike half": (lambda one: one.strike([HINGE, "x"]), AttemptError, "suspect 'x' unknown"),
    "restore nobody": (lambda one: one.restore(["x"]), AttemptError, "suspect 'x' unknown"),
    "no unit": (lambda one: one.call("engine", HINGE), AttemptError, "unit 'engine' unknown"),
    "no cause": (lambda one: one.call("relay K3", "x"), AttemptError, "suspect 'x' unknown"),
    "cause elsewhere": (lambda one: one.call("relay K3", HINGE), AttemptError, "is not in"),
    "no option": (
        lambda one: one.call("window glass", "E9=all lines open", "stolen"),
        AttemptError,
        "window glass offers new, used",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_done_is_one_line_and_leaves_no_trace(path, name):
    wrong, kind, says = REFUSED[name]
    with attempt(path) as one:
        one.act({"set": ON})
        before, raw = standing(one), path.read_bytes()
        with pytest.raises(kind, match=says) as caught:
            wrong(one)
        assert "\n" not in str(caught.value)
        assert (standing(one), path.read_bytes()) == (before, raw)


def test_once_mended_there_is_nothing_more_to_call(path):
    with attempt(path) as one:
        one.call("hinge joint", HINGE)
        with pytest.raises(AttemptError, match="verify the repair"):
            one.call("relay K3", "K3=coil open")
    assert [entry.kind for entry in read_record(path)] == ["open", "call"]
