"""Where a point can be reached, and how many minutes it takes to get a lead or a hand there.

The labour to reach a place the first time, or to come back, is the circuit file's; leads that stay
where they are cost nothing. The figures for handling are ours: 0.2 min to move a lead, 0.5 min to
back-probe without spreading the terminal; waiting counts a tenth, because something else can be
done meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sim.circuit import BODY, Circuit, Part
from sim.errors import ActionError
from sim.language import msg, say
from sim.parts import FAMILIES
from sim.parts.family import own_side
from sim.situation import Situation

MOVE_LEAD = 0.2  # min
BACK_PROBE = 0.5  # min
WAITING_SHARE = 0.1
#: Minutes of handling by verb, besides places and leads.
HANDLING = {
    "clamp": 0.3,
    "look": 0.3,
    "feel": 0.2,
    "listen": 0.2,
    "watch": 0.2,
    "unplug": 0.3,
    "plug": 0.3,
    "pull": 0.3,
    "insert": 0.3,
    "renew": 0.5,
    "swap": 1.0,
    "unbridge": 0.2,
    "touch": 0.2,
    "smell": 0.1,
    "temperature": 0.3,
    "zero": 0.2,
    "jack": 0.1,
    "try": 1.0,
    "untry": 0.6,
    "load": 0.5,
    "conductance": 0.3,
    "scope": 1.0,
    "scan": 1.0,
}


@dataclass(frozen=True, slots=True)
class ProbePoint:
    """A point a lead can be put on now: at which place, and whether by back-probing."""

    name: str
    place: str
    back_probed: bool


def probe_points(circuit: Circuit, apart: Iterable[str] = ()) -> dict[str, ProbePoint]:
    """Return every point leads can be put on, with these parts unplugged or pulled."""
    pulled, found = set(apart), {BODY: ProbePoint(BODY, "", back_probed=False)}
    for part in circuit.parts.values():
        for point in _points_of(part, part.name in pulled):
            found[point.name] = point
    return found


def _points_of(part: Part, apart: bool) -> list[ProbePoint]:  # noqa: FBT001 -- one flag, private
    family = FAMILIES[part.kind]
    outer = "a" if part.kind == "connector" else ""
    both = part.kind not in ("battery", "fusible link", "ground stud")
    points = []
    for pin in family.pins(part) if family.probing != "hidden" else ():
        harness, own = f"{part.name}.{pin}{outer}", own_side(part, pin, family.pins(part))
        if apart or family.probing == "open":
            names = [(harness, False), (own, False)] if both else [(harness, False)]
        elif family.probing == "tops":
            names = [(own, False)]
        elif part.kind == "connector":
            names = [(harness, True), (own, True)]
        else:
            names = [(harness, True)]
        points += [ProbePoint(name, part.at, back) for name, back in names]
    return points


def lead_minutes(point: ProbePoint) -> float:
    """Return what it takes to put a lead on a point; the body is always beside you."""
    if point.name == BODY:
        return 0.0
    return BACK_PROBE if point.back_probed else MOVE_LEAD


def place_of(circuit: Circuit, name: str) -> str:
    """Return the place of a part or effect, or the name itself if it is a place."""
    if name in circuit.places:
        return name
    if name in circuit.parts:
        return circuit.parts[name].at
    return circuit.effects[name].place


def wire_places(circuit: Circuit, wire: str) -> tuple[str, ...]:
    """Return the places at which a wire can be clamped: those of its ends."""
    places = []
    for key in ("from", "to"):
        point = circuit.point(str(circuit.parts[wire].values[key]))
        if point != BODY:
            places.append(circuit.parts[point.partition(".")[0]].at)
    return tuple(dict.fromkeys(places))


def travel_minutes(circuit: Circuit, situation: Situation, places: Iterable[str]) -> float:
    """Return the minutes to get to places from where the hands are now."""
    total = 0.0
    for name in dict.fromkeys(places):
        if name in situation.here:
            continue
        place = circuit.places[name]
        been = name in situation.reached
        total += place.again_minutes if been else place.reach_minutes
    return total


def lead_moves(
    circuit: Circuit, situation: Situation, wanted: Sequence[str], resting: Sequence[str]
) -> tuple[list[str], float]:
    """Return the places and minutes of putting leads on points, from where they rest now.

    Raises
    ------
    ActionError
        A point that is not there, or that no lead can be put on now.
    """
    points = probe_points(circuit, situation.apart)
    places, handling = [], 0.0
    for written, now in zip(wanted, resting, strict=True):
        name = circuit.point(written)
        point = points.get(name)
        if point is None:
            raise ActionError(_unreachable(circuit, situation, written, name))
        if now == name:
            continue
        places.append(point.place)
        handling += lead_minutes(point)
    return places, handling


def _unreachable(circuit: Circuit, situation: Situation, written: str, name: str) -> str:
    part = circuit.parts.get(name.partition(".")[0])
    if part is None or name not in probe_points(circuit, circuit.parts):
        return say(
            "no lead can be put on {point}: there is no such point; see the diagram",
            point=repr(written),
        )
    if part.name in situation.apart:
        return say("no lead can be put on {point} now", point=repr(written))
    fitted = msg("no lead can be put on {point} while {part} is fitted; unplug it first")
    if FAMILIES[part.kind].removable:
        fitted = msg("no lead can be put on {point} while {part} is fitted; pull it first")
    return say(fitted, point=repr(written), part=part.name)


def leads_in_reach(situation: Situation, circuit: Circuit) -> Situation:
    """Return the bench with leads taken off points that are no longer in reach."""
    points = probe_points(circuit, situation.apart)
    red = situation.red if situation.red in points else ""
    black = situation.black if situation.black in points else ""
    return replace(situation, red=red, black=black)
