"""LED test lamp: two LEDs the opposite way round behind one resistor; next to no load.

Each LED drops 1.8 V while it conducts and blocks below that; with 1 kohm in series some 10 mA flow
at 12 V (ours, of the usual class). Red lights where the red lead is the more positive one, green
where the black is. Visible from 0.1 mA, bright from 3 mA (ours). It glows through a bad joint that
leaves a filament lamp dark, so it proves a voltage and not a supply.

Caution: never on airbag or belt-tensioner circuits.
"""

from __future__ import annotations

import numpy as np

from sim.instruments import byturns, form, harmful, multimeter, scenes
from sim.instruments.verb import Instrument, Shown, Verb
from sim.language import say
from sim.network import METER, Floats
from sim.view import View

FORWARD = 1.8  # V
SERIES = 1e3  # ohm
VISIBLE, BRIGHT = 1e-4, 3e-3  # A
BLOCKING = 1.0 / multimeter.INPUT_RESISTANCE  # S, both LEDs below their forward voltage; ours
TRIES = 4  # blocking, one way, and back where a relay moved in between


def glow(amps: float) -> str:
    """Return what the eye says at a current in A from red to black."""
    if abs(amps) < VISIBLE:
        return "dark"
    colour = "red" if amps > 0 else "green"
    return colour if abs(amps) >= BRIGHT else f"dim {colour}"


def _amps(view: View) -> Floats:
    """Return the current from red to black: which LED conducts, tried until it is consistent."""
    number = view.network.element(METER)
    way = np.zeros(view.count)
    for _try in range(TRIES):
        conducts = way != 0.0
        siemens = np.where(conducts, 1.0 / SERIES, BLOCKING)
        solution = view.put(METER, np.stack([siemens, way * FORWARD], axis=1))
        drop = solution.drop[:, number]
        wanted = np.where(np.abs(drop) > FORWARD, np.sign(drop), 0.0)
        if (wanted == way).all():
            break
        way = wanted
    return view.solution.current[:, number].copy()


def _read(view: View) -> Shown:
    return byturns.words(view, _glows)


def _glows(view: View) -> Shown:
    words = tuple(glow(amps) for amps in _amps(view))
    return Shown(words=words, damage=harmful.done(view, view.solution))


INSTRUMENT = Instrument(
    "LED test lamp",
    {
        "led": Verb(
            form.LEADS,
            lambda doing: say("LED lamp from {red} to {black}", red=doing.red, black=doing.black),
            scenes.lead_labour,
            change=scenes.leads_put,
            read=_read,
            cautions=scenes.joined(scenes.rings, scenes.restraint, scenes.high_voltage),
            leads=True,
            disturbs=False,
        )
    },
)
