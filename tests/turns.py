"""What is asked of some in the ordinary line, and of all in the long one."""

from collections.abc import Sequence
from pathlib import Path

import pytest


def by_turns(files: Sequence[Path], every: int) -> list:
    """Give files as parameters: one of so many for the ordinary line, the others marked `long`.

    For comparisons of the whole solver, whose mistakes show on any circuit; what a circuit's own
    file can get wrong is asked of all of them in the ordinary line.
    """
    return [
        pytest.param(file, id=name, marks=() if number % every == 1 else pytest.mark.long)
        for number, file in enumerate(files)
        for name in [file.name.partition(".")[0]]
    ]
