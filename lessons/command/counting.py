"""How far a long piece of work has come: one line on the terminal, written over as it goes on.

It is for whoever waits, so it goes to the standard error, and only where that is a terminal: a file
or a pipe gets the results alone.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from grader.outcomes import Progress

ERASE = "\r\x1b[K"  # to the beginning of the line, and away with what is in it (ECMA-48, EL)


def count(what: str, done: int, of: int) -> None:
    """Write that `done` of `of` are done."""
    _write(f"{ERASE}{what}: {done} of {of} ...")


def readings_taken(progress: Progress) -> None:
    """Write how far the exploring of a case has come."""
    count("taking readings on all suspects", progress.done, progress.of)


def causes_played(worker: str, played: int, causes: int) -> None:
    """Write how many causes a worker has played."""
    count(f"playing causes, {worker}", played, causes)


def clear() -> None:
    """Take the line away before something else is written."""
    _write(ERASE)


@contextmanager
def cleared() -> Iterator[None]:
    """Take the line away at the end of a piece of work, even of one that is stopped."""
    try:
        yield
    finally:
        clear()


def _write(text: str) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(text)
        sys.stderr.flush()
