"""What is seen at the chosen place: parts with their terminals, wires, and what hands can do there.

Only what anybody would see who has read the papers, plus what the student has done and found:
never what only a look or a reading would tell.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.panels.offers import cautions_of, offer
from lessons.workbench.panels.places import felt_at, parts_at
from lessons.workbench.words import (
    SIDES,
    part_title,
    pin_of,
    point_words,
    reading_words,
    wire_words,
    wires_at,
)
from sim.access import ProbePoint, probe_points
from sim.circuit import Circuit, Part
from sim.parts import FAMILIES
from sim.parts.family import own_side


def sight_view(desk: Desk) -> dict[str, Any]:
    """Return the chosen place as it is drawn."""
    circuit, situation, name = desk.circuit, desk.situation, desk.hands.place
    place = circuit.places[name]
    here = [face(desk, part) for part in parts_at(circuit, name)]
    near = [_near(desk, part) for part in felt_at(circuit, name)]
    offers = [o for part in (*here, *near) for o in part["offers"]]
    return {
        "place": name,
        "note": place.note,
        "been": name in situation.reached,
        "look": offer(circuit, situation, "Look around", {"look": name}),
        "seen": found(desk, "look", name),
        "parts": here,
        "near": near,
        "cautions": _cautions(desk, [o["do"] for o in offers]),
    }


def _near(desk: Desk, part: Part) -> dict[str, Any]:
    """Return a part that can be felt from here but is wired up elsewhere."""
    return {
        "name": part.name,
        "title": part_title(desk.circuit, part),
        "at": part.at,
        "offers": [_feel(desk, part)],
        "felt": found(desk, "feel", part.name),
    }


def face(desk: Desk, part: Part) -> dict[str, Any]:
    """Return one part: its terminals on both sides, how it stands, what can be done to it."""
    circuit, situation = desk.circuit, desk.situation
    points = probe_points(circuit, situation.apart)
    harness, own = point_names(part)
    return {
        "name": part.name,
        "kind": part.kind,
        "title": part_title(circuit, part),
        "sides": list(SIDES.get(part.kind, ("", ""))),
        "apart": part.name in situation.apart,
        "state": state_words(desk, part),
        "rating": part.number("rating") if "rating" in part.values else 0,
        "harness": [_terminal(desk, point, points) for point in harness],
        "own": [_terminal(desk, point, points) for point in own],
        "offers": handling(desk, part),
        "listen": listening(desk, part),
        "felt": found(desk, "feel", part.name),
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


def state_words(desk: Desk, part: Part) -> str:
    """Return how a part stands, empty where it stands as it should."""
    situation, said = desk.situation, []
    if part.name in situation.apart:
        said.append("pulled out" if FAMILIES[part.kind].removable else "unplugged")
    for pair in situation.swapped:
        if part.name in pair:
            other = pair[1] if pair[0] == part.name else pair[0]
            said.append(f"{other} sits in this socket")
    if part.name in situation.renewed:
        said.append("new fuse fitted")
    return ", ".join(said)


def handling(desk: Desk, part: Part) -> list[dict[str, Any]]:
    """Return what hands can do to a part, priced from here."""
    circuit, situation = desk.circuit, desk.situation
    family, apart = FAMILIES[part.kind], part.name in situation.apart
    wanted: list[tuple[str, dict[str, Any]]] = []
    if family.separable:
        verb = "plug" if apart else "unplug"
        label = "Plug together" if apart else "Unplug"
        wanted.append((label, {verb: part.name}))
    if family.removable:
        verb = "insert" if apart else "pull"
        wanted.append(("Put back" if apart else "Pull out", {verb: part.name}))
    if part.kind == "blade fuse":
        wanted.append(("Fit a new one", {"renew": part.name}))
    for other in likes(circuit, part):
        back = (min(part.name, other), max(part.name, other)) in situation.swapped
        label = f"Swap back with {other}" if back else f"Swap with {other}"
        wanted.append((label, {"swap": [part.name, other]}))
    offers = [offer(circuit, situation, label, do) for label, do in wanted]
    return [*offers[:1], _feel(desk, part), *offers[1:]]


def _feel(desk: Desk, part: Part) -> dict[str, Any]:
    return offer(desk.circuit, desk.situation, "Feel", {"feel": part.name})


def likes(circuit: Circuit, part: Part) -> list[str]:
    """Return the parts that this one can be exchanged with."""
    if part.kind != "relay":
        return []
    return [
        other.name
        for other in circuit.parts.values()
        if other.kind == "relay"
        and (other.values["like"] == part.name or part.values["like"] == other.name)
    ]


def listening(desk: Desk, part: Part) -> list[dict[str, Any]]:
    """Return every way of listening to a relay: one control put from where it is to elsewhere."""
    if part.kind != "relay":
        return []
    circuit, situation = desk.circuit, desk.situation
    return [
        offer(
            circuit,
            situation,
            f"{control.name} {position}",
            {"listen": part.name, "set": {control.name: position}},
        )
        for control in circuit.controls.values()
        for position in control.positions
        if position != situation.position(circuit, control.name)
    ]


def found(desk: Desk, verb: str, target: str) -> str:
    """Return what the student last found by looking or feeling there; empty if never."""
    for entry in reversed(desk.entries):
        if entry.kind == "act" and entry.data["do"].get(verb) == target:
            return reading_words(entry.data["shown"])
    return ""


def _cautions(desk: Desk, offered: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the cautions that go with what is offered, each once, with the verbs it is for."""
    verbs: dict[str, list[str]] = {}
    for do in offered:
        for caution in cautions_of(desk.circuit, desk.situation, do):
            verb = VERB_WORDS[next(iter(do))]
            said = verbs.setdefault(caution.text, [])
            if verb not in said:
                said.append(verb)
    return [{"when": f"Before you {' or '.join(v)}", "text": text} for text, v in verbs.items()]


VERB_WORDS = {
    "unplug": "unplug",
    "plug": "plug in",
    "pull": "pull out",
    "insert": "put back",
    "renew": "fit a new one",
    "swap": "swap",
    "feel": "feel",
}
