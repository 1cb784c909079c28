"""Nose: hot plastic at a bad joint, an old burn, a battery that gasses.

When a joint smells is `sim.parts.heat`: some 7 W for long, more for a shorter time. A battery
gasses where more than 14.8 V stand across it, some 2.47 V a cell (the gassing voltage of lead-acid
cells is about 2.4 V at 20 degC: common practice, no source). An old burn smells where what eyes
would find there is burnt or scorched.

Caution: smell from a step away.
"""

from __future__ import annotations

from sim import care
from sim.circuit import Circuit, Part
from sim.effects import NOTHING, contact_power, found_notes
from sim.instruments import form, scenes
from sim.instruments.verb import Instrument, Shown, Verb
from sim.network import owner_of
from sim.parts import FAMILIES
from sim.parts.heat import joint_heat
from sim.view import View

GASSING = 14.8  # V
HOT, BURNT, EGGS = "hot plastic", "something burnt", "rotten eggs"
BURNT_WORDS = ("burnt", "scorched", "charred", "melted")


def _smells(view: View, variant: Circuit, lane: int) -> str:
    place = view.doing.target
    seconds = view.situation.rested
    found = set()
    for name, part in variant.parts.items():
        if part.at != place:
            continue
        if part.kind == "battery":
            across = view.solution.drop[lane, view.network.element(name)]
            if across > GASSING:
                found.add(EGGS)
        elif joint_heat(_joint_power(view, part, lane), seconds, variant.temperature).nose:
            found.add(HOT)
    if any(word in seen for _part, seen in found_notes(variant, place) for word in BURNT_WORDS):
        found.add(BURNT)
    return "; ".join(sorted(found)) or NOTHING


def _joint_power(view: View, part: Part, lane: int) -> float:
    """Return the power in W in a part's contacts and terminals, not in the work it does."""
    if not FAMILIES[part.kind].load:
        return contact_power(view.network, view.solution, part.name, lane)
    drop, current = view.solution.drop[lane], view.solution.current[lane]
    return sum(
        abs(float(drop[number] * current[number]))
        for number, element in enumerate(view.network.elements)
        if element.joint and owner_of(element) == part.name
    )


def _read(view: View) -> Shown:
    circuits = view.fleet.circuits
    return Shown(words=tuple(_smells(view, one, lane) for lane, one in enumerate(circuits)))


INSTRUMENT = Instrument(
    "nose",
    {
        "smell": Verb(
            form.NAME,
            lambda doing: f"smelled at the {doing.target}",
            scenes.place_labour,
            scenes.check_place,
            read=_read,
            cautions=scenes.always(care.NOSE),
        )
    },
)
