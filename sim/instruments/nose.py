"""Nose: hot plastic at a bad joint, an old burn, a battery that gasses.

When a joint smells is `sim.parts.heat`: some 7 W for long, more for a shorter time. A battery
gasses where more than 14.8 V stand across it, some 2.47 V a cell (the gassing voltage of lead-acid
cells is about 2.4 V at 20 degC: common practice, no source). An old burn smells where what eyes
would find there is burnt or scorched.

Caution: smell from a step away.
"""

from __future__ import annotations

from sim import care
from sim.circuit import Circuit
from sim.doing import Doing
from sim.effects import NOTHING, found_notes, in_sight
from sim.instruments import form, scenes
from sim.instruments.eyes import browned
from sim.instruments.verb import Instrument, Shown, Verb
from sim.language import say
from sim.parts.heat import heat_at
from sim.situation import Memory
from sim.view import View
from sim.vocabulary import says_where

GASSING = 14.8  # V
HOT, BURNT, EGGS = "hot plastic", "something burnt", "rotten eggs"
BURNT_WORDS = ("burnt", "scorched", "charred", "melted")


def _smells(view: View, memory: Memory, variant: Circuit, lane: int) -> str:
    place, heat = view.doing.target, view.fleet.slow.warmth
    found = set()
    for name, part in variant.parts.items():
        if part.at != place:
            continue
        if part.kind == "battery":
            across = view.solution.drop[lane, view.network.element(name)]
            if across > GASSING:
                found.add(EGGS)
        elif heat_at(variant.temperature + heat.joint(memory, name)[lane]).nose:
            found.add(HOT)
    signs = [seen for _part, seen in found_notes(variant, place)]
    signs += [
        words
        for name, words in browned(view, memory, lane).items()
        if in_sight(variant, name, place)
    ]
    if any(word in seen for seen in signs for word in BURNT_WORDS):
        found.add(BURNT)
    return "; ".join(sorted(found)) or NOTHING


def _read(view: View) -> Shown:
    circuits, memory = view.fleet.circuits, view.warmed()
    return Shown(words=tuple(_smells(view, memory, one, lane) for lane, one in enumerate(circuits)))


def _says_smelled(doing: Doing) -> str:
    if says_where(doing.target):
        return say("smelled {where}", where=doing.target)
    return say("smelled at {place}", place=doing.target)


INSTRUMENT = Instrument(
    "nose",
    {
        "smell": Verb(
            form.NAME,
            _says_smelled,
            scenes.place_labour,
            scenes.check_place,
            read=_read,
            cautions=scenes.always(care.NOSE),
        )
    },
)
