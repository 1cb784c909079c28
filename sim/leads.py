"""What hangs on the vehicle while it is solved: an instrument between two leads, and a jumper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.instruments import jumper
from sim.network import JUMPER, METER, METER_FUSE, METER_LAMP, Floats, Ints, Network
from sim.situation import Situation
from sim.solver.lanes import Lanes


def nodes_of(network: Network, pairs: Sequence[Sequence[str]]) -> Ints:
    """Return the nodes (P, 2) of pairs of points."""
    return np.array([[network.node(point) for point in pair] for pair in pairs])


def put_leads(lanes: Lanes, element: str, row: Floats, ends: Ints) -> None:
    """Put an instrument's element between the nodes (L, 2) of red and black into lanes."""
    index = (METER, METER_LAMP, METER_FUSE, JUMPER).index(element)
    lanes.instruments[:, index, : row.shape[-1]] = row
    lanes.attached[:, :2] = ends


def put_jumper(
    lanes: Lanes, network: Network, situation: Situation, thinner: float, fuse: float | None
) -> None:
    """Put the jumper into lanes if it is on.

    Parameters
    ----------
    thinner : float
        Ohms that the solver leaves out because it takes the leads for thicker ones.
    fuse : float or None
        What opens it, in A, instead of its fuse.
    """
    if not situation.bridge:
        return
    opens = jumper.limit(situation.jumper_fuse) if fuse is None else fuse
    lanes.instruments[:, 3, :3] = (1.0 / (jumper.RESISTANCE + thinner), 0.0, opens)
    for end, point in enumerate(situation.bridge):
        lanes.attached[:, 2 + end] = network.node(point)
