"""The diagnostic server of a control unit with rules (`sim.modules`).

Service 01 shows what an input measures by its table, substituted or not; where the voltage leaves
the table the value stays at its end, as a converter's does. The maker's own data show for each
input the voltage at its pin (2200 and on), and the value that the unit goes on with, which may be a
substitute (2100 and on); 2001 is its supply. Outputs (3001 and on) can be held: what is held is
imposed on the contact of that pin. A code of an input is set as soon as the rules find the input
implausible, which has its own delay, and confirmed in the first cycle. Routines (0201 and on)
impose what the circuit file says on the contacts of their decisions, until their time is over; what
a tester holds goes before.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Mapping

import numpy as np

from sim.circuit import Circuit, Part
from sim.diagnosis.codes import Code
from sim.diagnosis.memory import Memory, Monitor
from sim.diagnosis.onbus import AWAKE, SUPPLY_DATA, SUPPLY_VALUE, place_ids
from sim.diagnosis.parameters import (
    CELSIUS,
    MILLIVOLT,
    PARAMETERS,
    PERCENT,
    REVOLUTIONS,
)
from sim.diagnosis.sampling import Moment, Sample
from sim.diagnosis.scaling import Scaling
from sim.diagnosis.unit import Datum, Hold, Output, Routine, UnitState
from sim.modules.behaviour import Behaviour, Counted, Measured
from sim.modules.behaviour import Output as Switching
from sim.modules.conditions import Floats
from sim.modules.wiring import Modules, Wired

KIND = "control unit"
USED_DATA, VOLTS_DATA, OUTPUT_DATA = 0x2100, 0x2200, 0x3001
ROUTINES = 0x0201
LOW, HIGH = 0x16, 0x17  # failure types: below and above the limit
NO_SIGNAL = 0x31  # failure type
COUNT = Scaling(2, 0.01, -100.0, "", 1.0, 2)
WIDE_PRESSURE = Scaling(2, 1.0, 0.0, "kPa", 1e3)
SCALINGS: Mapping[str, Scaling] = {
    "temperature": CELSIUS,
    "pressure": WIDE_PRESSURE,
    "fraction": PERCENT,
    "rotation": REVOLUTIONS,
    "voltage": MILLIVOLT,
}


def measured(behaviour: Behaviour) -> tuple[Measured | Counted, ...]:
    """Return the inputs of a unit that are measured, or counted."""
    return tuple(one for one in behaviour.inputs if isinstance(one, Measured | Counted))


def input_codes(one: Measured | Counted) -> tuple[tuple[Code, bool], ...]:
    """Return the codes of an input, each with whether it is that for too low."""
    low = NO_SIGNAL if isinstance(one, Counted) else LOW
    return _codes(((one.low_code, low, True), (one.high_code, HIGH, False)))


@functools.lru_cache(maxsize=1024)
def _codes(codes: tuple[tuple[str, int, bool], ...]) -> tuple[tuple[Code, bool], ...]:
    """Return codes of two sides: units look at theirs with every sample that they take."""
    return tuple((Code(text, kind), low) for text, kind, low in codes if text)


def scaling_of(one: Measured | Counted) -> Scaling:
    """Return how a scan tool shows the value of an input."""
    if one.parameter is not None:
        return PARAMETERS[one.parameter].scaling
    return SCALINGS.get(one.kind, COUNT)


def unit_of(circuit: Circuit, part: Part, place: int) -> UnitState:
    """Return the control unit that a part is, fresh from the works."""
    behaviour = circuit.modules[part.name]
    inputs = measured(behaviour)
    monitors = {
        code: Monitor(code, needs=frozenset({AWAKE}), lamp=True)
        for one in inputs
        for code, _low in input_codes(one)
    }
    generic = any(one.parameter is not None for one in inputs)
    ids = [one.parameter for one in inputs if one.parameter is not None]
    request, answer, address = place_ids(place)
    return UnitState(
        part.name,
        request,
        answer,
        address,
        Memory.fresh(tuple(monitors.values())),
        generic=generic,
        values=dict.fromkeys([*ids, SUPPLY_VALUE], 0.0) if generic else {},
        data=(Datum(SUPPLY_DATA, "supply voltage at the unit", MILLIVOLT, 0.0), *_data(inputs)),
        outputs=tuple(
            Output(OUTPUT_DATA + n, one.follows, PERCENT) for n, one in enumerate(behaviour.outputs)
        ),
        routines=tuple(
            Routine(ROUTINES + n, one.name, one.seconds) for n, one in enumerate(behaviour.routines)
        ),
    )


def _data(inputs: tuple[Measured | Counted, ...]) -> list[Datum]:
    found = []
    for n, one in enumerate(inputs):
        found.append(Datum(USED_DATA + n, f"{one.name}, used", scaling_of(one), 0.0))
        found.append(Datum(VOLTS_DATA + n, f"{one.name}, signal", MILLIVOLT, 0.0))
    return found


def sample_of(moment: Moment, part: Part) -> Sample:
    """Return what a unit takes in at one moment."""
    told, lane = moment.told.get(part.name), moment.lane
    if told is None or not told.awake[lane]:
        return Sample(awake=False)
    behaviour, supply = moment.circuit.modules[part.name], float(told.supply[lane])
    inputs = [(one, told.inputs[one.name]) for one in measured(behaviour)]
    data = {SUPPLY_DATA: supply}
    failing: dict[Code, bool] = {}
    for place, (one, found) in enumerate(inputs):
        data[USED_DATA + place] = float(found.used[lane])
        data[VOLTS_DATA + place] = float(told.volts[one.pin][lane])
        for code, low in input_codes(one):
            out = bool(found.implausible[lane]) and bool(found.too_low[lane]) == low
            failing[code] = failing.get(code, False) or out
    values = {
        one.parameter: float(found.actual[lane])
        for one, found in inputs
        if one.parameter is not None
    }
    return Sample(
        awake=True,
        values={**values, SUPPLY_VALUE: supply} if values else {},
        data=data,
        outputs={
            OUTPUT_DATA + n: _turned(float(told.outputs[one.pin][lane]), one)
            for n, one in enumerate(behaviour.outputs)
        },
        failing=failing,
        holding=frozenset({AWAKE}),
    )


def _turned(share: float, output: Switching) -> float:
    """Return what a decision wants where its contact is closed for a share, or the other way."""
    return 1.0 - share if output.inverted else share


def _column(unit: Wired, pin: str) -> int:
    """Return the column of a pin's contact among those of all modules."""
    place = next(n for n, one in enumerate(unit.driven) if one.pin == pin)
    return int(unit.columns[place])


