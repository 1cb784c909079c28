"""What tests/conftest.py gives: a program that is missing skips on a laptop and fails in CI."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import DEAREST

TOP = Path(__file__).parent.parent


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Give a project with our settings and conftest, whose tests ask for both programs."""
    tests = tmp_path / "tests"
    (tests / "benchmarks").mkdir(parents=True)
    shutil.copy(TOP / "pyproject.toml", tmp_path)
    shutil.copy(TOP / "tests" / "conftest.py", tests)
    (tests / "benchmarks" / "test_study.py").write_text("def test_measures(): pass\n")
    asking = "def test_asks_for_{0}({0}): assert {0}.endswith('{0}')\n"
    (tests / "test_asking.py").write_text(asking.format("ngspice") + asking.format("chromium"))
    return tmp_path


def run(folder: Path, *arguments: str, ci: str) -> tuple[int, str]:
    """Run pytest in `folder` with nothing else on the PATH; give its exit code and what it says."""
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-n", "0", *arguments]
    environment = {**os.environ, "PATH": str(folder), "CI": ci}
    ran = subprocess.run(
        command, cwd=folder, env=environment, check=False, capture_output=True, text=True
    )
    return ran.returncode, ran.stdout


def install(folder: Path, name: str) -> None:
    """Put a program of that name on the PATH that :func:`run` sets."""
    program = folder / name
    program.write_text("")
    program.chmod(0o755)


def test_a_laptop_without_the_programs_skips_and_says_what_to_install(folder: Path) -> None:
    code, shown = run(folder, ci="")
    assert code == 0
    assert "2 skipped, 1 deselected" in shown
    assert "apt-get install ngspice" in shown
    assert "apt-get install chromium" in shown


def test_ci_without_the_programs_fails(folder: Path) -> None:
    code, shown = run(folder, ci="true")
    assert code == 1
    assert "1 deselected, 2 errors" in shown
    assert "apt-get install ngspice" in shown


@pytest.mark.skipif(sys.platform == "win32", reason="a program is found by its ending there")
def test_the_fixtures_give_the_path_of_the_program(folder: Path) -> None:
    install(folder, "ngspice")
    install(folder, "chromium")
    code, shown = run(folder, ci="true")
    assert code == 0
    assert "2 passed, 1 deselected" in shown


@pytest.mark.parametrize(
    ("marker", "chosen"),
    [("browser", "test_asks_for_chromium"), ("benchmark_study", "test_measures")],
)
def test_markers_follow_from_what_a_test_takes_and_where_it_stands(
    folder: Path, marker: str, chosen: str
) -> None:
    code, shown = run(folder, "-m", marker, "--collect-only", "-q", ci="")
    assert code == 0
    assert f"::{chosen}\n" in shown
    assert "1/3 tests collected (2 deselected)" in shown


def test_dear_files_begin_first_and_folders_that_share_a_setup_stay_whole(folder: Path) -> None:
    course, solver = folder / "tests" / "course", folder / "tests" / "sim" / "solver"
    for place in (course, solver):
        place.mkdir(parents=True)
    for name in ("test_a.py", "test_b.py"):
        (course / name).write_text("def test_class(): pass\n")
    (solver / "test_residuals.py").write_text("def test_laws(): pass\n")
    code, shown = run(folder, "--collect-only", "-q", "-m", "not benchmark_study", ci="")
    assert code == 0
    first, second, third, *rest = shown.splitlines()
    assert first == "tests/sim/solver/test_residuals.py::test_laws"
    assert [second, third] == [f"tests/course/test_{name}.py::test_class" for name in "ab"]
    assert all(line.startswith("tests/test_asking") for line in rest[:2])
    code, shown = run(folder, "-n", "2", "-v", "-m", "not benchmark_study", ci="")
    assert code == 0
    assert len(set(re.findall(r"\[(gw\d)\].* tests/course/test_[ab]", shown))) == 1


def test_every_file_that_is_to_begin_first_is_there() -> None:
    assert [one for one in DEAREST if not (TOP / one).exists()] == []
