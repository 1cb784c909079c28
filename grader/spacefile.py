"""A test space on disk: whole, or as far as it has come.

A whole one is one JSON object, put in its place in one step. One that has been begun is a file of
lines, each what was found since the line before; only ever added to, so that whoever stops the
work, at any moment, leaves at most one torn line, which is left out when it is read back. Cached
by content: the name says what was explored, so a file of anything else has another name. A cache
that cannot be written is done without.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from grader.bands import Split
from grader.choices import Choice
from grader.contentkey import keep
from grader.outcomes import Progress, TestSpace
from sim.action import action_from_json

FORMAT, VERSION = "test-space", 1


def save_space(file: Path, space: TestSpace) -> None:
    """Write a test space; a cache that cannot be written is done without."""
    data = {
        "format": FORMAT,
        "version": VERSION,
        "tests": _as_json(zip(space.choices, space.splits, strict=True)),
    }
    keep(file, json.dumps(data))


def load_space(file: Path) -> TestSpace | None:
    """Read a test space back; None if it is not there or not whole."""
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
        pairs = [_read_test(test) for test in data["tests"]]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return TestSpace(tuple(choice for choice, _ in pairs), tuple(parts for _, parts in pairs))


class Begun:
    """A test space that is being explored.

    Parameters
    ----------
    file : Path
        Where the whole one will be.
    """

    def __init__(self, file: Path) -> None:
        self.file = file.with_suffix(".begun.jsonl")

    def load(self) -> list[Progress]:
        """Return what earlier runs found; what is torn or out of order is dropped, also on disk."""
        found: list[Progress] = []
        sound = 0
        try:
            lines = self.file.read_bytes().splitlines(keepends=True)
            for line in lines:
                progress = _read_progress(line)
                if progress is None or progress.done <= (found[-1].done if found else 0):
                    break
                found.append(progress)
                sound += len(line)
            if sound < sum(map(len, lines)):
                os.truncate(self.file, sound)
        except OSError:
            return []
        return found

    def latest(self) -> Progress | None:
        """Return how far somebody else, who is at it now, has come; None if nobody can tell."""
        try:
            lines = self.file.read_bytes().splitlines(keepends=True)
        except OSError:
            return None
        known = (_read_progress(line) for line in reversed(lines))
        return next((progress for progress in known if progress is not None), None)

    def add(self, progress: Progress) -> None:
        """Add what was found since the last time."""
        data = {"done": progress.done, "of": progress.of, "tests": _as_json(progress.fresh)}
        with suppress(OSError):
            self.file.parent.mkdir(parents=True, exist_ok=True)
            with self.file.open("ab") as lines:
                lines.write(json.dumps(data).encode() + b"\n")

    def remove(self) -> None:
        """Remove the file: the whole one is there, or cannot be."""
        with suppress(OSError):
            self.file.unlink()


def _read_progress(line: bytes) -> Progress | None:
    if not line.endswith(b"\n"):
        return None
    try:
        data = json.loads(line)
        fresh = tuple(_read_test(test) for test in data["tests"])
        return Progress(int(data["done"]), int(data["of"]), fresh)
    except (ValueError, KeyError, TypeError):
        return None


def _as_json(tests: Iterable[tuple[Choice, Split]]) -> list[dict[str, Any]]:
    return [
        {
            "name": choice.name,
            "prepare": [action.to_json() for action in choice.prepare],
            "do": choice.action.to_json(),
            "minutes": choice.minutes,
            "places": choice.places,
            "leads": choice.leads,
            "groups": parts.groups,
            "member": parts.member.tolist(),
        }
        for choice, parts in tests
    ]


def _read_test(test: dict[str, Any]) -> tuple[Choice, Split]:
    choice = Choice(
        test["name"],
        tuple(action_from_json(do) for do in test["prepare"]),
        action_from_json(test["do"]),
        float(test["minutes"]),
        tuple(test["places"]),
        int(test["leads"]),
    )
    groups = tuple(tuple(group) for group in test["groups"])
    return choice, Split(groups, np.array(test["member"], dtype=np.int64))
