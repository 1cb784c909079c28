"""What the bench does not do: one line says why, nothing is changed, and the work goes on."""

import json
from pathlib import Path

import pytest

from grader.record import Writer, read_record
from lessons.workbench import open_case, open_setup
from lessons.workbench.desk import CaseDesk
from tests.lessons.workbench.cases import HINGE, ON, say, setup_of


def test_the_same_kernel_takes_over(tmp_path: Path) -> None:
    first = open_setup(setup_of(tmp_path))
    second = open_setup(setup_of(tmp_path))
    assert first.view["mode"] == "message"
    assert "opened again" in first.view["title"]
    assert say(second, do={"look": "engine bay"})["evidence"][0]["reading"]
    assert say(first, do={"look": "fuse panel"})["mode"] == "message"
    assert len(read_record(tmp_path / "foggy-window.record.jsonl")) == 2


def test_another_window_is_told_so(tmp_path: Path) -> None:
    setup = setup_of(tmp_path)
    with Writer(setup.record):
        bench = open_setup(setup)
    assert bench.view["mode"] == "message"
    assert "another window" in bench.view["title"]
    assert say(bench, do={"look": "engine bay"})["mode"] == "message"


def test_a_folder_without_the_case_is_told_so(tmp_path: Path) -> None:
    bench = open_case("foggy-window", tmp_path)
    assert bench.view["mode"] == "message"
    assert "foggy-window" in bench.view["text"]


def test_another_students_record_is_refused(tmp_path: Path) -> None:
    open_setup(setup_of(tmp_path)).rest()
    bench = open_setup(setup_of(tmp_path, student="lee"))
    assert bench.view["mode"] == "message"
    assert "another student's record" in bench.view["text"]


@pytest.mark.parametrize(
    "message",
    [
        {},
        {"seq": "2"},
        {"do": {"plug": "C41"}},
        {"do": {"dance": "C41"}},
        {"do": 7},
        {"do": {"measure": "volts", "red": "C41.1", "black": "body"}},
        {"do": {"ask": "Who are you?"}},
        {"choose": {"place": "the moon"}},
        {"choose": {"touch": "F7.1"}},
        {"choose": {"colour": "blue"}},
        {"choose": None},
        {"strike": []},
        {"strike": ["the dog"]},
        {"call": {"unit": "relay K3", "cause": HINGE}},
        {"note": "x"},
        {"explode": True},
    ],
    ids=json.dumps,
)
def test_what_cannot_be_done_is_one_line_and_changes_nothing(tmp_path: Path, message: dict) -> None:
    bench = open_setup(setup_of(tmp_path))
    before = {**bench.view, "notice": None, "seq": None}
    view = say(bench, **message)
    assert view["notice"]
    assert "\n" not in view["notice"]
    assert {**view, "notice": None, "seq": None} == before
    assert len(read_record(tmp_path / "foggy-window.record.jsonl")) == 1
    assert say(bench, do={"look": "engine bay"})["notice"] == ""


def test_a_message_that_is_no_object_is_one_line(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    bench.receive(bench, "hello", [])
    assert "hello" in bench.view["notice"]


def test_nothing_goes_on_when_the_record_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = open_setup(setup_of(tmp_path))
    desk = bench.desk
    assert isinstance(desk, CaseDesk)

    def full(*_line: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(desk.attempt.writer, "append", full)
        assert "No space left" in say(bench, do={"look": "engine bay"})["notice"]
    assert "run this cell again" in say(bench, do={"look": "engine bay"})["notice"]
    again = open_setup(setup_of(tmp_path))
    assert again.view["evidence"] == []
    assert say(again, do={"look": "engine bay"})["notice"] == ""


@pytest.mark.parametrize(
    ("reason", "notice"),
    [
        ("step 99", "Because: there is no step 99; the evidence has steps 1 to 2"),
        ("Step 0, dark", "Because: there is no step 0; the evidence has steps 1 to 2"),
        ("step 2, 12 V here", ""),
        ("stepped on it 99 times", ""),
    ],
)
def test_a_reason_names_steps_that_there_are(tmp_path: Path, reason: str, notice: str) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, do={"look": "engine bay"})
    say(bench, do={"look": "fuse panel"})
    view = say(bench, strike=["F7=open"], reason=reason)
    assert view["notice"] == notice
    assert len(bench.desk.attempt.progress.struck) == (not notice)


def test_before_the_first_step_no_reason_can_name_one(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    view = say(bench, strike=["F7=open"], reason="step 1")
    assert "nothing has been done yet" in view["notice"]
