"""Notebooks that were handed in, seen as data.

Whatever is handed in, there must be a notebook of the right name in the right shape, or nbgrader
leaves the student out and the export shows a plain zero. So a notebook that is missing or damaged
is replaced by the released one, without answers, and the problem is named.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from grader.gradebook.problems import Problem

LARGEST = 20_000_000  # bytes
CELL_TYPES = ("markdown", "code", "raw")
MAJOR = 4
DAMAGED = ".damaged"


def is_sound(raw: bytes) -> bool:
    """Tell whether bytes are a notebook of format 4 that can be read and written again."""
    if len(raw) > LARGEST:
        return False
    try:
        data: Any = json.loads(raw.decode("utf-8"))
        json.dumps(data, ensure_ascii=False).encode("utf-8")  # lone surrogates cannot be written
    except (ValueError, RecursionError):
        return False
    if not isinstance(data, dict) or data.get("nbformat") != MAJOR:
        return False
    cells = data.get("cells")
    return (
        isinstance(data.get("nbformat_minor"), int)
        and isinstance(data.get("metadata"), dict)
        and isinstance(cells, list)
        and all(_is_cell(cell) for cell in cells)
    )


def _is_cell(cell: object) -> bool:
    if not isinstance(cell, dict) or cell.get("cell_type") not in CELL_TYPES:
        return False
    source = cell.get("source")
    lines = source if isinstance(source, list) else [source]
    return isinstance(cell.get("metadata"), dict) and all(isinstance(line, str) for line in lines)


def make_gradable(folder: Path, released: Sequence[Path]) -> list[Problem]:
    """See to it that a hand-in's folder holds every released notebook, sound and rightly named.

    A notebook under a wrong name is renamed if there is no doubt which it is. A damaged one is
    kept with the ending ``.damaged``.

    Parameters
    ----------
    folder : Path
        Of one student's hand-in.
    released : sequence of Path
        The lesson's notebooks as they were released.

    Returns
    -------
    list of Problem
    """
    problems: list[Problem] = []
    names = {path.name for path in released}
    strays = sorted(path for path in folder.glob("*.ipynb") if path.name not in names)
    for blank in released:
        file = folder / blank.name
        if not file.is_file():
            problems.append(_find_or_replace(file, strays, blank))
        if file.stat().st_size > LARGEST or not is_sound(file.read_bytes()):
            file.replace(file.with_name(file.name + DAMAGED))
            shutil.copyfile(blank, file)
            text = f"{blank.name} is no notebook that can be read; its answers are not graded"
            problems.append(Problem("damaged notebook", text))
    return problems


def _find_or_replace(file: Path, strays: list[Path], blank: Path) -> Problem:
    if len(strays) == 1:
        stray = strays.pop()
        stray.replace(file)
        text = f"handed in as {stray.name}, taken as {file.name}"
        return Problem("wrong notebook name", text)
    shutil.copyfile(blank, file)
    return Problem("no notebook", f"{file.name} was not handed in; there are no answers to grade")
