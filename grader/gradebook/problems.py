"""Named problems of a hand-in, and the small file in which they travel with it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

FORMAT, VERSION = "hand-in-problems", 1
FILE = "hand-in.problems.json"
LARGEST = 100_000  # bytes


@dataclass(frozen=True, slots=True)
class Problem:
    """Something wrong with a hand-in: what kind, and one clear line."""

    kind: str
    text: str

    def __str__(self) -> str:
        """Return both as they are shown."""
        return f"{self.kind}: {self.text}"


def to_json(problems: Iterable[Problem]) -> list[dict[str, str]]:
    """Return problems as plain data."""
    return [asdict(problem) for problem in problems]


def from_json(data: object) -> tuple[Problem, ...]:
    """Return problems from plain data, leaving out what is none."""
    items: list[Any] = data if isinstance(data, list) else []
    return tuple(
        Problem(item["kind"], item["text"])
        for item in items
        if isinstance(item, dict)
        and isinstance(item.get("kind"), str)
        and isinstance(item.get("text"), str)
    )


def read_problems(folder: Path) -> tuple[Problem, ...]:
    """Return the problems that were found before, when a hand-in was collected."""
    file = folder / FILE
    if not file.is_file() or file.stat().st_size > LARGEST:
        return ()
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return ()
    return from_json(data.get("problems")) if isinstance(data, dict) else ()


def add_problems(folder: Path, problems: Iterable[Problem]) -> None:
    """Write problems beside a hand-in, after those that stand there already."""
    before = read_problems(folder)
    found = list(dict.fromkeys([*before, *problems]))
    if not found or len(found) == len(before):
        return
    data = {"format": FORMAT, "version": VERSION, "problems": to_json(found)}
    text = json.dumps(data, indent=1, ensure_ascii=False) + "\n"
    (folder / FILE).write_text(text, encoding="utf-8", newline="\n")
