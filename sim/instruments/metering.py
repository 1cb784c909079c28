"""What is done with the multimeter: measure, zero the leads, move the red lead to another jack.

The red lead goes to the jack of the function with every reading, unless it has been put into one on
purpose (or was left there): then the meter shows nothing of what was asked, and in an amps jack it
lies almost as a short between the points.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments import amps, capture, form, multimeter, ohms, scenes, volts
from sim.instruments.counts import Scale
from sim.instruments.multimeter import AMP_RANGES, FULL_SCALE, VOLT_RANGES
from sim.instruments.verb import Instrument, Labour, Outcome, Scene, Shown, Verb
from sim.language import say
from sim.network import METER
from sim.reach import HANDLING
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View

JACKS = ("volts", "10 A", "mA")
BACK = "with the function"


@dataclass(frozen=True, slots=True)
class Function:
    """A position of the rotary switch.

    `idle` is what it shows of an open input; `captures` whether it keeps minimum and maximum.
    """

    jack: str
    read: Callable[[View], Shown]
    show: Callable[[float], Reading]
    scale: Scale | None
    idle: float = 0.0
    captures: bool = False


FUNCTIONS: Mapping[str, Function] = {
    "volts": Function(
        "volts",
        volts.volts,
        multimeter.show_volts,
        Scale("V", VOLT_RANGES, multimeter.VOLTS_ACCURACY),
        captures=True,
    ),
    "ohms": Function(
        "volts",
        ohms.ohms,
        multimeter.show_ohms,
        Scale("ohm", FULL_SCALE, multimeter.OHMS_ACCURACY),
        idle=np.inf,
    ),
    "amps": Function(
        "10 A",
        amps.amps,
        multimeter.show_amps,
        Scale("A", AMP_RANGES, multimeter.AMPS_ACCURACY),
        captures=True,
    ),
    "continuity": Function("volts", ohms.continuity, multimeter.show_ohms, None, idle=np.inf),
    "diode": Function(
        "volts",
        ohms.diode,
        multimeter.show_diode,
        Scale("diode", VOLT_RANGES, multimeter.VOLTS_ACCURACY),
        idle=np.inf,
    ),
    "AC volts": Function(
        "volts",
        volts.alternating,
        multimeter.show_volts,
        Scale("V", VOLT_RANGES, multimeter.AC_ACCURACY),
    ),
    "milliamps": Function(
        "mA",
        amps.milliamps,
        multimeter.show_milliamps,
        Scale("A", multimeter.FINE_RANGES, multimeter.AMPS_ACCURACY),
        captures=True,
    ),
    "hertz": Function(
        "volts",
        volts.hertz,
        multimeter.show_hertz,
        Scale("Hz", multimeter.HERTZ_RANGES, multimeter.HERTZ_ACCURACY),
    ),
    "duty": Function(
        "volts",
        volts.duty,
        multimeter.show_duty,
        Scale("%", multimeter.DUTY_RANGES, multimeter.DUTY_ACCURACY),
        idle=np.nan,
    ),
}


def _check(scene: Scene) -> None:
    scenes.check_settings(scene)
    function = FUNCTIONS[scene.doing.target]
    if scene.doing.settings and not function.captures:
        kept = ", ".join(say(name) for name, one in FUNCTIONS.items() if one.captures)
        raise ActionError(
            say(
                "no minimum and maximum of {function}: the meter keeps them of {kept}",
                function=say(scene.doing.target),
                kept=kept,
            )
        )


def _read(view: View) -> Shown:
    function = FUNCTIONS[view.doing.target]
    jack = view.situation.jack
    if jack in ("", function.jack):
        return capture.captured(view, function.read) if view.doing.settings else function.read(view)
    shown = capture.captured(view, _beside) if view.doing.settings else _beside(view)
    idle = np.full(view.count, function.idle)
    if view.doing.target == "continuity":
        return replace(shown, numbers=None, words=("silent",) * view.count)
    return replace(shown, numbers=idle, also=tuple((name, idle) for name, _ in shown.also))


def _beside(view: View) -> Shown:
    """Put between the leads what the jack has that the red lead is in, and show nothing of it."""
    if view.situation.jack == "10 A":
        return Shown(amps.through_shunt(view))
    if view.situation.jack == "mA":
        found, damage = amps.through_fine_shunt(view)
        return Shown(found, damage=damage)
    view.put(METER, np.array([1.0 / multimeter.INPUT_RESISTANCE, 0.0]))
    return Shown(np.zeros(view.count))


def _show(doing: Doing, situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    if outcome.words is not None:
        return Reading(words=outcome.words[lane])
    if outcome.numbers is None:
        return None
    function = FUNCTIONS[doing.target]
    if outcome.also and function.scale is not None:
        return capture.show(function.scale, function.show, outcome, lane)
    if doing.target == "volts":
        return volts.show_direct(doing, situation, outcome, lane)
    return function.show(float(outcome.numbers[lane]))


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    target, circuit, ends = scene.doing.target, scene.circuit, scene.ends
    found: list[Caution] = []
    if target in ("ohms", "continuity", "diode"):
        live = care.switched_on(circuit, scene.situation)
        found.append(Caution(care.OHMS_LIVE, breached=live))
        found += scenes.restraint(scene)
    if target in ("amps", "milliamps"):
        found.append(Caution(care.AMPS_ACROSS, breached=care.across_supply(circuit, ends)))
    found += scenes.rings(scene)
    found += scenes.high_voltage(scene)
    left = scene.situation.jack in ("10 A", "mA") and FUNCTIONS[target].jack == "volts"
    return (*found, Caution(care.JACK, breached=True)) if left else tuple(found)


def _zeroed(scene: Scene) -> Situation:
    situation, what = scene.situation, scene.doing.target
    if what == "leads":
        return replace(situation, leads_zeroed=True)
    if what == "clamp":
        return replace(situation, clamp_zeroed=situation.clock)
    return replace(situation, leads_zeroed=False, clamp_zeroed=-np.inf)


def _jacked(scene: Scene) -> Situation:
    jack = scene.doing.target
    return replace(scene.situation, jack="" if jack == BACK else jack)


def _says(doing: Doing) -> str:
    done = say(
        "{function} from {red} to {black}",
        function=say(doing.target),
        red=doing.red,
        black=doing.black,
    )
    return scenes.meanwhile(done, doing)


def _says_zeroed(doing: Doing) -> str:
    if doing.target == "off":
        return say("took the zero off")
    return say("zeroed the {what}", what=say(doing.target))


def _says_jack(doing: Doing) -> str:
    if doing.target == BACK:
        return say("moved the red lead with the function again")
    return say("put the red lead into the {jack} jack", jack=say(doing.target))


def _bench(scene: Scene) -> Labour:
    return Labour((), HANDLING[scene.doing.verb])


INSTRUMENT = Instrument(
    "multimeter",
    {
        "measure": Verb(
            form.leads(tuple(FUNCTIONS), "the meter has"),
            _says,
            scenes.lead_labour,
            _check,
            scenes.leads_put,
            _read,
            _show,
            lambda doing: FUNCTIONS[doing.target].scale,
            _cautions,
            leads=True,
            disturbs=False,
        ),
        "zero": Verb(
            form.choice(("leads", "clamp", "off"), "can be zeroed:"),
            _says_zeroed,
            _bench,
            change=_zeroed,
            disturbs=False,
        ),
        "jack": Verb(
            form.choice((*JACKS, BACK), "the red lead goes to"),
            _says_jack,
            _bench,
            change=_jacked,
            disturbs=False,
        ),
    },
)
