"""What hands, eyes, nose and ears can do to a part, at a place, or to the whole vehicle.

Every verb whose action is a mere name is asked whether it can be done to this part or place as
things stand; what it refuses is not offered. A verb that is new in the list of instruments is
offered here without a line of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from grader.reasonwords import listed
from lessons.workbench.desk import Desk
from lessons.workbench.kit import kit
from lessons.workbench.panels.offers import cautions_of, offer
from lessons.workbench.words import capital, reading_words, wire_words
from sim.access import wire_places
from sim.action import action_from_json
from sim.circuit import Circuit, Part
from sim.errors import SimError
from sim.handling import check
from sim.instruments.registry import VERBS
from sim.language import msg, msg_in, say, say_in
from sim.network import EVERYTHING

#: Verb -> what its button says; others say the verb itself.
LABELS = {
    "unplug": msg("Unplug"),
    "plug": msg("Plug together"),
    "pull": msg("Pull out"),
    "insert": msg("Put back"),
    "renew": msg("Fit a new one"),
    "feel": msg("Feel"),
    "touch": msg("Fingers on it"),
    "try": msg("Try a known-good one"),
    "untry": msg("Plug the old one back"),
    "shake": msg("Keep shaking"),
    "warm": msg("Warm with hot air"),
    "wet": msg("Spray with water"),
    "leave": msg("Leave alone"),
    "look": msg("Look around"),
    "smell": msg("Smell"),
}
#: Verb -> what is read before a caution.
VERB_WORDS = {
    "plug": msg_in("verb", "plug in"),
    "pull": msg_in("verb", "pull out"),
    "insert": msg_in("verb", "put back"),
    "renew": msg_in("verb", "fit a new one"),
    "touch": msg_in("verb", "put fingers on it"),
    "try": msg_in("verb", "try another"),
    "untry": msg_in("verb", "plug the old one back"),
}
#: What is done often stands in sight, the rest one click away.
SELDOM = ("touch", "try", "shake", "warm", "wet")
#: Verb -> how what it found is introduced.
FOUND = {
    "feel": msg("You felt"),
    "touch": msg("Your fingers found"),
    "smell": msg("You smelled"),
}
WHOLE = ("shake", "warm", "wet", "leave")


def names_only(*, spoken: bool = False) -> Iterator[str]:
    """Yield the verbs whose action is a mere name, instruments in the hand left out.

    `spoken` gives those that take controls operated meanwhile instead.
    """
    for verb, one in VERBS.items():
        asks = [ask.kind for ask in one.form.asks]
        fits = asks == ["name", "while"] if spoken else asks[:1] == ["name"]
        if fits and verb not in kit():
            yield verb


def offered(desk: Desk, target: str, verbs: Iterable[str]) -> list[dict[str, Any]]:
    """Return what can be done to a target as things stand, priced from here."""
    found = []
    for verb in verbs:
        do = {verb: target}
        try:
            check(desk.circuit, desk.situation, action_from_json(do))
            found.append(
                _button(
                    desk, say(LABELS[verb]) if verb in LABELS else capital(say_in("verb", verb)), do
                )
            )
        except SimError:
            continue
    return found


def _button(desk: Desk, label: str, do: Mapping[str, Any]) -> dict[str, Any]:
    """Return a button with its cautions, and whether it lies under the lid."""
    warned = [say(one.text) for one in cautions_of(desk.circuit, desk.situation, do)]
    button = offer(desk.circuit, desk.situation, label, do)
    return {**button, "seldom": next(iter(do)) in SELDOM, "cautions": warned}


def at_part(desk: Desk, part: Part) -> list[dict[str, Any]]:
    """Return what hands can do to a part: what is done often first."""
    here = offered(desk, part.name, names_only())
    return [*sorted(here, key=lambda one: one["seldom"]), *_swaps(desk, part)]


def _swaps(desk: Desk, part: Part) -> list[dict[str, Any]]:
    circuit, situation = desk.circuit, desk.situation
    found = []
    for other in likes(circuit, part):
        back = (min(part.name, other), max(part.name, other)) in situation.swapped
        label = say("Swap back with {part}", part=other)
        if not back:
            label = say("Swap with {part}", part=other)
        found.append(_button(desk, label, {"swap": [part.name, other]}))
    return found


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


def at_place(desk: Desk, place: str) -> list[dict[str, Any]]:
    """Return what can be done at a place as a whole, looking around first."""
    return sorted(offered(desk, place, names_only()), key=lambda one: "look" not in one["do"])


def at_wires(desk: Desk, place: str) -> list[dict[str, Any]]:
    """Return the wires that run past a place, with what can be done to each."""
    circuit = desk.circuit
    wires = [n for n in circuit.parts if circuit.parts[n].kind == "wire"]
    return [
        {
            "name": name,
            "words": f"{name}, {wire_words(circuit.parts[name])}",
            "offers": offered(desk, name, WHOLE),
        }
        for name in wires
        if place in wire_places(circuit, name)
    ]


def on_the_whole(desk: Desk) -> list[dict[str, Any]]:
    """Return what can be done to the whole vehicle."""
    words = {
        "shake": msg("Drive a bad road"),
        "warm": msg("Warm it up in the sun"),
        "wet": msg("Turn a hose on it"),
        "leave": msg("Leave it alone again"),
    }
    found = offered(desk, EVERYTHING, WHOLE)
    return [{**one, "label": say(words[next(iter(one["do"]))])} for one in found]


def listening(desk: Desk, part: Part) -> list[dict[str, Any]]:
    """Return every way of listening to a part, or of a finger on it, while a control is moved."""
    if part.kind != "relay":
        return []
    circuit, situation = desk.circuit, desk.situation
    return [
        {
            **offer(
                circuit,
                situation,
                f"{control.name} {position}",
                {"listen": part.name, "set": {control.name: position}},
            ),
            "finger": offer(
                circuit,
                situation,
                "",
                {"touch": part.name, "while": {control.name: position}},
            ),
        }
        for control in circuit.controls.values()
        for position in control.positions
        if position != situation.position(circuit, control.name)
    ]


def found(desk: Desk, verb: str, target: str) -> str:
    """Return what the student last found there by this verb; empty if never."""
    for entry in reversed(desk.entries):
        if entry.kind == "act" and entry.data["do"].get(verb) == target:
            return reading_words(entry.data["shown"])
    return ""


def findings(desk: Desk, target: str) -> list[list[str]]:
    """Return what hands and nose found at a part or place, each with how it is said."""
    said = [[say(words), found(desk, verb, target)] for verb, words in FOUND.items()]
    return [pair for pair in said if pair[1]]


def cautions_before(offers: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the cautions that go with what is offered, each once, with the verbs it is for."""
    verbs: dict[str, list[str]] = {}
    for one in offers:
        verb = next(iter(one["do"]))
        for text in one["cautions"]:
            said = verbs.setdefault(text, [])
            words = say_in("verb", VERB_WORDS.get(verb, verb))
            if words not in said:
                said.append(words)
    return [
        {"when": say("Before you {verbs}", verbs=listed(said, "or")), "text": text}
        for text, said in verbs.items()
    ]
