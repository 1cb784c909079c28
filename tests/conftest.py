"""What every test may ask for: programs from outside, and how hypothesis looks for examples."""

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

IN_CI = os.environ.get("CI") == "true"
BENCHMARKS = Path(__file__).parent / "benchmarks"

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


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Give a worker whole files, and one of them all of `tests/course`: one class graded once."""
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 -- a run without workers has none

    class Whole(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            scope = super()._split_scope(nodeid)
            return "tests/course" if scope.startswith("tests/course/") else scope

    return Whole(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Set the markers that follow from where a test stands and what it takes."""
    for item in items:
        if BENCHMARKS in item.path.parents:
            item.add_marker("benchmark_study")
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