def told_shares(
    units: Iterable[UnitState], modules: Modules, circuit: Circuit, clock: float
) -> dict[int, tuple[float, float]]:
    """Return what a tester imposes, by column: the share, and the clock at which it ends.

    What nobody holds and no routine runs is left out.
    """
    by_name = {unit.name: unit for unit in units}
    found: dict[int, tuple[float, float]] = {}
    for wired in modules.units:
        name = wired.behaviour.module
        if circuit.parts[name].kind != KIND or name not in by_name:
            continue
        wants = _run(wired.behaviour, by_name[name], clock)
        for switching, output in zip(wired.behaviour.outputs, by_name[name].outputs, strict=True):
            if output.hold is not Hold.UNIT:
                wants[switching.follows] = (output.demand, math.inf)
            if switching.follows in wants:
                share, until = wants[switching.follows]
                found[_column(wired, switching.pin)] = (_turned(share, switching), until)
    return found


def _run(behaviour: Behaviour, unit: UnitState, clock: float) -> dict[str, tuple[float, float]]:
    """Return what routines that run want, by decision: the share, and when it is over."""
    found: dict[str, tuple[float, float]] = {}
    for does, one in zip(behaviour.routines, unit.routines, strict=True):
        if one.runs(clock) and one.started is not None:
            found |= {name: (share, one.started + one.seconds) for name, share in does.holds}
    return found


def imposed(
    units: Iterable[Iterable[UnitState]],
    modules: Modules,
    circuit: Circuit,
    shape: tuple[int, ...],
    clock: float,
) -> tuple[Floats, Floats]:
    """Return what testers impose on every variant, and until when, both (V, O).

    Shares are nan where nobody imposes any; what does not end by itself lasts until inf.
    """
    found, until = np.full(shape, np.nan), np.full(shape, np.inf)
    for lane, mine in enumerate(units):
        for column, told in told_shares(mine, modules, circuit, clock).items():
            found[lane, column], until[lane, column] = told
    return found, until
