"""A record of the shipped case, worked as practice, for the commands that take one."""

import json
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from grader.attempt import Attempt
from grader.casefile import read_case
from grader.draw import draw, lesson_key
from grader.prepared import Prepared, prepare
from grader.record import canonical, line_hash
from grader.suspects import Lineup
from lessons.catalogue import CIRCUITS, case_path
from lessons.command import main
from lessons.course import PRACTICE_SECRET

CASE = "foggy-window"
LESSON = "06-two-circuits-in-one-can"
ON = {"key": "run", "heater switch": "on"}


@cache
def prepared() -> Prepared:
    return prepare(read_case(case_path(CASE), CIRCUITS))


def lineup() -> Lineup:
    return prepared().lineup


def prepare_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the commands of a test share the case made ready, which takes a second each time."""
    monkeypatch.setattr("lessons.command.work.lined_up", lambda _case: lineup())
    monkeypatch.setattr("lessons.command.work.prepare", lambda _case: prepared())
    monkeypatch.setattr("lessons.command.replay.lined_up", lambda _case: lineup())
    monkeypatch.setattr("lessons.command.score.prepare", lambda _case: prepared())


@cache
def worked(student: str = "kim") -> bytes:
    """Work the shipped case as practice: ask the instructor, so to speak, and verify."""
    drawn = draw(lineup(), lesson_key(PRACTICE_SECRET, LESSON), student)
    suspect = lineup().suspects[lineup().index(drawn.cause)]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "a.record.jsonl"
        with Attempt(lineup(), drawn, student, path) as one:
            one.act({"set": ON})
            one.act({"wait": "5 min"})
            one.act({"watch": "rear window clears"})
            one.act({"watch": "switch lamp lights"})
            one.act({"measure": "volts", "red": "C41.1b", "black": "body"})
            one.call(suspect.unit.name, drawn.cause)
            one.act({"wait": "5 min"})
            one.act({"watch": "rear window clears"})
            one.act({"clamp": "wire 8"})
            one.act({"set": {"heater switch": "off"}})
            one.act({"clamp": "wire 8"})
            one.close()
        return path.read_bytes()


def rewritten(path: Path, at: int, **change: object) -> None:
    """Change a line and hash everything after it anew."""
    prev, raw = "", b""
    for number, line in enumerate(path.read_bytes().splitlines()):
        data = json.loads(line)
        if number == at:
            data.update(change)
        data["prev"] = prev
        prev = data["hash"] = line_hash(data)
        raw += canonical(data).encode() + b"\n"
    path.write_bytes(raw)


def run(*arguments: object) -> int:
    return main([str(argument) for argument in arguments])
