"""LED test lamp: two LEDs the opposite way round behind one resistor; next to no load.

Each LED drops 1.8 V while it conducts and blocks below that; with 1 kohm in series some 10 mA flow
at 12 V (ours, of the usual class). Red lights where the red lead is the more positive one, green
where the black is. Visible from 0.1 mA, bright from 3 mA (ours). It glows through a bad joint that
leaves a filament lamp dark, so it proves a voltage and not a supply. It is quick: where the points
are pulsed it lights in each pulse that is high enough, and the eye takes the mean of its light
(ours; so it glimmers at the lamp test of an output, which a filament does not show).

Caution: never on airbag or belt-tensioner circuits.
"""

from __future__ import annotations

import copy

import numpy as np

from sim.instruments import byturns, form, harmful, multimeter, scenes
from sim.instruments.verb import Instrument, Shown, Verb
from sim.language import say
from sim.modules.conditions import Flags
from sim.modules.loop import Settled
from sim.network import METER, Floats
from sim.view import View

FORWARD = 1.8  # V
SERIES = 1e3  # ohm
VISIBLE, BRIGHT = 1e-4, 3e-3  # A
BLOCKING = 1.0 / multimeter.INPUT_RESISTANCE  # S, both LEDs below their forward voltage; ours
STEADY = 1e-3  # V, a swing that counts as none; ours
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
    return np.where(*_in_pulses(view), view.solution.current[:, number])


def _in_pulses(view: View) -> tuple[Flags, Floats]:
    """Return where an LED lights in a part of each period only, and the mean current from it.

    Of two levels between the points, the one beyond the forward voltage lights it, the other does
    not; the level is taken as the lamp loads it.
    """
    least, most, share = _levels(view)
    lit = np.where(np.abs(most) >= np.abs(least), most, least)
    part = np.where(np.abs(most) >= np.abs(least), share, 1.0 - share)
    dim = np.minimum(np.abs(most), np.abs(least))
    partly = (np.abs(lit) > FORWARD) & (dim <= FORWARD)
    if not partly.any():
        return partly, np.zeros(view.count)
    way = np.where(partly, np.sign(lit), 0.0)
    siemens = np.where(partly, 1.0 / SERIES, BLOCKING)
    one = copy.copy(view)  # only looked at: what it sheds in between the pulses is not there
    one.put(METER, np.stack([siemens, way * FORWARD], axis=1))
    low, high, _share = _levels(one)
    loaded = np.where(np.abs(most) >= np.abs(least), high, low)
    beyond = np.maximum(np.abs(loaded) - FORWARD, 0.0)
    return partly, way * part * beyond / SERIES


def _levels(view: View) -> tuple[Floats, Floats, Floats]:
    """Return the least and the most volts (V,) between the points, and the share of the most.

    Where both points are pulsed the levels are those of the one that swings further.
    """
    found = view.solution
    mean = view.between(found)
    if not isinstance(found, Settled):
        return mean, mean, np.ones(view.count)
    ends = view.ends()
    low, high, at = (
        np.take_along_axis(a, ends, axis=1) for a in (found.low, found.high, found.volts)
    )
    red = high[:, 0] - low[:, 0] >= high[:, 1] - low[:, 1]
    least = np.where(red, low[:, 0] - at[:, 1], at[:, 0] - high[:, 1])
    most = np.where(red, high[:, 0] - at[:, 1], at[:, 0] - low[:, 1])
    swing = most - least
    share = np.where(swing > STEADY, (mean - least) / np.where(swing > STEADY, swing, 1.0), 1.0)
    return np.where(swing > STEADY, least, mean), np.where(swing > STEADY, most, mean), share


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
