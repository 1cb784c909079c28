"""The instrument in the hand: what it measures, where its leads go, what a reading takes."""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.hands import clampable
from lessons.workbench.panels.offers import cautions_of, offer
from lessons.workbench.words import owner, point_words, wire_ends, wire_words
from sim.access import probe_points, wire_places
from sim.circuit import BODY, Circuit
from sim.errors import ActionError

#: Instrument -> what its button says.
LABELS = {
    "volts": "Volts",
    "ohms": "Ohms",
    "amps": "Amps",
    "continuity": "Beeper",
    "diode": "Diode",
    "lamp": "Test lamp",
    "clamp": "Clamp",
    "jumper": "Jumper",
}


def meter_view(desk: Desk) -> dict[str, Any]:
    """Return the instrument as it is held, what its next reading takes, and why it cannot be."""
    circuit, situation, hands = desk.circuit, desk.situation, desk.hands
    view: dict[str, Any] = {
        "instruments": [{"key": key, "label": label} for key, label in LABELS.items()],
        "instrument": hands.instrument,
        "lead": hands.lead,
        "ends": [_end(desk, end) for end in hands.ends],
        "points": point_groups(desk),
        "wire": hands.wire,
        "wires": [_wire(circuit, name) for name in clampable(circuit)],
        "bridge": [point_words(circuit, end, situation.apart) for end in situation.bridge],
        "view": hands.view,
        "predict": getattr(desk, "predict", False),
        "offer": None,
        "cautions": [],
        "problem": "",
    }
    return {**view, **_next_reading(desk)}


def _next_reading(desk: Desk) -> dict[str, Any]:
    circuit, situation, hands = desk.circuit, desk.situation, desk.hands
    do, label = hands.action(), "Take the reading"
    if hands.instrument == "jumper":
        label = "Put the jumper on"
        if situation.bridge:
            do, label = {"unbridge": True}, "Take the jumper off"
    if do is None:
        return {"problem": _missing(desk)}
    try:
        return {
            "offer": offer(circuit, situation, label, do),
            "cautions": [
                {"text": caution.text, "against": caution.breached}
                for caution in cautions_of(circuit, situation, do)
            ],
        }
    except ActionError as error:
        return {"problem": str(error)}


def _missing(desk: Desk) -> str:
    hands = desk.hands
    if hands.instrument == "clamp":
        return "Choose the wire that the clamp goes around."
    if not any(getattr(hands, end) for end in hands.ends):
        return "Click two points, or choose them in the lists."
    return "One more point, and you can go."


def _end(desk: Desk, key: str) -> dict[str, Any]:
    point = getattr(desk.hands, key)
    resting = point in (desk.situation.red, desk.situation.black, *desk.situation.bridge)
    place = desk.circuit.parts[owner(point)].at if point not in ("", BODY) else ""
    return {
        "key": key,
        "point": point,
        "words": point_words(desk.circuit, point, desk.situation.apart),
        "place": place,
        "resting": bool(point) and resting,
    }


def point_groups(desk: Desk) -> list[dict[str, Any]]:
    """Return every point that can be reached now, by place, for the lists."""
    circuit, apart = desk.circuit, desk.situation.apart
    groups: dict[str, list[list[str]]] = {"anywhere": []}
    for point in probe_points(circuit, apart).values():
        words = point_words(circuit, point.name, apart)
        groups.setdefault(point.place or "anywhere", []).append([point.name, words])
    order = ["anywhere", *circuit.places]
    return [{"place": p, "points": groups[p]} for p in order if groups.get(p)]


def _wire(circuit: Circuit, name: str) -> dict[str, Any]:
    part = circuit.parts[name]
    words = " to ".join(point_words(circuit, end) for end in wire_ends(circuit, part))
    return {
        "name": name,
        "words": f"{name}, {wire_words(part)}: {words}",
        "places": list(wire_places(circuit, name)),
    }
