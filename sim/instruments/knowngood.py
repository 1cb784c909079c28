"""A known-good part on the harness beside the old one, before anything is fitted.

The old part stays where it is, unplugged; the harness is as it was, but that plugging wipes its
terminals: a poor contact is good for a while afterwards, so measure before disturbing. What was
wrong inside the part is gone while the good one is tried; what is wrong around it stays. So it
proves as much as a swap, in the same state, and costs no part. Trying again, or `untry`, plugs the
old one back in. A fuse is renewed instead, and what is bolted to the engine cannot be tried beside
it: in a minute nobody has changed a starter.
"""

from __future__ import annotations

from dataclasses import replace

from sim import care
from sim.care import Caution
from sim.errors import ActionError
from sim.instruments import form, scenes
from sim.instruments.verb import Instrument, Scene, Verb
from sim.language import say
from sim.parts import FAMILIES
from sim.reach import leads_in_reach
from sim.situation import Situation

#: Kinds that carry their current through bolts, on the engine: beside it they prove nothing.
BOLTED = ("starter", "alternator")


def _check(scene: Scene) -> None:
    part = scenes.known_part(scene)
    family = FAMILIES[part.kind]
    if part.kind == "blade fuse":
        raise ActionError(
            say("cannot try {part}: it is a blade fuse; renew it instead", part=part.name)
        )
    if part.kind == "connector" or not (family.separable or family.removable):
        raise ActionError(
            say(
                "cannot try {part}: a {kind} does not come off its plug",
                part=part.name,
                kind=say(part.kind),
            )
        )
    if part.kind in BOLTED:
        raise ActionError(
            say(
                "cannot try {part}: a {kind} works only where it is bolted on",
                part=part.name,
                kind=say(part.kind),
            )
        )
    if any(part.name in pair for pair in scene.situation.swapped):
        raise ActionError(
            say("cannot try {part}: it is exchanged with another; swap back first", part=part.name)
        )


def _check_back(scene: Scene) -> None:
    name = scenes.known_part(scene).name
    if name not in scene.situation.tried:
        raise ActionError(say("no known-good {part} is on its plug", part=name))


def _toggled(scene: Scene) -> Situation:
    situation, name = scene.situation, scene.doing.target
    tried = {*situation.tried} ^ {name}
    apart = tuple(sorted({*situation.apart} - {name}))
    plugged = situation.plugged(name)
    changed = replace(plugged, tried=tuple(sorted(tried)), apart=apart)
    return leads_in_reach(changed, scene.circuit)


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    live = care.key_is_on(scene.circuit, scene.situation)
    return (Caution(care.LIVE_PLUG),) if live else ()


_RULES = scenes.joined(_cautions, scenes.moving, scenes.high_voltage)
INSTRUMENT = Instrument(
    "known-good part",
    {
        "try": Verb(
            form.NAME,
            lambda doing: say("tried a known-good {part}", part=doing.target),
            scenes.place_labour,
            _check,
            _toggled,
            cautions=_RULES,
        ),
        "untry": Verb(
            form.NAME,
            lambda doing: say("plugged the old {part} back in", part=doing.target),
            scenes.place_labour,
            _check_back,
            _toggled,
            cautions=_RULES,
        ),
    },
)
