"""The instrument in the hand: how it is set, where its leads go, what a reading takes.

Everything follows from what the instrument's own verb asks (`lessons.workbench.kit`).
"""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.hands import clampable, parts_named
from lessons.workbench.kit import TRIGGER, Knob, kit
from lessons.workbench.panels.offers import cautions_of, offer
from lessons.workbench.panels.scan import held_words, items_of
from lessons.workbench.words import (
    UNITS,
    capital,
    owner,
    part_title,
    point_words,
    run_words,
    wire_words,
)
from sim.access import probe_points, wire_places
from sim.action import action_from_json
from sim.circuit import BODY, Circuit
from sim.diagnosis.vehicle import parts_with_unit
from sim.errors import SimError
from sim.handling import check
from sim.instruments.form import Ask
from sim.instruments.registry import VERBS
from sim.language import msg, say, say_in
from sim.situation import Situation

#: Knob -> what stands beside it.
KNOBS = {
    "measure": msg("Function"),
    "scan": msg("Task"),
    "what": msg("Which"),
    "at": msg("Hold at"),
    "over": msg("Over"),
    "of": msg("Current"),
    "fuse": msg("Its fuse"),
    "load": msg("Load"),
    "conductance": msg("Battery's rating"),
    "time": msg("Screen width"),
    "trigger channel": msg("Trigger on"),
    "trigger level": msg("Trigger level"),
    "trigger slope": msg("Slope"),
}
#: Knob -> what it says where it is left alone.
UNSET = {
    "of": msg("DC"),
    "fuse": msg("15 A, as it is"),
    "trigger channel": msg("no trigger"),
}
#: Words of knobs that are said otherwise in the shop.
WORDS = {
    "volts": msg("V DC"),
    "AC volts": msg("V AC"),
    "ohms": msg("Ω"),
    "continuity": msg("beeper"),
    "amps": msg("A DC, 10 A jack"),
    "milliamps": msg("mA DC, mA jack"),
    "hertz": msg("Hz"),
    "duty": msg("duty %"),
}
#: What a tool is pointed at, or asks -> the words beside the choice, and those of none.
AIMED = {
    "name": (msg("Pointed at"), msg("nothing yet")),
    "unit": (msg("Ask"), msg("all units")),
}
#: Task of a scan tool -> what the button says.
DOING = {
    "clear": msg("Clear the codes"),
    "hold": msg("Hold it"),
    "release": msg("Let it go"),
    "routine": msg("Start it"),
    "graph": msg("Record the graph"),
}
EXTRAS = {"zero": msg("Zero"), "jack": msg("Red lead's jack")}
NONE, TAKE = msg("none"), msg("Take the reading")


def meter_view(desk: Desk) -> dict[str, Any]:
    """Return the instrument as it is held, what its next reading takes, and why it cannot be."""
    circuit, situation, hands = desk.circuit, desk.situation, desk.hands
    tool = hands.tool
    wanted = {ask.kind: ask for ask in tool.wanted(hands.word)}
    said = {ask.key or tool.verb for ask in tool.wanted(hands.word)} | {*TRIGGER}
    view: dict[str, Any] = {
        "instruments": [
            {"key": key, "label": say_in("instrument", one.label)} for key, one in kit().items()
        ],
        "instrument": hands.instrument,
        "label": say_in("instrument", tool.label),
        "lead": hands.next_end,
        "knobs": [_knob(desk, knob) for knob in tool.knobs if knob.name in said],
        "ends": [_end(desk, end) for end in tool.ends],
        "channels": [_channel(desk, name) for name in tool.channels],
        "points": point_groups(desk),
        "jaws": list(hands.wires) if tool.has("wires") else None,
        "wires": [_wire(circuit, n) for n in clampable(circuit)] if _clamps(desk) else [],
        "aim": hands.aim if _aims(desk) else None,
        "aimed": [say(text) for text in _aimed(wanted.get("unit"))],
        "parts": [[n, _part(circuit, n)] for n in _aims(desk)],
        "during": _during(desk) if "while" in wanted else None,
        "extras": [_extra(desk, verb) for verb in extras_of(desk)],
        "standing": [*_standing(situation), *held_words(desk.entries)],
        "bridge": [point_words(circuit, end, situation.apart) for end in situation.bridge],
        "view": hands.view,
        "predict": getattr(desk, "predict", False),
        "reads": not tool.has("tips"),
        "offer": None,
        "cautions": [],
        "problem": "",
    }
    return {**view, **_next_reading(desk)}


def _aims(desk: Desk) -> list[str]:
    """Return the parts that what is in the hand can be pointed at, or asks."""
    if desk.hands.tool.has("unit"):
        return [part.name for part in parts_with_unit(desk.circuit)]
    return list(parts_named(desk.circuit)) if desk.hands.tool.has("name") else []


def _clamps(desk: Desk) -> bool:
    return desk.hands.tool.has("wires") or bool(desk.hands.tool.channels)


def _aimed(unit: Ask | None) -> tuple[str, str]:
    if unit is None:
        return AIMED["name"]
    return AIMED["unit"] if not unit.needed else (AIMED["unit"][0], msg("choose a unit"))


