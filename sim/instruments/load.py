"""Adjustable load: a bulb of 12 V 55 W, or a carbon pile set to a current, between two points.

Shows the volts between the points while it loads them, and the current. Specification (ours, of
the usual class): volts as the multimeter's 60 V range; current 600 A, 0.1 A, +-(2 % + 2 counts);
clips of 1 mohm each, the pile from 1 A to 500 A and never under 20 mohm. A pile is turned up until
it carries what it is set to; where the source cannot give that, it stands at its lowest.

Across a battery: half the cold-cranking current for 15 s, and the volts stay at 9.6 V or more at
some 21 degC (load and time after a battery-tester maker's manual; 9.6 V from memory). The gauge of
the pile is green from there.

Cautions: heat, and hydrogen over the battery; no loads on control modules or restraints.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import form, harmful, lamp, scenes
from sim.instruments.counts import Accuracy, Scale, ranged, unsigned_zero
from sim.instruments.multimeter import VOLTS_ACCURACY
from sim.instruments.verb import Instrument, Outcome, Scene, Shown, Verb
from sim.language import say
from sim.network import METER, METER_LAMP, Floats
from sim.parts.lamp import filament_shape
from sim.quantity import parse
from sim.reading import Reading
from sim.situation import Situation
from sim.solver.steady import Solver
from sim.view import View

BULB = "55 W"
BULB_SHAPE = filament_shape(12.0, 55.0)
LEAST, MOST = 1.0, 500.0  # A
USUAL = (BULB, "5 A", "20 A", "50 A", "100 A", "200 A", "300 A")
LOWEST = 0.02  # ohm, the pile screwed tight
CLIP = 0.001  # ohm
START = 16.0  # V, above any 12 V supply: the pile is turned up from below
CLOSE = 1e-4  # of the current it is set to
TURNS = 200
GREEN_VOLTS = 9.6
RANGE = 60.0  # V
AMPS_ACCURACY = Accuracy(0.02, 2)
AMPS = "amps"


def _check_size(_verb: str, text: str) -> None:
    if text == BULB:
        return
    amps = parse(text, "current")
    if not LEAST <= amps <= MOST:
        raise ActionError(
            say(
                "load: got {size}, the pile takes 1 A to 500 A, the bulb is {bulb}",
                size=repr(text),
                bulb=BULB,
            )
        )


def turned_up(view: View, solver: Solver, amps: float) -> None:
    """Turn the pile up on every variant until it carries `amps`, or stands at its lowest.

    The conductance goes from below to g = amps / V(g), step by step, so that it never overshoots
    and blows a fuse that the set current would not.
    """
    number = view.network.element(METER)
    siemens = np.full(view.count, amps / START)
    for _turn in range(TURNS):
        drop = np.abs(view.put(METER, _rows(siemens), solver).drop[:, number])
        wanted = np.minimum(amps / np.maximum(drop, 1e-9), 1.0 / LOWEST)
        near = np.abs(wanted - siemens) <= CLOSE * siemens
        if near.all():
            return
        siemens = np.where(near, siemens, wanted)


def _rows(siemens: Floats) -> Floats:
    return np.stack([siemens, np.zeros_like(siemens)], axis=1)


def _read(view: View) -> Shown:
    solver = replace(view.fleet.solver, lead=CLIP)
    if view.doing.target == BULB:
        view.put(METER_LAMP, np.array([1.0, 0.0, *BULB_SHAPE]), solver)
        element = METER_LAMP
    else:
        turned_up(view, solver, parse(view.doing.target, "current"))
        element = METER
    amps = view.solution.current[:, view.network.element(element)].copy()
    volts = view.between(view.solution)
    damage = harmful.done(view, view.solution)
    return Shown(volts, _gauge(view, volts), also=((AMPS, amps),), damage=damage)


def _gauge(view: View, volts: Floats) -> tuple[str, ...] | None:
    """Return what the gauge says across a battery's own posts, None anywhere else."""
    ends = {view.situation.red, view.situation.black}
    batteries = [part.name for part in view.circuit.parts.values() if part.kind == "battery"]
    if view.doing.target == BULB or ends not in [{f"{n}.+", f"{n}.-"} for n in batteries]:
        return None
    return tuple("green" if abs(value) >= GREEN_VOLTS else "red" for value in volts)


def _show(_doing: Doing, _situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    if outcome.numbers is None:
        return None
    amps = unsigned_zero(f"{outcome.figure(AMPS, lane):.1f}")
    words = outcome.words[lane] if outcome.words else ""
    volts = ranged(float(outcome.numbers[lane]), (RANGE,), "V")
    return replace(volts, words=words, also=((AMPS, amps),))


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    found = [Caution(care.LOAD_HEAT)]
    if care.at_battery(scene.circuit, scene.ends):
        found += [Caution(care.HYDROGEN), Caution(care.LAST_CONNECTION)]
    return tuple(found)


INSTRUMENT = Instrument(
    "load",
    {
        "load": Verb(
            form.sized(_check_size, USUAL),
            lambda doing: say(
                "loaded {red} to {black} with {size}",
                red=doing.red,
                black=doing.black,
                size=doing.target,
            ),
            scenes.clipped_labour,
            change=scenes.leads_put,
            read=_read,
            show=_show,
            scale=lambda _doing: Scale("V", (RANGE,), VOLTS_ACCURACY),
            cautions=scenes.joined(
                scenes.rings,
                _cautions,
                scenes.restraint,
                scenes.high_voltage,
                lamp.on_module,
                lamp.on_sensor,
            ),
            leads=True,
            disturbs=False,
        )
    },
)
