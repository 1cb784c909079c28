"""Putting the fused jumper (`sim.instruments.jumper`) between two points, and taking it off."""

from __future__ import annotations

from dataclasses import replace

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError, QuantityError
from sim.instruments import form, harmful, jumper, lamp, scenes
from sim.instruments.form import Ask, Fields, Form, Written
from sim.instruments.verb import Instrument, Labour, Scene, Shown, Verb
from sim.language import say
from sim.quantity import parse
from sim.reach import HANDLING, lead_moves, probe_points
from sim.situation import Situation
from sim.view import View

ASKS = (
    Ask("", "tips"),
    Ask("fuse", "word", tuple(f"{rating:g} A" for rating in jumper.RATINGS), needed=False),
)


def _rating(written: object) -> float:
    try:
        amps = parse(str(written), "current")
    except QuantityError:
        amps = 0.0
    if amps not in jumper.RATINGS:
        fit = ", ".join(f"{rating:g} A" for rating in jumper.RATINGS)
        raise ActionError(
            say(
                "bridge: no fuse {fuse} fits the jumper; there are {fit}",
                fuse=repr(written),
                fit=fit,
            )
        )
    return amps


def _read_form(verb: str, data: Written) -> Fields:
    fields = form.pair(verb, data)
    if "fuse" not in data:
        return fields
    _rating(data["fuse"])
    return {**fields, "options": (("fuse", str(data["fuse"])),)}


def _write_form(doing: Doing) -> dict[str, object]:
    return {"bridge": [doing.red, doing.black], **dict(doing.options)}


def _check(scene: Scene) -> None:
    if scene.situation.bridge:
        message = say("the jumper is already on; take it off first")
        raise ActionError(message)


def _check_off(scene: Scene) -> None:
    if not scene.situation.bridge:
        message = say("the jumper is not on")
        raise ActionError(message)


def _labour(scene: Scene) -> Labour:
    ends = (scene.doing.red, scene.doing.black)
    places, minutes = lead_moves(scene.circuit, scene.situation, ends, ("", ""))
    return Labour(tuple(places), minutes)


def _labour_off(scene: Scene) -> Labour:
    points = probe_points(scene.circuit, scene.situation.apart)
    ends = scene.situation.bridge
    return Labour(tuple(points[end].place for end in ends if end in points), HANDLING["unbridge"])


def _on(scene: Scene) -> Situation:
    ends = tuple(scene.circuit.point(end) for end in (scene.doing.red, scene.doing.black))
    rating = _rating(scene.doing.option("fuse", f"{jumper.RATING:g} A"))
    return replace(scene.situation, bridge=ends, jumper_fuse=rating)


def _off(scene: Scene) -> Situation:
    return replace(scene.situation, bridge=(), jumper_fuse=jumper.RATING)


def _read(view: View) -> Shown:
    return Shown(damage=harmful.done(view, view.solution))


def _says(doing: Doing) -> str:
    fuse = doing.option("fuse")
    ends = {"one": doing.red, "two": doing.black}
    if fuse:
        return say("bridged {one} and {two} with {fuse}", fuse=fuse, **ends)
    return say("bridged {one} and {two}", **ends)


INSTRUMENT = Instrument(
    "jumper",
    {
        "bridge": Verb(
            Form(_read_form, _write_form, ("fuse",), ASKS),
            _says,
            _labour,
            _check,
            _on,
            _read,
            cautions=scenes.joined(
                scenes.rings,
                lambda _scene: (Caution(care.FUSED),),
                scenes.restraint,
                scenes.high_voltage,
                lamp.on_module,
            ),
        ),
        "unbridge": Verb(
            form.NOTHING, lambda _doing: say("took the jumper off"), _labour_off, _check_off, _off
        ),
    },
)
