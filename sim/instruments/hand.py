"""A hand on a part: how warm it is; and fingers: what they find there, and whether it clicks.

`feel` says how warm a part is: a load by what it does (`sim.effects`), contacts by their heat
(`sim.parts.heat`). `touch` says what fingers find on it (wet, green, chafed, loose and
the like, in the words of what eyes would find there) and, where controls are operated meanwhile,
whether a relay clicks under the finger; the controls go back.

Caution: a bad joint under load burns; fans and belts.
"""

from __future__ import annotations

import numpy as np

from sim import care
from sim.care import Caution
from sim.circuit import Circuit
from sim.doing import Doing
from sim.effects import NOTHING, felt_joint, felt_load, found_notes, is_load
from sim.instruments import form, scenes
from sim.instruments.verb import Instrument, Scene, Shown, Verb
from sim.language import say
from sim.view import View

#: What fingers tell of a sign, in the order it is said.
TOUCHES = ("wet", "damp", "green", "crust", "chafed", "loose", "missing", "broken", "sticky", "gap")
CLICKS = "clicks"


def _feel(view: View) -> Shown:
    name, heat, memory = view.doing.target, view.fleet.slow.warmth, view.warmed()
    variants = view.fleet.circuits
    if is_load(view.circuit.parts[name]):
        shares = heat.works_at(memory, name)
        said = [felt_load(s, v.parts[name]) for s, v in zip(shares, variants, strict=True)]
    else:
        risen = heat.joint(memory, name)
        said = [felt_joint(v.temperature + k) for k, v in zip(risen, variants, strict=True)]
    return Shown(words=tuple(said))


def _signs(variant: Circuit, name: str) -> list[str]:
    part = variant.parts[name]
    place = part.felt_at or part.at
    found = " ".join(seen for owner, seen in found_notes(variant, place) if owner == name).split()
    return [word for word in TOUCHES if word in found]


def _touch(view: View) -> Shown:
    name = view.doing.target
    clicks = np.zeros(view.count, dtype=bool)
    if view.doing.settings and name in view.network.relay_names:
        relay = view.network.relay_names.index(name)
        before = view.memory.closed[:, relay].copy()
        resting = dict(view.situation.controls)
        view.operate({**resting, **dict(view.doing.settings)})
        clicks = view.memory.closed[:, relay] != before
        view.operate(resting)
    said = []
    for lane, variant in enumerate(view.fleet.circuits):
        words = _signs(variant, name) + ([CLICKS] if clicks[lane] else [])
        said.append(", ".join(words) or NOTHING)
    return Shown(words=tuple(said))


def _hot(scene: Scene) -> tuple[Caution, ...]:
    live = care.key_is_on(scene.circuit, scene.situation)
    return (Caution(care.HOT_JOINT),) if live else ()


def _check_touch(scene: Scene) -> None:
    scenes.check_settings(scene)
    scenes.check_part(scene)


def _says_touch(doing: Doing) -> str:
    return scenes.meanwhile(say("touched {part}", part=doing.target), doing)


INSTRUMENT = Instrument(
    "hand",
    {
        "feel": Verb(
            form.NAME,
            lambda doing: say("felt {part}", part=doing.target),
            scenes.felt_labour,
            scenes.check_part,
            read=_feel,
            cautions=scenes.joined(_hot, scenes.moving),
        ),
        "touch": Verb(
            form.NAME_WHILE,
            _says_touch,
            scenes.felt_labour,
            _check_touch,
            read=_touch,
            cautions=scenes.joined(_hot, scenes.moving, scenes.high_voltage),
        ),
    },
)
