"""`halfsplit draw CIRCUIT`: the current-flow diagram of a circuit, as an SVG picture."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from lessons.catalogue import circuit_path
from sim.circuitfile import read_circuit
from sim.diagram import draw
from sim.errors import CircuitFileError


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("draw", help="draw a circuit's current-flow diagram as SVG")
    parser.add_argument(
        "circuit", metavar="CIRCUIT", help="id of a shipped circuit, or a circuit file"
    )
    parser.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="write the SVG there (default: print it)"
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Draw a circuit and write the picture."""
    drawing = draw(read_circuit(circuit_path(arguments.circuit)))
    if arguments.output is None:
        sys.stdout.write(drawing.svg + "\n")
        return 0
    try:
        arguments.output.write_text(drawing.svg + "\n", encoding="utf-8")
    except OSError as error:
        raise CircuitFileError(
            f"{arguments.output}: cannot be written ({error.strerror}); choose another --output"
        ) from error
    return 0
