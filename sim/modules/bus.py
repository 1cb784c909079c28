"""One wire between a master and a part that takes orders (LIN), and what comes through on it.

The bus is held up by a pull-up at each end and pulled down by the master while it talks; its
message is a level from 0 to 1. It comes through where the receiver sees both levels of ISO
17987-4: while the master pulls down less than `DOMINANT` of its own supply, in between more than
`RECESSIVE` of it. So an open wire, a short to ground or to supply and a poor ground take the
message away, each for its own electrical reason. Frames and bits are not modelled; a curve in time
shows the master pulling down for a share of the time.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sim.modules.conditions import Floats
from sim.modules.pins import BUS
from sim.modules.pulses import Pulsed
from sim.modules.unit import Turn
from sim.modules.wiring import Wired

DOMINANT, RECESSIVE = 0.4, 0.6  # of the receiver's supply (ISO 17987-4)


def sent(number: int, unit: Wired, turn: Turn, imposed: Floats) -> dict[tuple[int, str], Floats]:
    """Return what a module has to say: its decisions and levels, imposed ones as imposed.

    Parameters
    ----------
    imposed : float array (L, D)
        What a tester imposes on each of its outputs; nan where nothing.
    """
    found = {(number, name): level for name, level in turn.view.levels.items()}
    for place, decision in enumerate(unit.behaviour.decisions):
        found[number, decision.name] = turn.state.on[:, place].astype(float)
    for place, one in enumerate(unit.driven):
        if one.words is not None and one.words.role == BUS and one.follows:
            told = imposed[:, place]
            found[number, one.follows] = np.where(np.isnan(told), found[number, one.follows], told)
    return found


def received(
    unit: Wired, pulsed: Pulsed, shares: Floats, messages: Mapping[tuple[int, str], Floats]
) -> dict[str, Floats]:
    """Return what comes through to a module, by input; nan where nothing does.

    Parameters
    ----------
    shares : float array (L, O)
        Of everything that is driven, the masters' turns taken.
    messages : mapping of (module, level) to float array (L,)
    """
    if not unit.hears:
        return {}
    nodes = dict(zip(unit.pins, unit.nodes, strict=True))
    ground = pulsed.solution.volts[:, nodes[unit.behaviour.ground]]
    supply = pulsed.solution.volts[:, nodes[unit.behaviour.supply]] - ground
    found = {}
    for one in unit.hears:
        nothing = np.full(len(supply), np.nan)
        message = messages.get((one.unit, one.level), nothing)
        up = pulsed.high[:, one.node] - ground > RECESSIVE * supply
        down = pulsed.low[:, one.node] - ground < DOMINANT * supply
        talks = shares[:, one.column] > 0.0
        found[one.name] = np.where(up & down & talks, message, nothing)
    return found
