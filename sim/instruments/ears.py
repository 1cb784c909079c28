"""Ears: does a relay click while a control is operated? Heard from where one stands."""

from __future__ import annotations

from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import form, scenes
from sim.instruments.hands import operated
from sim.instruments.verb import Instrument, Scene, Shown, Verb
from sim.language import say
from sim.view import View


def _listen(view: View) -> Shown:
    relay = view.network.relay_names.index(view.doing.target)
    moved = view.before.closed[:, relay] != view.memory.closed[:, relay]
    return Shown(words=tuple("clicks" if click else "silent" for click in moved))


def _check(scene: Scene) -> None:
    scenes.check_settings(scene)
    part = scenes.known_part(scene)
    if part.kind != "relay":
        apart = part.name in scene.situation.apart
        state = say("already apart") if apart else say("in place")
        raise ActionError(scenes.cannot("listen", part, state))


def _says(doing: Doing) -> str:
    settings = ", ".join(f"{control} {position}" for control, position in doing.settings)
    return say("listened to {part}, {settings}", part=doing.target, settings=settings)


INSTRUMENT = Instrument(
    "ears",
    {"listen": Verb(form.NAME_SETTINGS, _says, scenes.bench_labour, _check, operated, _listen)},
)
