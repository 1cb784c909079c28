"""`halfsplit schema circuit`, `halfsplit schema case`: what an editor needs to help with a file."""

from __future__ import annotations

import argparse
import json

from grader.caseschema import case_schema
from sim.circuitschema import circuit_schema


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "schema", help="print the JSON Schema of circuit or case files, for an editor"
    )
    parser.add_argument(
        "form", metavar="FORMAT", choices=("circuit", "case"), help="circuit or case"
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the schema of a format."""
    schema = circuit_schema() if arguments.form == "circuit" else case_schema()
    print(json.dumps(schema, indent=1, ensure_ascii=False))
    return 0
