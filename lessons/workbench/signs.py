"""Signs of life: while the kernel works on a message, the page hears now and then that it does.

The kernel does one message after the other, and a page that hears nothing cannot know a long piece
of work from a kernel that is gone. So a thread beside the work says that it goes on; it ends with
the work, and with the kernel.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import copy_context
from threading import Event, Thread
from typing import Self

#: s between two signs (ours); the page waits three times as long before it says there is no answer.
EVERY = 2.0


class Signs:
    """Tells, every few seconds, that something is being worked on. Use as a context manager.

    Parameters
    ----------
    tell : callable
        Is called from another thread, in the language spoken here.
    every : float
        Seconds before the first sign, and between two.
    """

    def __init__(self, tell: Callable[[], None], every: float = EVERY) -> None:
        self.tell, self.every = tell, every
        self._over = Event()
        self._thread = Thread(
            target=copy_context().run, args=(self._go_on,), name="signs of life", daemon=True
        )

    def __enter__(self) -> Self:
        """Begin."""
        self._thread.start()
        return self

    def __exit__(self, *_error: object) -> None:
        """End; no sign comes after this."""
        self._over.set()
        self._thread.join()

    def _go_on(self) -> None:
        while not self._over.wait(self.every):
            self.tell()
