"""The diagram: paper to think with. Drawn once from the circuit; leads and handling lie on top."""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.words import point_words
from sim.access import probe_points
from sim.circuit import Circuit
from sim.diagram import draw


def drawing(circuit: Circuit) -> dict[str, Any]:
    """Return the diagram as SVG with where every point and part lies on it."""
    drawn = draw(circuit)
    return {
        "svg": drawn.svg,
        "width": drawn.width,
        "height": drawn.height,
        "points": {name: list(at) for name, at in drawn.points.items()},
        "parts": {name: list(box) for name, box in drawn.parts.items()},
    }


def diagram_view(desk: Desk) -> dict[str, Any]:
    """Return which points leads can be put on now, and what is drawn as apart."""
    circuit, situation = desk.circuit, desk.situation
    points = probe_points(circuit, situation.apart).values()
    return {
        "points": [[p.name, point_words(circuit, p.name, situation.apart)] for p in points],
        "apart": list(situation.apart),
        "swapped": [list(pair) for pair in situation.swapped],
    }
