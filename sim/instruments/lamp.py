"""Test lamp: a real filament of 12 V 5 W between two points; a load, unlike a meter.

Shows `dark`, `dim` or `bright`; taken as dark under 5 % and bright from 60 % of its nominal power
(ours: what an eye tells apart in a workshop). While a breaker comes and goes it is, for instance,
`bright and dark by turns`.

Caution: never on airbag or belt-tensioner circuits, and not on the outputs of control modules.
"""

from __future__ import annotations

import numpy as np

from sim import care
from sim.care import Caution
from sim.instruments import byturns, form, harmful, scenes
from sim.instruments.verb import Instrument, Scene, Shown, Verb
from sim.language import say
from sim.network import METER_LAMP
from sim.parts.lamp import filament_shape
from sim.view import View

VOLTAGE, POWER = 12.0, 5.0
DARK, BRIGHT = 0.05, 0.6
SHAPE = filament_shape(VOLTAGE, POWER)


def glow(power_share: float) -> str:
    """Return what the eye says of a lamp at this share of its nominal power."""
    if power_share < DARK:
        return "dark"
    return "bright" if power_share >= BRIGHT else "dim"


def _read(view: View) -> Shown:
    return byturns.words(view, _glows)


def _glows(view: View) -> Shown:
    solution = view.put(METER_LAMP, np.array([1.0, 0.0, *SHAPE]))
    number = view.network.element(METER_LAMP)
    power = solution.power if solution.power is not None else solution.drop * solution.current
    power = power[:, number]  # a filament is too slow for pulses: their mean
    words = tuple(glow(share) for share in power / POWER)
    return Shown(words=words, damage=harmful.done(view, solution))


def on_module(scene: Scene) -> tuple[Caution, ...]:
    """Warn of a load on a module's own terminal; it goes against the caution."""
    on = care.on_module(scene.circuit, scene.ends, scene.situation.apart)
    return (Caution(care.LAMP_ON_MODULE, breached=True),) if on else ()


def on_sensor(scene: Scene) -> tuple[Caution, ...]:
    """Warn of a load on a sensor's wire, unless the same terminal has been warned of."""
    if on_module(scene) or not care.on_sensor(scene.circuit, scene.ends):
        return ()
    return (Caution(care.LAMP_ON_MODULE, breached=True),)


INSTRUMENT = Instrument(
    "test lamp",
    {
        "lamp": Verb(
            form.LEADS,
            lambda doing: say("test lamp from {red} to {black}", red=doing.red, black=doing.black),
            scenes.lead_labour,
            change=scenes.leads_put,
            read=_read,
            cautions=scenes.joined(
                scenes.rings, scenes.restraint, scenes.high_voltage, on_module, on_sensor
            ),
            leads=True,
            disturbs=False,
        )
    },
)
