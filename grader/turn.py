"""Whose turn it is to work something out: one program at a time, the others wait for what it finds.

A lock of the operating system on a file beside the one that will hold the result. It goes with the
program that holds it, however that ends, so that nobody waits for a program that is no more. Where
a file cannot be made, or the file system knows no locks, there are no turns: the work is done
twice, which is slow but no harm.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

BETWEEN = 0.1  # s between two tries to get the turn; ours

if sys.platform == "win32":
    import msvcrt

    def _lock(number: int) -> None:
        """Lock an open file, or raise at once."""
        msvcrt.locking(number, msvcrt.LK_NBLCK, 1)

    TAKEN = PermissionError
else:
    import fcntl

    def _lock(number: int) -> None:
        """Lock an open file, or raise at once."""
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)

    TAKEN = BlockingIOError


@contextmanager
def turn(file: Path, waiting: Callable[[], None] | None = None) -> Iterator[None]:
    """Hold the turn at working out what a file shall hold; whoever has waited looks there first.

    Parameters
    ----------
    file : Path
    waiting : callable, optional
        Is called again and again while somebody else has the turn.
    """
    lock = file.with_name(f"{file.name}.turn")
    number = _taken(lock, waiting)
    try:
        yield
    finally:
        if number is not None:
            with suppress(OSError):  # on Windows where somebody else has opened it: theirs now
                lock.unlink()
            os.close(number)
            if sys.platform == "win32":
                with suppress(OSError):
                    lock.unlink()


def _taken(lock: Path, waiting: Callable[[], None] | None) -> int | None:
    """Return the open file that is locked; None where there are no turns."""
    while True:
        try:
            lock.parent.mkdir(parents=True, exist_ok=True)
            number = os.open(lock, os.O_RDWR | os.O_CREAT)
        except OSError:
            return None
        try:
            _lock(number)
        except TAKEN:
            os.close(number)
            if waiting is not None:
                waiting()
            time.sleep(BETWEEN)
            continue
        except OSError:
            os.close(number)
            return None
        if os.fstat(number).st_nlink:
            return number
        os.close(number)  # whoever had the turn has removed the file: there is another, or none
