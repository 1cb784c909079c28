"""The recipe for a lesson in DEVELOPERS.md, followed from an empty folder to a case that passes."""

import json
import re
import textwrap
from pathlib import Path

import pytest

from grader.casefile import read_case
from grader.draw import assignable
from grader.suspects import line_up
from lessons.command import main
from lessons.course import cases_in, release_lesson
from lessons.folder import Home, write_home
from lessons.points import case_points
from tests.lessons import pages

GUIDE = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")
LESSON, CASE, CIRCUIT = "99-reading-in-the-dark", "dark-page", "reading-lamp"


def written_in_guide(first: str) -> str:
    """Give an indented file of the guide by its first line."""
    found = re.search(rf"\n( +){re.escape(first)}\n(?:\1.*\n)+", GUIDE)
    assert found is not None
    return textwrap.dedent(found[0].strip("\n"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Follow the recipe: an empty folder, circuit, case, and a copied notebook."""
    lesson = tmp_path / "source" / LESSON
    circuits = tmp_path / "source" / "circuits"
    lesson.mkdir(parents=True)
    circuits.mkdir()
    (circuits / f"{CIRCUIT}.circuit.yaml").write_text(written_in_guide("format: circuit"), "utf-8")
    (lesson / f"{CASE}.case.yaml").write_text(written_in_guide("format: case"), "utf-8")
    text = json.dumps(pages.notebook("06-two-circuits-in-one-can"))
    (lesson / f"{LESSON}.ipynb").write_text(text.replace("foggy-window", CASE), "utf-8")
    return lesson


def test_circuit_and_case_of_the_recipe_pass_the_check(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder.parent / "circuits" / f"{CIRCUIT}.circuit.yaml")]) == 0
    assert main(["check", str(folder / f"{CASE}.case.yaml")]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert "best path" in shown.out


def test_a_slip_on_the_way_is_named_by_its_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = folder / f"{CASE}.case.yaml"
    file.write_text(file.read_text("utf-8").replace("clamp: wire 2", "clamp: wire 9", 1), "utf-8")
    assert main(["check", str(file)]) == 2
    assert f"{file.name}:" in capsys.readouterr().err


def test_its_causes_are_enough_for_a_class(folder: Path) -> None:
    assert len(assignable(line_up(read_case(folder / f"{CASE}.case.yaml")))) >= 8


def test_the_lesson_can_be_released_and_is_worth_nothing_blank(
    folder: Path, tmp_path: Path
) -> None:
    home = Home(tmp_path / "ada", "ada")
    write_home(home)
    release_lesson(folder, home.folder / LESSON, b"a secret for tests")
    assert list(cases_in(home.folder / LESSON)) == [CASE]
    assert case_points(CASE, home.folder / LESSON) == 0.0
