"""Thermometer: infrared, held to one part, from where a hand gets at it most easily.

Specification (ours, of the usual class): -40 to 500 degC, resolution 0.1 degC, +-(2 % + 20 counts).

Temperature: ambient plus what the part has risen by so far (`sim.slowheat`).

Caution: a bad joint, and a lamp, burn.
"""

from __future__ import annotations

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.effects import is_load
from sim.instruments import form, scenes
from sim.instruments.counts import Accuracy, Scale, unsigned_zero
from sim.instruments.verb import Instrument, Outcome, Scene, Shown, Verb
from sim.language import say
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

COLDEST, HOTTEST = -40.0, 500.0  # degC
ACCURACY = Accuracy(0.02, 20)
RANGE = 600.0  # degC, full scale of its 6 000 counts


def _read(view: View) -> Shown:
    name, heat, memory = view.doing.target, view.fleet.slow.warmth, view.warmed()
    ambient = np.array([circuit.temperature for circuit in view.fleet.circuits])
    of = heat.load if is_load(view.circuit.parts[name]) else heat.joint
    return Shown(ambient + of(memory, name))


def show_temperature(value: float) -> Reading:
    """Return a temperature in degC as displayed, OL outside the range."""
    if not COLDEST <= value < HOTTEST:
        return Reading("OL", "degC", f"{HOTTEST:g}")
    return Reading(unsigned_zero(f"{value:.1f}"), "degC", f"{HOTTEST:g}")


def _show(_doing: Doing, _situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    return None if outcome.numbers is None else show_temperature(float(outcome.numbers[lane]))


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    live = care.key_is_on(scene.circuit, scene.situation)
    return (Caution(care.HOT_JOINT),) if live else ()


INSTRUMENT = Instrument(
    "thermometer",
    {
        "temperature": Verb(
            form.NAME,
            lambda doing: say("temperature of {part}", part=doing.target),
            scenes.felt_labour,
            scenes.check_part,
            read=_read,
            show=_show,
            scale=lambda _doing: Scale("degC", (RANGE,), ACCURACY),
            cautions=scenes.joined(_cautions, scenes.moving),
        )
    },
)
