"""What is seen at the chosen place: parts with their terminals, wires, and what hands can do there.

Only what anybody would see who has read the papers, plus what the student has done and found:
never what only a look or a reading would tell.
"""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.panels.handling import (
    at_part,
    at_place,
    at_wires,
    cautions_before,
    findings,
    found,
    listening,
    offered,
)
from lessons.workbench.panels.places import felt_at, parts_at
from lessons.workbench.words import (
    SIDES,
    owner,
    part_title,
    pin_of,
    point_words,
    wire_words,
    wires_at,
)
from sim.access import ProbePoint, probe_points
from sim.circuit import Part
from sim.language import msg, say
from sim.parts import FAMILIES
from sim.parts.family import Trigger, own_side


def sight_view(desk: Desk) -> dict[str, Any]:
    """Return the chosen place as it is drawn."""
    circuit, situation, name = desk.circuit, desk.situation, desk.hands.place
    place = circuit.places[name]
    here = [face(desk, part) for part in parts_at(circuit, name)]
    near = [_near(desk, part) for part in felt_at(circuit, name)]
    offers, wires = at_place(desk, name), at_wires(desk, name)
    all_offers = [*offers, *(o for one in (*here, *near, *wires) for o in one["offers"])]
    return {
        "place": name,
        "note": place.note,
        "been": name in situation.reached,
        "offers": offers,
        "seen": found(desk, "look", name),
        "felt": findings(desk, name),
        "parts": here,
        "near": near,
        "wires": wires,
        "cautions": cautions_before(all_offers),
    }


def _near(desk: Desk, part: Part) -> dict[str, Any]:
    """Return a part that can be felt from here but is wired up elsewhere."""
    return {
        "name": part.name,
        "title": part_title(desk.circuit, part),
        "at": part.at,
        "offers": offered(desk, part.name, ("feel", "touch")),
        "felt": findings(desk, part.name),
    }


def face(desk: Desk, part: Part) -> dict[str, Any]:
    """Return one part: its terminals on both sides, how it stands, what can be done to it."""
    circuit, situation = desk.circuit, desk.situation
    points = probe_points(circuit, situation.apart)
    harness, own = point_names(part)
    offers = at_part(desk, part)
    return {
        "name": part.name,
        "kind": part.kind,
        "title": part_title(circuit, part),
        "sides": [say(side) for side in SIDES.get(part.kind, ("", ""))],
        "apart": part.name in situation.apart,
        "state": state_words(desk, part),
        "rating": part.number("rating") if "rating" in part.values else 0,
        "harness": [_terminal(desk, point, points) for point in harness],
        "own": [_terminal(desk, point, points) for point in own],
        "at": part.at,
        "offers": offers,
        "cautions": cautions_before(offers),
        "listen": listening(desk, part),
        "felt": findings(desk, part.name),
    }


def point_names(part: Part) -> tuple[list[str], list[str]]:
    """Return the points of a part: those on the harness side, and those on its own side."""
    outer = "a" if part.kind == "connector" else ""
    pins = FAMILIES[part.kind].pins(part)
    harness = [f"{part.name}.{pin}{outer}" for pin in pins]
    one_sided = part.kind in ("battery", "fusible link", "ground stud")
    return harness, [] if one_sided else [own_side(part, pin, pins) for pin in pins]


def _terminal(desk: Desk, point: str, points: dict[str, ProbePoint]) -> dict[str, Any]:
    circuit = desk.circuit
    now = points.get(point)
    return {
        "point": point,
        "pin": pin_of(circuit, point),
        "words": point_words(circuit, point, desk.situation.apart),
        "open": now is not None,
        "back": now is not None and now.back_probed,
        "wires": [
            {
                "name": wire.name,
                "code": wire_words(wire),
                "colours": str(wire.values["colour"]).split("/"),
                "thick": wire.number("area") >= THICK,
            }
            for wire in wires_at(circuit, point)
        ],
    }


THICK = 2.5e-6  # m2, from which a wire is drawn thick
DOING = {
    Trigger.VIBRATION: msg("being shaken"),
    Trigger.HEAT: msg("warmed"),
    Trigger.MOISTURE: msg("wetted"),
}


def state_words(desk: Desk, part: Part) -> str:
    """Return how a part stands, empty where it stands as it should."""
    situation, said = desk.situation, []
    if part.name in situation.apart:
        said.append(say("pulled out") if FAMILIES[part.kind].removable else say("unplugged"))
    for pair in situation.swapped:
        if part.name in pair:
            other = pair[1] if pair[0] == part.name else pair[0]
            said.append(say("{part} sits in this socket", part=other))
    if part.name in situation.renewed:
        said.append(say("new fuse fitted"))
    if part.name in situation.tried:
        said.append(say("a known-good one is on its plug"))
    said += [say(DOING[trigger]) for name, trigger in situation.stressed if name == part.name]
    said += [say("jumper on it")] * any(owner(end) == part.name for end in situation.bridge)
    return ", ".join(said)
