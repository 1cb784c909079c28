"""While the kernel works the page hears that it does; once the work is done it hears no more."""

from pathlib import Path
from threading import Event
from typing import Any

import pytest

from grader.outcomes import Progress
from lessons.workbench import desk as desks
from lessons.workbench import open_setup, widget
from lessons.workbench.signs import Signs
from sim.language import say, speaking
from tests.lessons.workbench.cases import setup_of

PATIENCE = 60.0  # s, for a thread on a slow machine


def test_signs_come_in_the_language_spoken_and_end_with_the_work() -> None:
    heard: list[str] = []
    two = Event()

    def tell() -> None:
        heard.append(say("Hint:"))
        if len(heard) == 2:
            two.set()

    with speaking("de"), Signs(tell, 0.001):
        assert two.wait(PATIENCE)
    count = len(heard)
    assert set(heard) == {"Hinweis:"}
    assert not Event().wait(0.05)
    assert len(heard) == count


def test_a_page_that_asks_for_a_hint_hears_how_far_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = open_setup(setup_of(tmp_path))
    sent: list[dict[str, Any]] = []
    heard, real = Event(), desks.prepare

    def send(message: dict[str, Any]) -> None:
        sent.append(message)
        if "40 %" in message["working"]:
            heard.set()

    def slow(case: object, tell: Any) -> Any:
        tell(Progress(430, 1000, ()))
        assert heard.wait(PATIENCE)
        return real(case)

    monkeypatch.setattr(bench, "send", send)
    monkeypatch.setattr(desks, "prepare", slow)
    monkeypatch.setattr(widget, "Signs", lambda tell: Signs(tell, 0.001))
    bench.receive(bench, {"seq": "7", "tab": "one", "hint": True}, [])
    assert bench.view["call"]["hints"]["text"]
    assert {(message["seq"], message["tab"]) for message in sent} == {("7", "one")}
    told = [message["working"] for message in sent]
    assert "Working out the hint: 40 % of the readings are tried." in told
    assert bench.desk.doing == ""