def _knob(desk: Desk, knob: Knob) -> dict[str, Any]:
    if knob.name == "what":
        return _item(desk, knob)
    words = [
        [word, say(WORDS.get(word, word or UNSET.get(knob.name, NONE)))] for word in knob.words
    ]
    return {
        "name": knob.name,
        "label": say(KNOBS[knob.name]) if knob.name in KNOBS else capital(say(knob.name)),
        "words": words,
        "now": desk.hands.knob(knob.name),
        "free": knob.free,
    }


def _item(desk: Desk, knob: Knob) -> dict[str, Any]:
    names = items_of(desk.circuit, desk.hands.word, desk.hands.aim)
    none = say("choose") if names else say("nothing here that it could do")
    return {
        "name": knob.name,
        "label": say(KNOBS[knob.name]),
        "words": [
            ["", none if desk.hands.aim else say("choose a unit first")],
            *([n, say(n)] for n in names),
        ],
        "now": desk.hands.knob(knob.name),
        "free": False,
    }


def _channel(desk: Desk, name: str) -> dict[str, Any]:
    return {"name": name, "clamp": desk.hands.points.get(f"{name} clamp", "")}


def _during(desk: Desk) -> dict[str, Any]:
    """Return what can be operated while a reading is taken, and what is."""
    circuit, situation = desk.circuit, desk.situation
    choices = [
        [control.name, position]
        for control in circuit.controls.values()
        for position in control.positions
        if position != situation.position(circuit, control.name)
    ]
    now = [list(pair) for pair in desk.hands.during]
    return {"choices": choices, "now": now[0] if now else []}


def extras_of(desk: Desk) -> tuple[str, ...]:
    """Return the verbs that set the instrument in the hand; the clamp is zeroed as the meter is."""
    own = desk.hands.tool.extras
    return own or (("zero",) if desk.hands.tool.has("wires") else ())


def _extra(desk: Desk, verb: str) -> dict[str, Any]:
    words = next(ask.words for ask in VERBS[verb].form.asks)
    if verb == "zero":  # each zero stands at the instrument that has it
        words = tuple(
            w for w in words if w != ("leads" if desk.hands.tool.has("wires") else "clamp")
        )
    offers = [offer(desk.circuit, desk.situation, say(word), {verb: word}) for word in words]
    return {
        "verb": verb,
        "label": say(EXTRAS[verb]) if verb in EXTRAS else capital(say_in("verb", verb)),
        "offers": offers,
    }


def _standing(situation: Situation) -> list[str]:
    """Return how the meter stands where that is not as usual."""
    said = []
    if situation.jack:
        said.append(say("The red lead is in the {jack} jack.", jack=say(situation.jack)))
    if not situation.leads_zeroed:
        said.append(say("The leads are not zeroed: their own ohms are in the reading."))
    return said


def _next_reading(desk: Desk) -> dict[str, Any]:
    circuit, situation, hands = desk.circuit, desk.situation, desk.hands
    do, label = hands.action(), say(DOING.get(hands.word, TAKE))
    if hands.tool.has("tips"):
        label = say("Put the jumper on")
        if situation.bridge:
            do, label = {"unbridge": True}, say("Take the jumper off")
    if do is None:
        return {"problem": _missing(desk)}
    try:
        action = action_from_json(do)
        check(circuit, situation, action)
        return {
            "offer": offer(circuit, situation, label, do),
            "cautions": [
                {"text": say(caution.text), "against": caution.breached}
                for caution in cautions_of(circuit, situation, do)
            ],
        }
    except SimError as error:
        return {"problem": capital(str(error))}


def _missing(desk: Desk) -> str:
    hands = desk.hands
    if hands.tool.has("wires"):
        return say("Choose the wire that the clamp goes around.")
    if hands.tool.has("unit"):
        if hands.aim:
            return say("Choose what, and you can go.")
        return say("Choose the unit, and you can go.")
    if hands.tool.has("name"):
        return say("Choose the part to point it at.")
    if not any(hands.points.get(end) for end in hands.tool.ends):
        return say("Click two points, drag a lead to one, or choose them in the lists.")
    return say("One more point, and you can go.")


def _end(desk: Desk, key: str) -> dict[str, Any]:
    point = desk.hands.points.get(key, "")
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
    named = {"anywhere": say("anywhere")}
    return [{"place": named.get(p, p), "points": groups[p]} for p in order if groups.get(p)]


def _part(circuit: Circuit, name: str) -> str:
    return f"{name} {part_title(circuit, circuit.parts[name])}"


def _wire(circuit: Circuit, name: str) -> dict[str, Any]:
    part = circuit.parts[name]
    words = run_words(circuit, part)
    return {
        "name": name,
        "words": f"{name}, {wire_words(part)}: {words}",
        "places": list(wire_places(circuit, name)),
    }


def dial(value: str, unit: str, scale: str) -> dict[str, Any] | None:
    """Return where the needle of a read-out stands: a share of the range, None without a number.

    The needle of a negative reading goes over a scale with its zero in the middle; OL is at the
    stop.
    """
    try:
        full = float(scale)
        number = full if value == "OL" else float(value)
    except ValueError:
        return None
    shown = UNITS.get(unit, unit)
    low = -full if number < 0 else 0.0
    share = max(0.0, min(1.0, (number - low) / (full - low)))
    return {"low": f"{low:g}", "high": f"{full:g}", "unit": shown, "share": round(share, 4)}
