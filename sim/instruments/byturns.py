"""By turns: what an instrument shows while a breaker comes and goes (`sim.slowbreakers`).

A lamp or a display is watched for `WATCHED` seconds, which do not count as time: where a breaker
turns within them the reading is taken in both states. What a curve in time shows of it is
`sim.instruments.turning`'s.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from sim import harm
from sim.instruments.verb import Shown
from sim.network import Floats
from sim.slowbreakers import any_of, closed_times, to_go, turned
from sim.view import View

WATCHED = 20.0  # s, twice what a breaker takes to cool; ours

Flags = npt.NDArray[np.bool_]


def watched(
    view: View, read: Callable[[View], Shown], *, puts: bool = True
) -> tuple[Shown, Shown, Flags]:
    """Return what is shown, what with breakers turned, and where (V,) they turn in that time.

    `puts` tells whether `read` puts something on, and solves with it.
    """
    shown = read(view)
    fuses, stood = view.fleet.slow.fuses, view.memory
    none = np.zeros(view.count, dtype=bool)
    if not fuses.automatic:
        return shown, shown, none
    lane = np.arange(view.count) % len(view.fleet.circuits)
    base = view.base if view.count == len(view.base) else view.base[lane]
    closed = closed_times(fuses, base, view.solution.current)
    turns: Flags = to_go(fuses, closed, stood.heat[lane], stood.blown) <= WATCHED
    if not turns.any():
        return shown, shown, none
    solution, view.memory = view.solution, replace(stood, blown=turned(fuses, stood.blown, turns))
    if not puts:
        view.solution = view.solve(view.memory)
    other = read(view)
    blown = stood.blown | view.memory.blown  # a meter's fuse stays blown
    for fuse in fuses.automatic:
        blown[:, fuse.number] = stood.blown[:, fuse.number]
    view.memory, view.solution = replace(stood, blown=blown), solution
    return shown, other, any_of(turns)


def words(view: View, read: Callable[[View], Shown]) -> Shown:
    """Return words that tell of both states where a breaker turns: ``bright and dark by turns``."""
    shown, other, turns = watched(view, read)
    said = zip(shown.words or (), other.words or (), turns, strict=True)
    return replace(
        shown,
        words=tuple(_both(one, two) if turning else one for one, two, turning in said),
        damage=harm.joined(shown.damage, other.damage),
    )


def _both(one: str, two: str) -> str:
    """Return two words as one answer, whichever of them stands first."""
    first, second = sorted((one, two))
    return one if one == two else f"{first} and {second} by turns"


def extremes(numbers: Floats, others: Floats, turns: Flags) -> tuple[Floats, Floats]:
    """Return the least and the most (V,) of two states, nan where nothing turns."""
    low, high = np.minimum(numbers, others), np.maximum(numbers, others)
    return np.where(turns, low, np.nan), np.where(turns, high, np.nan)
