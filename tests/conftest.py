"""What every test may ask for: programs from outside, and how hypothesis looks for examples."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

IN_CI = os.environ.get("CI") == "true"
TESTS = Path(__file__).parent
BENCHMARKS = TESTS / "benchmarks"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]

#: Folders that one worker takes whole: one class graded once, one JupyterLab and one Chromium.
TOGETHER = ("tests/browser", "tests/course")
#: What begins first, so that no dear file is left over for one worker at the end. The first two
#: have machine code made, each its own half (search, solver), before anything needs both.
DEAREST = (
    "tests/grader/test_policy_published.py",
    "tests/sim/solver/test_residuals.py",
    *TOGETHER,
    "tests/sim/solver/test_batches.py",
    "tests/sim/solver/test_pairs.py",
    "tests/reference/test_ngspice.py",
    "tests/lessons/test_lessons.py",
    "tests/grader/test_human_paths.py",
    "tests/lessons/test_cases.py",
    "tests/sim/diagram/test_layout.py",
    "tests/lessons/test_circuits_faulty.py",
    "tests/grader/test_prepared.py",
    "tests/test_house.py",
    "tests/lessons/command/test_learn.py",
    "tests/lessons/test_coursefolder.py",
    "tests/sim/checks/test_whole.py",
    "tests/sim/instruments/test_contract.py",
)

# No test asserts a time, so neither does hypothesis; in CI the examples are the same in every run.
settings.register_profile(
    "house", deadline=None, derandomize=IN_CI, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("house")


def find_program(name: str, package: str, *, in_ci: bool = IN_CI) -> str:
    """Give the path of a program from outside; skip the test without it, or in CI fail it.

    Parameters
    ----------
    name
        The program as it is typed.
    package
        Debian's package that carries it.
    in_ci
        Whether the program has to be there.
    """
    path = shutil.which(name)
    if path is None:
        reason = f"needs {name}, which is not on the PATH (Debian: apt-get install {package})"
        if in_ci:
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    return path


@pytest.fixture(scope="session")
def ngspice() -> str:
    """Path of the circuit simulator that checks our solutions."""
    return find_program("ngspice", "ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of the browser that works the lessons."""
    return find_program("chromium", "chromium")


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[object]:
    """Give a headless Chromium of playwright's, one for all tests of a worker."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 -- few tests need it

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
        yield browser
        browser.close()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Give a worker whole files, or whole folders of `TOGETHER`, in the order of collection."""
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 -- a run without workers has none

    class Whole(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return scope_of(super()._split_scope(nodeid))

    config.option.loadscopereorder = False
    return Whole(config, log)


def scope_of(file: str) -> str:
    """Give what one worker takes whole: the file, or its folder."""
    return next((folder for folder in TOGETHER if file.startswith(f"{folder}/")), file)


def turn_of(path: Path) -> int:
    """Give the turn of a file: its place in `DEAREST`, or after them all."""
    scope = scope_of(path.relative_to(TESTS.parent).as_posix())
    return DEAREST.index(scope) if scope in DEAREST else len(DEAREST)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Set the markers that follow from where a test stands and what it takes; dear files first."""
    items.sort(key=lambda item: turn_of(item.path))
    for item in items:
        if BENCHMARKS in item.path.parents:
            item.add_marker("benchmark_study")
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
