"""Making it fail: a part shaken, warmed or wetted while something is watched or measured.

A fault that comes and goes shows only under its own condition. `shake` is a hand that keeps
wiggling a plug, a loom or a part (a helper's, or a strap's: the leads stay where they are); `warm`
a hot-air gun, `wet` a spray bottle. With `everything` in place of a part it is the whole vehicle:
a bad road, an hour in the sun with the engine warm, a hose. It goes on until it is left alone:
`leave` takes the same name. Handling times are ours.

What a joint's fault does then is the part's own (`sim.parts.family.Trigger`).
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from sim import care
from sim.care import Caution
from sim.errors import ActionError
from sim.instruments import form, scenes
from sim.instruments.verb import Instrument, Labour, Scene, Verb
from sim.language import msg, say, say_in
from sim.network import EVERYTHING
from sim.parts.family import Trigger
from sim.situation import Situation

TRIGGERS = MappingProxyType(
    {"shake": Trigger.VIBRATION, "warm": Trigger.HEAT, "wet": Trigger.MOISTURE}
)
ONE_PART = MappingProxyType({"shake": 0.3, "warm": 2.0, "wet": 0.5, "leave": 0.1})  # min
WHOLE = MappingProxyType({"shake": 5.0, "warm": 10.0, "wet": 3.0, "leave": 0.1})  # min


def _stressed(scene: Scene) -> tuple[tuple[str, Trigger], ...]:
    return scene.situation.stressed


def _check(scene: Scene) -> None:
    verb, target = scene.doing.verb, scene.doing.target
    if target != EVERYTHING:
        _known(scene)
    now = _stressed(scene)
    if verb == "leave":
        if all(name != target for name, _trigger in now):
            names = ", ".join(dict.fromkeys(name for name, _trigger in now)) or say("nothing")
            raise ActionError(
                say(
                    "cannot leave {what} alone: shaken, warmed or wetted now is {names}",
                    what=say(target),
                    names=names,
                )
            )
    elif (target, TRIGGERS[verb]) in now:
        raise ActionError(
            say(
                "cannot {verb} {what}: it is done already, until you leave it",
                verb=say_in("verb", verb),
                what=say(target),
            )
        )


def _known(scene: Scene) -> None:
    if scene.doing.target not in scene.circuit.parts:
        parts = ", ".join((EVERYTHING, *scene.circuit.parts))
        raise ActionError(f"part {scene.doing.target!r} unknown; there are {parts}")


def _labour(scene: Scene) -> Labour:
    verb, target = scene.doing.verb, scene.doing.target
    if target == EVERYTHING:
        return Labour((), WHOLE[verb])
    place = scenes.part_place(scene)
    return Labour(place, ONE_PART[verb])


def _begun(scene: Scene) -> Situation:
    new = (scene.doing.target, TRIGGERS[scene.doing.verb])
    situation = replace(scene.situation, stressed=tuple(sorted({*_stressed(scene), new})))
    if new == (EVERYTHING, Trigger.VIBRATION):  # a bad road undoes what plugging has wiped clean
        return replace(situation, disturbed=())
    return situation


def _left(scene: Scene) -> Situation:
    left = tuple(pair for pair in _stressed(scene) if pair[0] != scene.doing.target)
    return replace(scene.situation, stressed=left)


def _heat(_scene: Scene) -> tuple[Caution, ...]:
    return (Caution(care.HOT_AIR),)


def _water(_scene: Scene) -> tuple[Caution, ...]:
    return (Caution(care.WATER),)


def _verb(words: str, rule: object = None) -> Verb:
    rules = (scenes.moving, scenes.high_voltage)
    return Verb(
        form.NAME,
        lambda doing: say(words, what=say(doing.target)),
        _labour,
        _check,
        _begun,
        cautions=scenes.joined(*rules, rule) if callable(rule) else scenes.joined(*rules),
    )


INSTRUMENT = Instrument(
    "stress",
    {
        "shake": _verb(msg("kept shaking {what}")),
        "warm": _verb(msg("warmed {what}"), _heat),
        "wet": _verb(msg("wetted {what}"), _water),
        "leave": Verb(
            form.NAME,
            lambda doing: say("left {what} alone", what=say(doing.target)),
            _labour,
            _check,
            _left,
        ),
    },
)
