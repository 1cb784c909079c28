"""Battery conductance tester: a small current that comes and goes, and what the volts make of it.

Between two points of the solved circuit it measures ``G = dI / dV``: two solutions, with 1 A and
with 2 A (ours) drawn besides what flows anyway, at the two points themselves (the leads that sense
carry nothing). It draws and never charges: into a battery with `accepts` a steady current meets far
more than the ohms of its plates, and the quick pulses of a tester meet those alone. What else is
wired to the battery conducts as well, and a bad terminal between clip and post takes away: both
follow from the circuit.

Cranking amps: by the battery's own equation here (`sim.parts.battery`), the cold-cranking current
belongs to ``R = r(T) / CCA``, so that ``CCA = G r(T)`` with r(T) the resistance at 1 A of rating at
the temperature T; 2.73 A per siemens at 25 degC.

Verdict (ours): good from 80 % of the rating it is set to; below 12.4 V the battery wants charging
first, and a poor result then decides nothing; under 5 V there is no battery, and the tester shows
its volts and nothing else: it is no milliohmmeter for cables and joints.

Cautions: rings and watch off; hydrogen; consumers off.
"""

from __future__ import annotations

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import form, harmful, scenes
from sim.instruments.counts import digits
from sim.instruments.verb import Instrument, Outcome, Scene, Shown, Verb
from sim.language import say, say_in
from sim.network import METER, Floats
from sim.parts.battery import internal_resistance
from sim.quantity import parse
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

CURRENT = 1.0  # A
SOURCE = 1e-3  # S, of the tester's own source
MOST = 3000.0  # A, what it can show
USUAL = ("300 A", "370 A", "450 A", "540 A", "640 A", "760 A", "850 A")
GOOD_SHARE = 0.8
CHARGED, NO_BATTERY = 12.4, 5.0  # V
VOLTS, SIEMENS = "volts", "siemens"
ABSENT = "no battery"


def _check_size(verb: str, text: str) -> None:
    amps = parse(text, "current")
    if not 100.0 <= amps <= 2000.0:  # noqa: PLR2004 -- batteries of cars, vans and lorries
        raise ActionError(
            say(
                "{verb}: got {size}, ratings go from 100 A to 2000 A",
                verb=say_in("verb", verb),
                size=repr(text),
            )
        )


def cranking_amps(siemens: Floats, temperature: float) -> Floats:
    """Return the cold-cranking current in A that a conductance in S stands for at degC."""
    return siemens * internal_resistance(1.0, temperature)


def verdict(amps: float, volts: float, rated: float) -> str:
    """Return what the tester says of an estimate and a rating in A, at volts in V."""
    if abs(volts) < NO_BATTERY:
        return ABSENT
    if amps >= GOOD_SHARE * rated:
        return "good" if volts >= CHARGED else "good, charge it"
    return "replace" if volts >= CHARGED else "charge and test again"


def _siemens(view: View, way: float) -> Floats:
    """Return what lies between the points, by two currents from red to black (way 1) or back."""
    number = view.network.element(METER)
    volts, amps = [], []
    for drawn in (CURRENT, 2.0 * CURRENT):
        solution = view.put(METER, np.array([SOURCE, -way * drawn / SOURCE]))
        volts.append(view.between(solution))
        amps.append(solution.current[:, number].copy())
    with np.errstate(divide="ignore", invalid="ignore"):
        siemens = -(amps[1] - amps[0]) / (volts[1] - volts[0])
    return np.abs(np.nan_to_num(siemens, nan=np.inf, posinf=np.inf, neginf=np.inf))


def _read(view: View) -> Shown:
    held = view.between(view.put(METER, np.array([SOURCE, 0.0])))
    found = _siemens(view, 1.0)
    if (held < 0.0).any():  # the leads are on the wrong way round: it still draws
        found = np.where(held < 0.0, _siemens(view, -1.0), found)
    known = np.abs(held) >= NO_BATTERY
    estimate = np.where(known, cranking_amps(found, view.circuit.temperature), np.inf)
    rated = parse(view.doing.target, "current")
    words = tuple(
        verdict(float(one), float(volts), rated) for one, volts in zip(estimate, held, strict=True)
    )
    also = ((VOLTS, held), (SIEMENS, found))
    return Shown(estimate, words, also=also, damage=harmful.done(view, view.solution))


def _show(_doing: Doing, _situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    if outcome.numbers is None or outcome.words is None:
        return None
    amps = float(outcome.numbers[lane])
    also = ((VOLTS, digits(outcome.figure(VOLTS, lane), 60.0)),)
    if outcome.words[lane] == ABSENT:
        return Reading("OL", "A", f"{MOST:g}", ABSENT, also=also)
    if not amps < MOST:
        return Reading("OL", "A", f"{MOST:g}", outcome.words[lane], also=also)
    siemens = (SIEMENS, f"{outcome.figure(SIEMENS, lane):.0f}")
    return Reading(f"{amps:.0f}", "A", f"{MOST:g}", outcome.words[lane], also=(*also, siemens))


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    on = care.key_is_on(scene.circuit, scene.situation)
    return (Caution(care.HYDROGEN), Caution(care.LAST_CONNECTION, breached=on))


INSTRUMENT = Instrument(
    "conductance tester",
    {
        "conductance": Verb(
            form.sized(_check_size, USUAL),
            lambda doing: say(
                "tested {red} to {black} against {rating}",
                red=doing.red,
                black=doing.black,
                rating=doing.target,
            ),
            scenes.clipped_labour,
            change=scenes.leads_put,
            read=_read,
            show=_show,
            cautions=scenes.joined(scenes.rings, _cautions, scenes.restraint, scenes.high_voltage),
            leads=True,
            disturbs=False,
        )
    },
)
