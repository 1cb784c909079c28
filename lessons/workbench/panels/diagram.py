"""The diagram: paper to think with. Drawn once from the circuit; leads and handling lie on top."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import sim
from grader.contentkey import cache_folder, keep, key_of
from lessons.workbench.desk import Desk
from lessons.workbench.panels.sight import face
from lessons.workbench.words import part_title, point_words, run_words, wire_words
from sim.access import probe_points, wire_places
from sim.circuit import Circuit
from sim.diagram import draw
from sim.language import spoken

LAID_OUT = ("svg", "width", "height", "points", "parts", "wires", "texts")


def drawing(circuit: Circuit) -> dict[str, Any]:
    """Return the diagram as SVG with where every point and part lies on it, and what each is.

    To lay it out takes seconds on a large vehicle, so it is kept by content, in each language.
    """
    words = key_of(spoken(), sim, files="*.po")
    key = key_of(f"{words}|{circuit!r}", sim)
    file = cache_folder() / f"{circuit.name}-{key}.drawing.json"
    laid_out = _load(file)
    if laid_out is None:
        laid_out = _laid_out(circuit)
        keep(file, json.dumps(laid_out))
    return {**laid_out, "about": about(circuit)}


def _load(file: Path) -> dict[str, Any] | None:
    """Return what was laid out; None if it is not there or not whole."""
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    whole = isinstance(found, dict) and found.keys() == set(LAID_OUT)
    return found if whole else None


def _laid_out(circuit: Circuit) -> dict[str, Any]:
    drawn = draw(circuit)
    return {
        "svg": drawn.svg,
        "width": drawn.width,
        "height": drawn.height,
        "points": {name: list(at) for name, at in drawn.points.items()},
        "parts": {name: list(box) for name, box in drawn.parts.items()},
        "wires": {name: [list(at) for at in line] for name, line in drawn.wires.items()},
        "texts": [[round(n, 1) for n in writing.box] for writing in drawn.texts],
    }


def about(circuit: Circuit) -> dict[str, dict[str, Any]]:
    """Return what every part and wire is and where, in words: for search and for pointing at it."""
    found = {}
    for name, part in circuit.parts.items():
        if part.kind == "wire":
            ends = run_words(circuit, part)
            words, places = f"{wire_words(part)}, {ends}", list(wire_places(circuit, name))
        else:
            words, places = part_title(circuit, part), [part.at]
        found[name] = {"words": words, "places": [place for place in places if place]}
    return found


def diagram_view(desk: Desk) -> dict[str, Any]:
    """Return which points leads can be put on now, what is drawn as apart, and the chosen part."""
    circuit, situation = desk.circuit, desk.situation
    points = probe_points(circuit, situation.apart).values()
    chosen = circuit.parts.get(desk.hands.part)
    return {
        "points": [[p.name, point_words(circuit, p.name, situation.apart)] for p in points],
        "apart": list(situation.apart),
        "swapped": [list(pair) for pair in situation.swapped],
        "tried": list(situation.tried),
        "bridge": list(situation.bridge),
        "fuse": f"{situation.jumper_fuse:g} A",
        "face": face(desk, chosen) if chosen is not None else None,
    }
