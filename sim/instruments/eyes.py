"""Eyes: everything in sight at a place, and whether the vehicle does what it should."""

from __future__ import annotations

import numpy as np

from sim.doing import Doing
from sim.effects import effect_holds, visible_signs
from sim.errors import ActionError
from sim.instruments import form, scenes
from sim.instruments.verb import Instrument, Scene, Shown, Verb
from sim.language import say
from sim.parts import FAMILIES
from sim.parts.heat import BROWNS, heat_at
from sim.situation import Memory
from sim.view import View
from sim.vocabulary import says_where


def _look(view: View) -> Shown:
    names = np.array(view.network.fuse_names)
    memory = view.warmed()
    brown = [browned(view, memory, lane) for lane in range(view.count)]
    return Shown(
        words=tuple(
            visible_signs(
                variant,
                view.doing.target,
                set(names[blown == 1].tolist()),
                view.situation.renewed,
                signs,
            )
            for variant, blown, signs in zip(
                view.fleet.circuits, view.memory.blown, brown, strict=True
            )
        )
    )


def browned(view: View, memory: Memory, lane: int) -> dict[str, str]:
    """Return what heat has left on which parts since hand-over."""
    variant, hottest = view.fleet.circuits[lane], memory.hottest[lane]
    signs = {}
    parts = view.fleet.slow.warmth.parts
    for number in np.flatnonzero(variant.temperature + hottest >= BROWNS):
        name, rise = parts[number], hottest[number]
        family = FAMILIES[variant.parts[name].kind]
        words = heat_at(variant.temperature + rise).eyes
        if words and (family.separable or family.removable):  # what is held by plastic
            signs[name] = words
    return signs


def _watch(view: View) -> Shown:
    effect = view.circuit.effects[view.doing.target]
    holds = effect_holds(view.circuit, view.network, view.solution, effect)
    if view.situation.rested < effect.hold_seconds:
        holds = np.zeros_like(holds)
    return Shown(words=tuple("yes" if yes else "no" for yes in holds))


def _check_effect(scene: Scene) -> None:
    effect = scene.circuit.effects.get(scene.doing.target)
    if effect is not None and effect.quantity == "state":
        raise ActionError(
            say(
                "{effect} is heard, not watched; listen to {part}",
                effect=repr(effect.name),
                part=effect.part,
            )
        )
    watched = {n: e for n, e in scene.circuit.effects.items() if e.quantity != "state"}
    if scene.doing.target not in watched:
        raise scenes.unknown("effect to watch", scene.doing.target, watched)


def _says_looked(doing: Doing) -> str:
    if says_where(doing.target):
        return say("looked {where}", where=doing.target)
    return say("looked at {place}", place=doing.target)


INSTRUMENT = Instrument(
    "eyes",
    {
        "look": Verb(
            form.NAME,
            _says_looked,
            scenes.place_labour,
            scenes.check_place,
            read=_look,
        ),
        "watch": Verb(
            form.NAME,
            lambda doing: say("watched: {effect}", effect=doing.target),
            scenes.place_labour,
            _check_effect,
            read=_watch,
        ),
    },
)
