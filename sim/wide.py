"""Several readings as one: copies of all variants side by side, the leads of each on other points.

Readings that differ in the points of their leads, and in how long it took to get there, are solved
in one go. Each lane has the rows, the memory and the clock of its own reading, so that it shows the
same bits as by itself.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sim.bus.ports import has_bus
from sim.fleet import Fleet
from sim.modules.held import stacked
from sim.situation import Memory
from sim.view import View


def spans_times(fleet: Fleet) -> bool:
    """Tell whether readings begun at other times can be taken as one.

    Not on a bus, nor where a breaker comes and goes: both look at every vehicle once.
    """
    return not (fleet.slow.fuses.automatic or has_bus(fleet.solver.network))


def wide(views: Sequence[View]) -> View:
    """Return a view of as many copies of all variants as there are readings.

    Nothing may be done with it but put on an instrument.
    """
    one = copy.copy(views[0])
    stages = list({view.felt: view for view in views}.values())
    number = {stage.felt: place for place, stage in enumerate(stages)}
    each = np.arange(one.count)
    lanes = np.concatenate([number[view.felt] * one.count + each for view in views])
    one.pairs = tuple(pair for view in views for pair in view.pairs)
    one.count, one.row_of = len(lanes), lanes
    one.clocks = np.array([stage.clock for stage in stages])[lanes // len(each)]
    if len(stages) > 1:
        one.rows = np.concatenate([stage.rows for stage in stages])
    one.memory = _memory([stage.memory for stage in stages], lanes)
    one.fitted = _memory([stage.fitted for stage in stages], lanes)
    return one


def _memory(stages: Sequence[Memory], lanes: np.ndarray) -> Memory:
    """Return what relays, fuses and modules of all lanes remember; no more is looked at."""
    held = [stage.modules for stage in stages if stage.modules is not None]
    return replace(
        stages[0],
        closed=np.concatenate([stage.closed for stage in stages])[lanes],
        blown=np.concatenate([stage.blown for stage in stages])[lanes],
        modules=stacked(held).take(lanes) if held else None,
    )
