"""The command line `halfsplit`: one subcommand a file.

Every bad input is one line on stderr and exit code 2.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from grader.errors import GraderError
from lessons.errors import LessonError
from sim.errors import SimError

COMMANDS = (
    "learn",
    "handin",
    "skill",
    "course",
    "work",
    "score",
    "replay",
    "check",
    "solve",
    "export",
    "draw",
    "parts",
    "schema",
    "policy",
    "serve-bus",
)
BAD_INPUT = 2


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> None:  # type: ignore[override]
        """Print one line and stop with exit code 2."""
        self.exit(BAD_INPUT, f"{self.prog}: {message}; see {self.prog} --help\n")


def build_parser() -> argparse.ArgumentParser:
    """Return the parser with all subcommands."""
    parser = _Parser(prog="halfsplit", description="Fault finding on simulated vehicle circuits.")
    subparsers = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in COMMANDS:
        import_module(f"lessons.command.{name.replace('-', '')}").add_to(subparsers)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a subcommand; return its exit code."""
    parsed = build_parser().parse_args(arguments)
    try:
        code = int(parsed.run(parsed))
        sys.stdout.flush()
    except (SimError, GraderError, LessonError) as error:
        sys.stderr.write(f"halfsplit {parsed.command}: {error}\n")
        return BAD_INPUT
    except BrokenPipeError:  # whoever reads has had enough; nothing more is to be flushed either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    return code
