"""No bench is left open by a test."""

from collections.abc import Iterator

import pytest

from lessons.workbench import Workbench


@pytest.fixture(autouse=True)
def at_rest() -> Iterator[None]:
    """Close the records of the benches that a test has left open."""
    yield
    for bench in list(Workbench.at_work.values()):
        bench.rest()
