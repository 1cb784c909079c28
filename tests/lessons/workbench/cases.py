"""The shipped case for the tests of the bench: lined up once, opened with any cause."""

from functools import cache
from pathlib import Path

from grader.casefile import read_case
from grader.draw import Draw
from grader.suspects import Lineup, line_up
from lessons.catalogue import CIRCUITS, case_path
from lessons.course import Setup
from lessons.workbench import Workbench

HINGE = "C41.1=high resistance:2 ohm"
COIL = "K3=coil open"
ON = {"key": "run", "heater switch": "on"}
VALUES = {"B1.charge": 0.85, "temperature": 5.0}


@cache
def lineup() -> Lineup:
    return line_up(read_case(case_path("foggy-window"), CIRCUITS))


def setup_of(folder: Path, cause: str = HINGE, student: str = "kim", tag: str = "tag") -> Setup:
    """Give a student's case with a cause chosen by the test."""
    drawn = Draw(cause, VALUES, tag)
    record = folder / "foggy-window.record.jsonl"
    return Setup(lineup().case, lineup(), drawn, student, record)


def say(bench: Workbench, **message: object) -> dict:
    """Send a message as the page does, and give the view that comes back."""
    bench.receive(bench, {"seq": "1", **message}, [])
    return bench.view


def done(bench: Workbench, **message: object) -> dict:
    """Send a message whose deed can be done, and give the view that comes back."""
    view = say(bench, **message)
    assert view["notice"] == "", view["notice"]
    return view
