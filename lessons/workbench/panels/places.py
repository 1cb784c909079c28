"""Where the hands are: the places, the way to each, and which lead rests where."""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.kit import TIPS
from lessons.workbench.words import minutes_text, owner, part_title
from sim.access import travel_minutes
from sim.circuit import BODY, Circuit, Part
from sim.language import say

#: Kinds whose title says nothing that the name does not.
_BARE = ("blade fuse", "relay", "connector")


def places_view(desk: Desk) -> list[dict[str, Any]]:
    """Return every place with what it takes to get there from here.

    `leads` are the ends of the instrument in the hand, and those of the jumper while it is on.
    """
    circuit, situation, hands = desk.circuit, desk.situation, desk.hands
    resting = {end: hands.points.get(end, "") for end in hands.tool.ends}
    resting |= dict(zip(TIPS, situation.bridge, strict=False))
    return [
        {
            "name": place.name,
            "note": place.note,
            "holds": ", ".join(contents(circuit, place.name)),
            "minutes": minutes_text(travel_minutes(circuit, situation, (place.name,))),
            "here": place.name in situation.here,
            "been": place.name in situation.reached,
            "chosen": place.name == hands.place,
            "leads": [lead for lead, at in resting.items() if _place(circuit, at) == place.name],
        }
        for place in circuit.places.values()
    ]


def _place(circuit: Circuit, point: str) -> str:
    return circuit.parts[owner(point)].at if point not in ("", BODY) else ""


def parts_at(circuit: Circuit, place: str) -> list[Part]:
    """Return the parts, wires left out, that can be got at from a place."""
    return [p for p in circuit.parts.values() if p.kind != "wire" and p.at == place]


def felt_at(circuit: Circuit, place: str) -> list[Part]:
    """Return the parts that a hand reaches from a place although they are fitted elsewhere."""
    return [p for p in circuit.parts.values() if p.felt_at == place and p.at != place]


def contents(circuit: Circuit, place: str) -> list[str]:
    """Return what is at a place, in short words."""
    found = []
    for part in (*parts_at(circuit, place), *felt_at(circuit, place)):
        if part.kind in ("battery", "fusible link"):
            found.append(say("battery") if part.kind == "battery" else say("link"))
        elif part.kind in _BARE:
            found.append(part.name)
        else:
            found.append(f"{part_title(circuit, part)} {part.name}")
    return found
