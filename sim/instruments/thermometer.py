"""Thermometer: infrared, held to one part, from where a hand gets at it most easily.

Specification (ours, of the usual class): -40 to 500 degC, resolution 0.1 degC, +-(2 % + 20 counts).

Temperature: ambient plus what the part's own power P makes it, ``dT = dT0 (P / P0)^0.8 (1 - exp(-t
/ tau))`` after t seconds of standing as it stands. The exponent is that of free convection, where
the heat carried off grows as dT^(5/4) (from memory). A load is 60 K above ambient at its nominal
power; contacts are 40 K above it at the 2.5 W that a hand calls hot, some 60 degC, which a finger
does not bear for long; tau is 20 s, a third of the minute after which a hand can tell (all ours).

Caution: a bad joint, and a lamp, burn.
"""

from __future__ import annotations

import math

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.effects import HEATING_SECONDS, HOT_JOINT, contact_power, load_power, nominal_power
from sim.instruments import form, scenes
from sim.instruments.counts import Accuracy, Scale, unsigned_zero
from sim.instruments.verb import Instrument, Outcome, Scene, Shown, Verb
from sim.parts import FAMILIES
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

LOAD_RISE = 60.0  # K at nominal power
CONTACT_RISE = 40.0  # K at the power a hand calls hot
CONVECTION = 0.8  # exponent
TAU = HEATING_SECONDS / 3.0  # s
COLDEST, HOTTEST = -40.0, 500.0  # degC
ACCURACY = Accuracy(0.02, 20)
RANGE = 600.0  # degC, full scale of its 6 000 counts


def rise(view: View, lane: int, name: str) -> float:
    """Return how far a part of one variant is above ambient, in K, once it has settled."""
    variant = view.fleet.circuits[lane]
    part = variant.parts[name]
    if FAMILIES[part.kind].nominal_power and part.kind != "switch":
        power = float(load_power(variant, view.network, view.solution, name)[lane])
        return LOAD_RISE * math.pow(abs(power) / nominal_power(part), CONVECTION)
    power = contact_power(view.network, view.solution, name, lane)
    return CONTACT_RISE * math.pow(power / HOT_JOINT, CONVECTION)


def _read(view: View) -> Shown:
    grown = 1.0 - math.exp(-view.situation.rested / TAU)
    ambient = np.array([circuit.temperature for circuit in view.fleet.circuits])
    above = [rise(view, lane, view.doing.target) for lane in range(view.count)]
    return Shown(ambient + grown * np.array(above))


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
