"""nbgrader imported once, and a fork of it for each command that is typed.

A command of nbgrader's takes some five seconds to import what it may need, and these tests type
more than a dozen. A fork has all that, and is otherwise the program as it is typed: it reads the
course's configuration, answers with its exit code, ends.

Started as a program of its own, in the course folder: each line it reads is a JSON list of the
words of a command and two files for what it says and complains; it answers with the exit code.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Self


class Warm:
    """The program, from the side of the tests. Use as a context manager."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self.folder, self.environment = folder, environment

    def __enter__(self) -> Self:
        """Begin to import; who types first waits for it."""
        self._program = subprocess.Popen(
            [sys.executable, __file__],
            cwd=self.folder,
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        return self

    def __exit__(self, *_error: object) -> None:
        """Let it end."""
        self._program.communicate()  # no more lines: it ends

    def run(self, words: tuple[str, ...]) -> subprocess.CompletedProcess[str]:
        """Type a command of nbgrader's."""
        with tempfile.TemporaryDirectory() as place:
            said, complained = Path(place, "said"), Path(place, "complained")
            order = json.dumps([words, str(said), str(complained)])
            print(order, file=self._program.stdin, flush=True)
            code = int(self._program.stdout.readline())
            texts = said.read_text("utf-8"), complained.read_text("utf-8")
            return subprocess.CompletedProcess(words, code, *texts)


def main() -> None:
    """Fork for each line; only a fork comes out of here with a command to do."""
    from nbgrader.apps.nbgraderapp import main as nbgrader  # noqa: PLC0415 -- not in the tests

    import grader.gradebook.config  # noqa: F401, PLC0415 -- the course's configuration asks for it

    for line in sys.stdin:
        words, *files = json.loads(line)
        child = os.fork()
        if not child:
            for number, name in enumerate(files, start=1):
                os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT, 0o600), number)
            sys.argv = words
            sys.exit(nbgrader())
        _child, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), flush=True)  # noqa: T201 -- this is the answer


if __name__ == "__main__":
    main()
