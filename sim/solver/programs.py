"""Programs by where the leads are: each is made when it is first asked for, then kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from sim.network import Floats, Ints, Network
from sim.solver.program import NOWHERE, Program, build_program

#: Node of each of the four leads (-1 in pairs), and 1 if the test lamp is between the first two.
Leads = tuple[int, ...]
LOOSE: Leads = (NOWHERE,) * 4 + (0,)
#: What solves lanes of one program in place: see `sim.solver.kernel.solve_lanes`.
Executor = Callable[..., tuple[int, int]]


class Programs:
    """The programs of one network."""

    def __init__(self, network: Network, loose: Program) -> None:
        self._network = network
        self._pushing: frozenset[int] = frozenset()
        self._kept: dict[Leads, Program] = {LOOSE: loose}

    def get(self, leads: Leads) -> Program:
        """Return the program for leads on these points."""
        if leads not in self._kept:
            self._kept[leads] = build_program(
                self._network, leads[:4], lamp=bool(leads[4]), pushing=self._pushing
            )
        return self._kept[leads]

    def foresee(self, element: int) -> None:
        """Let an element carry an EMF in all programs from now on."""
        self._pushing |= {element}
        self._kept.clear()


def groups_of(attached: Ints, instruments: Floats) -> Iterator[tuple[Leads, Ints]]:
    """Yield (where the leads are, which lanes have them there)."""
    count = len(attached)
    keys = np.empty((count, 5), dtype=np.int64)
    keys[:, :4] = attached
    for pair in (0, 2):
        keys[(attached[:, pair] < 0) | (attached[:, pair + 1] < 0), pair : pair + 2] = NOWHERE
    keys[:, 4] = (instruments[:, 1, 0] > 0.0) & (keys[:, 0] != NOWHERE)
    if count and (keys == keys[0]).all():
        yield tuple(keys[0].tolist()), np.arange(count)
        return
    distinct, member = np.unique(keys, axis=0, return_inverse=True)
    order = np.argsort(member, kind="stable")
    starts = np.searchsorted(member[order], np.arange(len(distinct) + 1))
    for number, key in enumerate(distinct.tolist()):
        yield tuple(key), order[starts[number] : starts[number + 1]]
