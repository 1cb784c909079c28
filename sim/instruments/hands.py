"""Hands at work: controls, plugs, fuses and relays, like parts exchanged, and waiting.

Cautions: switch off before a plug comes apart; the same rating again; cranking; a running engine.
"""

from __future__ import annotations

from dataclasses import replace

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import form, scenes
from sim.instruments.form import Fields, Form, Written
from sim.instruments.verb import Instrument, Labour, Scene, Verb
from sim.language import msg, say
from sim.parts import FAMILIES
from sim.quantity import parse, write
from sim.reach import HANDLING, WAITING_SHARE, leads_in_reach
from sim.situation import Situation

LONGEST_WAIT = 24 * 3600.0  # s
CRANK = "crank"


def operated(scene: Scene) -> Situation:
    """Return the bench with controls where the action puts them."""
    controls = {**dict(scene.situation.controls), **dict(scene.doing.settings)}
    return replace(scene.situation, controls=tuple(sorted(controls.items())))


def _wait_form(_verb: str, data: Written) -> Fields:
    seconds = parse(form.text(data, "wait"), "time")
    if not 0 < seconds <= LONGEST_WAIT:
        message = say("wait: got {time}, allowed above 0 and up to 24 h", time=repr(data["wait"]))
        raise ActionError(message)
    return {"seconds": seconds}


WAIT = Form(_wait_form, lambda doing: {"wait": f"{doing.seconds:.17g} s"})  # all digits: read back


def check_moved(scene: Scene) -> None:
    """Refuse to take apart what does not come apart, or is apart, and the like."""
    verb, part = scene.doing.verb, scenes.known_part(scene)
    family, apart = FAMILIES[part.kind], part.name in scene.situation.apart
    wrong = {
        "unplug": not family.separable or apart,
        "plug": not family.separable or not apart,
        "pull": not family.removable or apart,
        "insert": not family.removable or not apart,
        "renew": part.kind != "blade fuse",
    }
    if wrong[verb]:
        state = say("already apart") if apart else say("in place")
        message = scenes.cannot(verb, part, state)
        raise ActionError(message)
    check_not_tried(scene, part.name)


def check_not_tried(scene: Scene, name: str) -> None:
    """Refuse to handle a part while a known-good one is on its plug."""
    if name in scene.situation.tried:
        raise ActionError(say("a known-good {part} is on its plug; untry it first", part=name))


def _check_swap(scene: Scene) -> None:
    circuit, doing = scene.circuit, scene.doing
    first, second = (circuit.parts.get(name) for name in (doing.red, doing.black))
    likes = [p for p in (first, second) if p is not None and p.kind == "relay"]
    names = {part.name for part in likes}
    if len(names) != 2 or not any(str(part.values["like"]) in names for part in likes):  # noqa: PLR2004 -- a pair
        pairs = ", ".join(
            say("{one} and {two}", one=part.values["like"], two=part.name)
            for part in circuit.parts.values()
            if part.kind == "relay" and part.values["like"]
        )
        raise ActionError(_unlike(doing, pairs))
    for name in names:
        check_not_tried(scene, name)


def _unlike(doing: Doing, pairs: str) -> str:
    """Say why two parts cannot be exchanged, and what can be done: at the bench, and by authors."""
    if pairs:
        return say(
            "cannot swap {one} and {two}: like parts are {pairs}; for others, try a known-good one",
            one=doing.red,
            two=doing.black,
            pairs=pairs,
        )
    return say(
        "cannot swap {one} and {two}: no two parts here are alike; try a known-good one instead "
        "(in a circuit file `like: NAME` of a relay says which other relay is its like)",
        one=doing.red,
        two=doing.black,
    )


def _took_apart(scene: Scene) -> Situation:
    apart = tuple(sorted({*scene.situation.apart, scene.doing.target}))
    return leads_in_reach(replace(scene.situation, apart=apart), scene.circuit)


def _put_together(scene: Scene) -> Situation:
    apart = tuple(sorted({*scene.situation.apart} - {scene.doing.target}))
    wiped = scene.situation.plugged(scene.doing.target)
    return leads_in_reach(replace(wiped, apart=apart), scene.circuit)


def _renewed(scene: Scene) -> Situation:
    situation, name = scene.situation, scene.doing.target
    apart = tuple(sorted({*situation.apart} - {name}))
    fitted = replace(situation, renewed=tuple(sorted({*situation.renewed, name})), apart=apart)
    return leads_in_reach(fitted.plugged(name), scene.circuit)


def _swapped(scene: Scene) -> Situation:
    ends = (scene.doing.red, scene.doing.black)
    pair = (min(ends), max(ends))
    now = scene.situation.swapped
    left = tuple(p for p in now if p != pair)
    wiped = scene.situation.plugged(pair[0]).plugged(pair[1])
    return replace(wiped, swapped=left if len(left) < len(now) else (*now, pair))


def _swap_labour(scene: Scene) -> Labour:
    names = (scene.doing.red, scene.doing.black)
    return Labour(tuple(scene.circuit.parts[name].at for name in names), HANDLING["swap"])


def _says_set(doing: Doing) -> str:
    settings = ", ".join(f"{control} {position}" for control, position in doing.settings)
    return say("set {settings}", settings=settings)


def _no_labour(_scene: Scene) -> Labour:
    return Labour()


def _set_cautions(scene: Scene) -> tuple[Caution, ...]:
    after = operated(scene)
    cranks = any(position == CRANK for _control, position in scene.doing.settings)
    starts = care.engine_runs(scene.circuit, after) and not care.engine_runs(
        scene.circuit, scene.situation
    )
    found = [Caution(care.CRANKING)] if cranks else []
    return (*found, Caution(care.ENGINE)) if starts else tuple(found)


def _plug_cautions(scene: Scene) -> tuple[Caution, ...]:
    live = care.key_is_on(scene.circuit, scene.situation)
    return (Caution(care.LIVE_PLUG),) if live else ()


def _apart(words: str) -> Verb:
    return Verb(
        form.NAME,
        lambda doing: say(words, part=doing.target),
        scenes.place_labour,
        check_moved,
        _took_apart,
        cautions=scenes.joined(_plug_cautions, scenes.high_voltage),
    )


def _together(words: str) -> Verb:
    return Verb(
        form.NAME,
        lambda doing: say(words, part=doing.target),
        scenes.place_labour,
        check_moved,
        _put_together,
    )


INSTRUMENT = Instrument(
    "hands",
    {
        "set": Verb(
            form.SETTINGS,
            _says_set,
            _no_labour,
            scenes.check_settings,
            operated,
            cautions=_set_cautions,
        ),
        "unplug": _apart(msg("unplugged {part}")),
        "plug": _together(msg("plugged {part} in")),
        "pull": _apart(msg("pulled {part}")),
        "insert": _together(msg("put {part} back")),
        "renew": Verb(
            form.NAME,
            lambda doing: say("fitted a new {part}", part=doing.target),
            scenes.place_labour,
            check_moved,
            _renewed,
            cautions=scenes.always(care.SAME_RATING),
        ),
        "swap": Verb(
            form.PAIR,
            lambda doing: say("exchanged {one} and {two}", one=doing.red, two=doing.black),
            _swap_labour,
            _check_swap,
            _swapped,
        ),
        "wait": Verb(
            WAIT,
            lambda doing: say("waited {minutes} min", minutes=write(doing.seconds / 60, "number")),
            lambda scene: Labour((), scene.doing.seconds / 60 * WAITING_SHARE),
        ),
    },
)
