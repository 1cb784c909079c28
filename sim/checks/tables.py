"""Tables of sensors in `modules`: values that rise or fall all the way, and do not turn back.

What a control unit measures, a temperature, a pressure, a level, a way, is one value for each
voltage and the other way round: a thermistor's resistance only falls as it gets warmer, a sender's
only rises as it fills, a potentiometer's wiper goes one way. A table that turns back reads two
values as one, and is nearly always a slip. Where two neighbours have the same value it stands
still, which is allowed. Tables of levels are a maker's will, not physics: they may turn as they
like. A warning, since an unusual sensor may be meant so (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sim.checks.finding import Finding
from sim.circuit import Circuit
from sim.modules.behaviour import Measured
from sim.quantity import write


def turning_back(circuit: Circuit) -> Iterator[Finding]:
    """Find tables of measured inputs whose values go up and down as the voltage rises."""
    for name, behaviour in circuit.modules.items():
        for item in behaviour.inputs:
            if isinstance(item, Measured) and _turns_back(item):
                where = ("modules", name, "inputs", item.name, "table")
                yield Finding(where, f"{name}: {_told(item)}", warning=True)


def _steps(item: Measured) -> list[float]:
    return [after - before for before, after in pairwise(item.values)]


def _turns_back(item: Measured) -> bool:
    steps = _steps(item)
    return min(steps) < 0.0 < max(steps)


def _told(item: Measured) -> str:
    """Say where a table goes against most of its steps; of as many each way, against the first."""
    steps = _steps(item)
    up = sum(step > 0.0 for step in steps)
    down = sum(step < 0.0 for step in steps)
    rises = up > down or (up == down and next(step for step in steps if step) > 0.0)
    odd = next(k for k, step in enumerate(steps) if (step < 0.0 if rises else step > 0.0))
    mostly, here = ("rises", "falls") if rises else ("falls", "rises")
    return (
        f"inputs: {item.name}: its table {mostly} with the voltage, but {here} from "
        f"{_point(item, odd)} to {_point(item, odd + 1)}; a sensor's values rise or fall all the "
        f"way: look at these two points"
    )


def _point(item: Measured, number: int) -> str:
    scale = "fraction" if item.relative else "voltage"
    volts = write(item.volts[number], scale)
    return f"{write(item.values[number], item.kind)} (at {volts})"
