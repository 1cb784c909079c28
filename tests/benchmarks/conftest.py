"""What every benchmark may ask for: a way to print its figures."""

from collections.abc import Callable

import pytest


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Callable[[str], None]:
    """Print a line, whatever pytest does with other output."""

    def write(text: str) -> None:
        with capsys.disabled():
            print(f"\n  {text}", end="", flush=True)  # noqa: T201 -- a benchmark's output

    return write
