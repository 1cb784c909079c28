"""What a tester can ask of modules, for every variant at once.

A module that does not work (`working` false) tells nothing, whatever the
arrays hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.modules.behaviour import Counted, Measured, Received, Switched
from sim.modules.conditions import Flags, Floats
from sim.modules.loop import Settled
from sim.modules.pulses import Pulsed
from sim.modules.turns import Asked, take_turns
from sim.modules.unit import Turn
from sim.modules.wiring import Modules, Wired


@dataclass(frozen=True, slots=True)
class InputTold:
    """One measured input, arrays (V,).

    Attributes
    ----------
    actual, used : float array
        SI (degC for a temperature): what was measured, and what the module goes on with.
    implausible, too_low : bool array
        Out of bounds for long enough to be sure of it, and by which side.
    low_code, high_code : str
        Trouble codes of the two sides; empty for none.
    """

    name: str
    pin: str
    kind: str
    actual: Floats
    used: Floats
    implausible: Flags
    too_low: Flags
    low_code: str
    high_code: str

    def faulty(self) -> Mapping[str, Flags]:
        """Return for every code of this input on which variants (V,) it fails now."""
        found = {}
        if self.high_code:
            found[self.high_code] = self.implausible & ~self.too_low
        if self.low_code:
            before = found.get(self.low_code, np.zeros_like(self.too_low))
            found[self.low_code] = before | (self.implausible & self.too_low)
        return found


@dataclass(frozen=True, slots=True)
class ModuleTold:
    """One module of every variant, arrays (V,).

    Attributes
    ----------
    working, awake : bool array
    supply : float array
        V between its supply and its ground.
    volts : mapping of pin to float array
        V against its own ground, behind the pin.
    inputs : mapping of name to InputTold
    switches, decisions : mapping of name to bool array
    levels : mapping of name to float array
        Shares from 0 to 1, as the rules want them.
    outputs : mapping of pin to float array
        Shares as they are, imposed or not.
    overloaded : mapping of pin to bool array
        Outputs that have shut down for too much current.
    """

    module: str
    working: Flags
    awake: Flags
    supply: Floats
    volts: Mapping[str, Floats]
    inputs: Mapping[str, InputTold]
    switches: Mapping[str, Flags]
    decisions: Mapping[str, Flags]
    levels: Mapping[str, Floats]
    outputs: Mapping[str, Floats]
    overloaded: Mapping[str, Flags]

    def faulty(self) -> Mapping[str, Flags]:
        """Return for every code of the module's inputs on which variants (V,) it fails now."""
        found: dict[str, Flags] = {}
        for one in self.inputs.values():
            for code, fails in one.faulty().items():
                found[code] = found.get(code, np.zeros_like(fails)) | fails
        return found


def told(modules: Modules, rows: Floats, solution: Settled, clock: float) -> dict[str, ModuleTold]:
    """Return what every module can tell of itself.

    Parameters
    ----------
    rows : float array (V, E, 13)
        As solved.
    solution : Settled
        One lane for every variant.
    clock : float
        The bench's clock in s when it was solved.
    """
    every = np.arange(len(solution.status))
    asked = Asked.of(modules, rows, every, np.full(len(every), clock))
    pulsed = Pulsed(
        solution, solution.low, solution.high, np.abs(solution.current), solution.turning
    )
    turns, _after = take_turns(asked, solution.held, pulsed)
    return {
        unit.behaviour.module: _module(unit, turn, solution)
        for unit, turn in zip(modules.units, turns, strict=True)
    }


def _module(unit: Wired, turn: Turn, solution: Settled) -> ModuleTold:
    behaviour, held = unit.behaviour, solution.held
    nodes = dict(zip(unit.pins, unit.nodes, strict=True))
    ground = solution.volts[:, nodes[behaviour.ground]]
    volts = {pin: solution.volts[:, node] - ground for pin, node in nodes.items()}
    driven = [(one, c) for one, c in zip(unit.driven, unit.columns, strict=True) if one.words]
    on = turn.state.on
    return ModuleTold(
        behaviour.module,
        turn.view.working,
        turn.view.working & ~turn.sleeping,
        volts[behaviour.supply],
        volts,
        _inputs(unit, turn),
        {
            item.name: turn.view.seen.states[item.name]
            for item in behaviour.inputs
            if isinstance(item, Switched)
        },
        {one.name: on[:, place] for place, one in enumerate(behaviour.decisions)},
        dict(turn.view.levels),
        {one.pin: held.shares[:, column] for one, column in driven},
        {one.pin: held.tripped[:, column] for one, column in driven},
    )


def _inputs(unit: Wired, turn: Turn) -> dict[str, InputTold]:
    found = {}
    for number, item in enumerate(unit.behaviour.inputs):
        if not isinstance(item, Switched):
            kind, low, high = _scale(item)
            found[item.name] = InputTold(
                item.name,
                item.pin,
                kind,
                turn.view.actual[item.name],
                turn.view.seen.values[item.name],
                turn.state.implausible[:, number],
                turn.state.too_low[:, number],
                low,
                high,
            )
    return found


def _scale(item: Measured | Received | Counted) -> tuple[str, str, str]:
    """Return (kind of quantity, code for too low or nothing, code for too high) of an input."""
    if isinstance(item, Received):
        return "fraction", item.code, ""
    return item.kind, item.low_code, item.high_code
