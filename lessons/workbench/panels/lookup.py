"""Two pages to look things up: where things are in the vehicle, and every connector's face.

A circuit file gives places by name and nothing else, so the map stands each place in the third of
the vehicle that its name tells of, and in the middle where it tells of none: a map of the words,
and it says so.
"""

from __future__ import annotations

import re
from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.panels.handling import cautions_before
from lessons.workbench.panels.sight import face
from lessons.workbench.words import owner, point_words, wire_ends
from sim.access import wire_places
from sim.circuit import BODY, Circuit
from sim.language import msg, say
from sim.parts import FAMILIES

#: Zone -> words of a place's name that put it there; the first zone that fits.
ZONES = (
    ("rear", r"rear|tail|tailgate|boot|trunk|lid|hinge|load|bed|beam|axle|kitchen|bench|gooseneck"),
    ("front", r"engine|bumper|front|wing|gearbox|battery|grille|wheel arch|headlamp|bulkhead"),
    (
        "cabin",
        r"dash|steering|pedals?|fuse|relay|console|glovebox|roof|seat|switch|cab|door|sill|windscreen",
    ),
)
MIDDLE = msg("elsewhere")
ORDER = (msg("front"), msg("cabin"), MIDDLE, msg("rear"))


def map_view(desk: Desk) -> dict[str, Any]:
    """Return the places by zone, and how many wires run from one place to another."""
    circuit = desk.circuit
    zones: dict[str, list[str]] = {zone: [] for zone in ORDER}
    for name in circuit.places:
        zones[zone_of(name)].append(name)
    return {
        "zones": [
            {"name": zone, "title": say(zone), "places": held}
            for zone, held in zones.items()
            if held
        ],
        "looms": [[*pair, count] for pair, count in looms(circuit).items()],
    }


def zone_of(place: str) -> str:
    """Return the part of the vehicle that a place's name tells of."""
    found = (zone for zone, words in ZONES if re.search(rf"\b(?:{words})\b", place))
    return next(found, MIDDLE)


def looms(circuit: Circuit) -> dict[tuple[str, str], int]:
    """Return pairs of places -> number of wires from one to the other."""
    counts: dict[tuple[str, str], int] = {}
    for name, part in circuit.parts.items():
        places = wire_places(circuit, name) if part.kind == "wire" else ()
        if len(places) == 2:  # noqa: PLR2004 -- a wire has two ends
            pair = (min(places), max(places))
            counts[pair] = counts.get(pair, 0) + 1
    return counts


def connectors_view(desk: Desk) -> dict[str, Any]:
    """Return every part that comes apart, with what is said before any of them is touched."""
    parts = connectors(desk)
    offers = [offer for part in parts for offer in part["offers"]]
    return {"parts": parts, "cautions": cautions_before(offers)}


def connectors(desk: Desk) -> list[dict[str, Any]]:
    """Return every part that comes apart, with each pin's wires and where they go."""
    circuit = desk.circuit
    found = []
    for part in circuit.parts.values():
        family = FAMILIES[part.kind]
        if part.kind == "wire" or not (family.separable or family.removable):
            continue
        drawn = face(desk, part)
        for terminal in (*drawn["harness"], *drawn["own"]):
            for wire in terminal["wires"]:
                wire["to"] = _far_end(circuit, wire["name"], terminal["point"])
        found.append(drawn)
    return found


def _far_end(circuit: Circuit, wire: str, point: str) -> str:
    """Return in words where a wire goes from a point."""
    first, last = wire_ends(circuit, circuit.parts[wire])
    far = last if point == first else first
    place = "" if far == BODY else circuit.parts[owner(far)].at
    words = point_words(circuit, far)
    return say("{point} ({place})", point=words, place=place) if place else words
