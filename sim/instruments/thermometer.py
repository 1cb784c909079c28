"""Thermometer: infrared, held to one part, from where a hand gets at it most easily.

Specification (ours, of the usual class): -40 to 500 degC, resolution 0.1 degC, +-(2 % + 20 counts).

Temperature: ambient plus what the part has grown by after t seconds of standing as it stands. For
contacts that is `sim.parts.heat`. For a load ``dT = dT0 p^0.8 (1 - exp(-t / tau))`` with p its heat
as a share of that at nominal power (`sim.effects.heating_share`): the exponent is that of free
convection, where the heat carried off grows as dT^(5/4) (from memory); dT0 is 60 K and tau 20 s, a
third of the minute after which a hand can tell (both ours).

Caution: a bad joint, and a lamp, burn.
"""

from __future__ import annotations

import math

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.effects import HEATING_SECONDS, contact_power, heating_share, is_load, nominal_power
from sim.instruments import form, scenes
from sim.instruments.counts import Accuracy, Scale, unsigned_zero
from sim.instruments.verb import Instrument, Outcome, Scene, Shown, Verb
from sim.parts.heat import EXPONENT, rise_after
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

LOAD_RISE = 60.0  # K at nominal power
CONVECTION = 1.0 / EXPONENT
TAU = HEATING_SECONDS / 3.0  # s
COLDEST, HOTTEST = -40.0, 500.0  # degC
ACCURACY = Accuracy(0.02, 20)
RANGE = 600.0  # degC, full scale of its 6 000 counts


def rise(view: View, lane: int, name: str) -> float:
    """Return how far a part of one variant is above ambient, in K, standing as it stands."""
    variant, seconds = view.fleet.circuits[lane], view.situation.rested
    part = variant.parts[name]
    if is_load(part):
        share = heating_share(variant, view.network, view.solution, name, nominal_power(part))
        grown = -math.expm1(-seconds / TAU)
        return LOAD_RISE * math.pow(float(share[lane]), CONVECTION) * grown
    return rise_after(contact_power(view.network, view.solution, name, lane), seconds)


def _read(view: View) -> Shown:
    ambient = np.array([circuit.temperature for circuit in view.fleet.circuits])
    return Shown(ambient + [rise(view, lane, view.doing.target) for lane in range(view.count)])


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
            lambda doing: f"temperature of {doing.target}",
            scenes.felt_labour,
            scenes.check_part,
            read=_read,
            show=_show,
            scale=lambda _doing: Scale("degC", (RANGE,), ACCURACY),
            cautions=scenes.joined(_cautions, scenes.moving),
        )
    },
)
