"""`halfsplit policy FILE`: the least expected minutes of a policy problem, as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from grader.errors import ProblemError

#: Exit code for a mistake in what the command was given.
REFUSED = 2


def add_to(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("policy", help="solve a policy problem given as JSON")
    parser.add_argument("problem", metavar="FILE", help="the problem; - reads standard input")
    parser.set_defaults(run=lambda arguments: run_policy(arguments.problem))


def run_policy(source: str) -> int:
    """Solve a policy problem and print the policy on standard output.

    Parameters
    ----------
    source : str
        Path of a policy problem in JSON, or ``"-"`` for standard input.

    Returns
    -------
    int
        Exit code: 0, or 2 where the file cannot be read or the problem is malformed, with one line
        about it on standard error.
    """
    from grader.policy import solve_problem
    from grader.problem import read_problem

    name = "standard input" if source == "-" else source
    try:
        policy = solve_problem(read_problem(_read(source)))
    except ProblemError as error:
        reason = str(error)
    except UnicodeDecodeError as error:
        reason = f"not UTF-8 text at byte {error.start}; save it as UTF-8"
    except OSError as error:
        reason = f"cannot be read: {error.strerror or error}"
    else:
        print(json.dumps(policy, ensure_ascii=False))
        return 0
    print(f"halfsplit policy: {name}: {reason}", file=sys.stderr)
    return REFUSED


def _read(source: str) -> str:
    if source == "-":
        return sys.stdin.read()
    return Path(source).read_text(encoding="utf-8-sig")
