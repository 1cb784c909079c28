"""The cases of later lessons, got ready by a program in the background while the student works.

It goes through them one by one, out of everybody's way, and shares the work with whoever opens one
before its turn (`grader.turn`). It ends with the program that began it, however that ends: it reads
from it, and nothing comes any more. What it has found by then is kept (`grader.prepared`). A case
that cannot be got ready is left to whoever opens it; its mistake stands in the log. Last comes the
machine code of curves.
"""

from __future__ import annotations

import _thread
import os
import signal
import subprocess
import sys
import threading
import traceback
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Self

from grader.casefile import read_case
from grader.prepared import prepare
from lessons.catalogue import CIRCUITS
from lessons.folder import Home
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit

LOG_FILE = "getting-ready.log"
NICE = 10  # of 19: whatever the student does goes before; ours
GRACE = 5.0  # seconds to stop by itself


class Readying:
    """Gets cases ready in the background. Use as a context manager: it is stopped on the way out.

    Parameters
    ----------
    home : Home
        Whose settings' folder takes the log.
    cases : sequence of Path
        Case files, in their order.
    """

    def __init__(self, home: Home, cases: Sequence[Path]) -> None:
        self.home, self.cases = home, cases
        self.log = home.settings / LOG_FILE
        self.program: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        """Start it, if there is anything to do; where it cannot be started there is none."""
        if self.cases:
            with suppress(OSError):
                self.home.settings.mkdir(parents=True, exist_ok=True)
                with self.log.open("wb") as log:
                    self.program = subprocess.Popen(  # noqa: S603 -- this very Python
                        self._command(),
                        cwd=self.home.folder,
                        stdin=subprocess.PIPE,
                        stdout=log,
                        stderr=subprocess.STDOUT,
                        creationflags=getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0),
                    )
        return self

    def __exit__(self, *_error: object) -> None:
        """Stop it: by saying no more, then by force."""
        program = self.program
        if program is None:
            return
        if program.stdin is not None:
            with suppress(OSError):
                program.stdin.close()
        try:
            with suppress(subprocess.TimeoutExpired):
                program.wait(GRACE)
        finally:
            if program.poll() is None:
                program.kill()
                program.wait()

    def _command(self) -> list[str]:
        return [sys.executable, "-m", "lessons.readying", *map(str, self.cases)]


def main(cases: Sequence[str]) -> int:
    """Get cases ready, until nothing can be read from standard input any more."""
    if hasattr(os, "nice"):
        os.nice(NICE)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with suppress(KeyboardInterrupt):
        threading.Thread(target=_stop_with_input, daemon=True).start()
        for case in cases:
            get_ready(Path(case))
        if cases:
            draw_a_curve()
    return 0


def get_ready(case: Path) -> None:
    """Get one case ready, or say what is wrong."""
    try:
        prepare(read_case(case))
    except Exception:  # noqa: BLE001 -- nobody waits here: the next case may be sound
        sys.stderr.write(f"{case}:\n{traceback.format_exc()}")
        sys.stderr.flush()


def draw_a_curve() -> None:
    """Have the machine code of curves made, once an installation, and kept beside its source.

    It takes a minute; whoever takes the oscilloscope first would wait for it.
    """
    look = {"scope": {"A": ["B1.+", "B1.-"]}, "time": "1 ms", "while": {"bench switch": "on"}}
    Bench(read_circuit(CIRCUITS / "first-bench.circuit.yaml")).do(action_from_json(look))


def _stop_with_input() -> None:
    """Interrupt the work once whoever began it has ended."""
    while os.read(sys.stdin.fileno(), 1):  # no buffer: its lock would be in the way of an end
        pass
    _thread.interrupt_main()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
