"""What tests/conftest.py gives: a program that is missing skips on a laptop and fails in CI."""

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.conftest import BENCHMARKS, DEAREST, TESTS, pytest_collection_modifyitems

TOP = TESTS.parent


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


@dataclass
class Collected:
    """A test as pytest has found it, as far as our settings look at it."""

    path: Path
    fixturenames: tuple[str, ...] = ()
    markers: list[str] = field(default_factory=list)

    def add_marker(self, name: str) -> None:
        self.markers.append(name)


def collected(*places: str) -> list[Collected]:
    """Give tests of these files, as our settings order and mark them."""
    found = [Collected(TESTS / place) for place in places]
    pytest_collection_modifyitems(found)
    return found


def test_markers_follow_from_what_a_test_takes_and_where_it_stands() -> None:
    seen, plain = Collected(TESTS / "sim" / "a.py", ("chromium",)), Collected(TESTS / "a.py")
    measured = Collected(BENCHMARKS / "test_study.py", ("say",))
    pytest_collection_modifyitems([seen, plain, measured])
    assert [one.markers for one in (seen, plain, measured)] == [
        ["browser"],
        [],
        ["benchmark_study"],
    ]


def test_dear_files_begin_first() -> None:
    places = ("test_asking.py", "course/test_b.py", "course/test_a.py", "sim/test_z.py")
    found = collected(*places, DEAREST[0].removeprefix("tests/"))
    assert [one.path.relative_to(TESTS).as_posix() for one in found] == [
        DEAREST[0].removeprefix("tests/"),
        "course/test_b.py",
        "course/test_a.py",
        "test_asking.py",
        "sim/test_z.py",
    ]


def test_folders_that_share_a_setup_stay_whole(folder: Path) -> None:
    course = folder / "tests" / "course"
    course.mkdir(parents=True)
    for name in ("test_a.py", "test_b.py"):
        (course / name).write_text("def test_class(): pass\n")
    code, shown = run(folder, "-n", "2", "-v", ci="")
    assert code == 0
    assert len(set(re.findall(r"\[(gw\d)\].* tests/course/test_[ab]", shown))) == 1


def test_every_file_that_is_to_begin_first_is_there() -> None:
    assert [one for one in DEAREST if not (TOP / one).exists()] == []
