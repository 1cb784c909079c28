"""Find circuits, cases and lessons by id or by path."""

from __future__ import annotations

from pathlib import Path

from grader.errors import CaseFileError
from sim.errors import CircuitFileError
from sim.mistakes import perhaps

ROOT = Path(__file__).parent
CIRCUITS, SOURCE = ROOT / "circuits", ROOT / "source"
CIRCUIT_ENDING, CASE_ENDING = ".circuit.yaml", ".case.yaml"


def shipped_circuits() -> dict[str, Path]:
    """Return the circuit files that come with the course, by id."""
    files = sorted(CIRCUITS.glob(f"*{CIRCUIT_ENDING}"))
    return {file.name.removesuffix(CIRCUIT_ENDING): file for file in files}


def shipped_cases() -> dict[str, Path]:
    """Return the case files that come with the course, by id."""
    files = sorted(SOURCE.glob(f"*/*{CASE_ENDING}"))
    return {file.name.removesuffix(CASE_ENDING): file for file in files}


def shipped_lessons() -> dict[str, Path]:
    """Return the folders of the lessons that come with the course, by id, in their order."""
    folders = sorted(path for path in SOURCE.iterdir() if (path / f"{path.name}.ipynb").is_file())
    return {folder.name: folder for folder in folders}


def circuit_path(name: str) -> Path:
    """Return the file of a circuit given by id or path.

    Raises
    ------
    CircuitFileError
        There is neither.
    """
    shipped = shipped_circuits()
    if name in shipped:
        return shipped[name]
    if Path(name).exists():  # a folder is refused by who reads it
        return Path(name)
    known = f"shipped are {', '.join(shipped)}{perhaps(name, shipped)}"
    raise CircuitFileError(f"circuit {name!r}: no such file; {known}")


def case_path(name: str) -> Path:
    """Return the file of a case given by id or path.

    Raises
    ------
    CaseFileError
        There is neither.
    """
    shipped = shipped_cases()
    if name in shipped:
        return shipped[name]
    if Path(name).exists():  # a folder is refused by who reads it
        return Path(name)
    known = f"shipped are {', '.join(shipped)}{perhaps(name, shipped)}"
    raise CaseFileError(f"case {name!r}: no such file; {known}")
