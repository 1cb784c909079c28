"""Current clamp for DC and AC: around one wire, or a bundle, without opening the circuit.

Range 600 A, resolution 0.1 A, +-(2 % + 2 counts) (ours; common practice, no source). Around a
bundle it shows the sum, each current counted along its wire as the wire list names it. On AC it
shows the true RMS of what is not steady.

Its zero drifts by 0.2 A a minute, up to 2 A, from the moment it is zeroed (ours); it is zeroed with
every use unless it has been said that it is not. While a breaker comes and goes it shows what flows
now, and the least and the most of it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import reduce

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import byturns, moving, scenes
from sim.instruments.capture import MAXIMUM, MINIMUM
from sim.instruments.counts import Accuracy, Scale, unsigned_zero
from sim.instruments.form import Ask, Fields, Form, Written
from sim.instruments.verb import Instrument, Labour, Outcome, Scene, Shown, Verb
from sim.language import say
from sim.reach import HANDLING, travel_minutes, wire_places
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

SCALE = 600.0  # A
RESOLUTION = 0.1  # A
ACCURACY = Accuracy(0.02, 2)
DRIFT, FARTHEST = 0.2 / 60.0, 2.0  # A/s, A


def show_clamp(amps: float) -> Reading:
    """Return a current in A as displayed, OL over the range."""
    if abs(amps) >= SCALE:
        return Reading("OL", "A", "600")
    return Reading(unsigned_zero(f"{amps:.1f}"), "A", "600")


def offset(situation: Situation) -> float:
    """Return what the clamp shows around nothing, in A."""
    if situation.clamp_zeroed == math.inf:
        return 0.0
    return min(FARTHEST, DRIFT * (situation.clock - situation.clamp_zeroed))


def wires(doing: Doing) -> tuple[str, ...]:
    """Return the wires inside the jaws."""
    return (doing.target, *(wire for key, wire in doing.options if key == "beside"))


def _read_form(verb: str, data: Written) -> Fields:
    around = data[verb]
    names = [around] if isinstance(around, str) else around
    if not isinstance(names, list) or not all(isinstance(n, str) and n for n in names) or not names:
        message = f"action {dict(data)!r}: {verb!r} must be a name, or a list of names"
        raise ActionError(message)
    if len(set(names)) < len(names):
        raise ActionError(f"clamp: a wire goes through the jaws once, got {names!r}")
    options = [("beside", name) for name in names[1:]]
    if "of" in data:
        if data["of"] != "AC":
            raise ActionError(f"clamp: of {data['of']!r}; it shows DC, or AC with 'of': 'AC'")
        options.append(("of", "AC"))
    return {"target": names[0], "options": tuple(options)}


def _write_form(doing: Doing) -> dict[str, object]:
    around = wires(doing)
    kind = {"of": "AC"} if doing.option("of") else {}
    return {"clamp": around[0] if len(around) == 1 else list(around), **kind}


def _shared_places(scene: Scene) -> list[str]:
    """Return the places at which all wires can be clamped together."""
    each = [wire_places(scene.circuit, wire) for wire in wires(scene.doing)]
    return [place for place in each[0] if all(place in other for other in each[1:])]


def _check(scene: Scene) -> None:
    known = [name for name in scene.circuit.parts if name.startswith("wire ")]
    for wire in wires(scene.doing):
        if wire not in known:
            raise scenes.unknown("wire", wire, known)
    if not _shared_places(scene):
        raise ActionError(
            say("{wires} run nowhere side by side", wires=", ".join(wires(scene.doing)))
        )


def _labour(scene: Scene) -> Labour:
    circuit, situation = scene.circuit, scene.situation
    options = _shared_places(scene)
    best = min(options, key=lambda place: travel_minutes(circuit, situation, (place,)))
    return Labour((best,), HANDLING["clamp"])


def _read(view: View) -> Shown:
    if not view.fleet.slow.fuses.automatic:
        return _amps(view)
    shown, other, turns = byturns.watched(view, _amps, puts=False)
    now, then = (np.asarray(one.numbers, dtype=float) for one in (shown, other))
    low, high = byturns.extremes(now, then, turns)
    return replace(shown, also=((MINIMUM, low), (MAXIMUM, high)))


def _amps(view: View) -> Shown:
    halves = [view.network.element(f"{wire} first half") for wire in wires(view.doing)]
    if view.doing.option("of"):
        still = np.zeros(view.count)
        return Shown(moving.measured(view, "rms") if moving.moves(view) else still)
    if moving.switches(view) and len(halves) == 1:
        return Shown(moving.measured(view, "mean") + offset(view.situation))
    amps = view.solution.current[:, halves[0]].copy()
    for half in halves[1:]:
        amps += view.solution.current[:, half]
    drift = offset(view.situation)
    return Shown(amps + drift if drift else amps)


def _show(_doing: Doing, _situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    if outcome.numbers is None:
        return None
    shown = show_clamp(float(outcome.numbers[lane]))
    figures = [(name, float(found[lane])) for name, found in outcome.also]
    also = tuple((name, show_clamp(amps).value) for name, amps in figures if not math.isnan(amps))
    comes_and_goes = len({text for _name, text in also}) > 1
    return replace(shown, also=also) if comes_and_goes else shown


def _says(doing: Doing) -> str:
    around = reduce(lambda one, two: say("{one} and {two}", one=one, two=two), wires(doing))
    if doing.option("of"):
        return say("AC clamp on {wires}", wires=around)
    return say("clamp on {wires}", wires=around)


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    running = care.engine_runs(scene.circuit, scene.situation)
    return (Caution(care.ENGINE),) if running else ()


INSTRUMENT = Instrument(
    "clamp",
    {
        "clamp": Verb(
            Form(
                _read_form,
                _write_form,
                ("of",),
                (Ask("", "wires"), Ask("of", "word", ("AC",), needed=False)),
            ),
            _says,
            _labour,
            _check,
            read=_read,
            show=_show,
            scale=lambda _doing: Scale("A", (SCALE,), ACCURACY),
            cautions=_cautions,
        )
    },
)
