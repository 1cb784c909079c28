"""Lasting harm of putting a source or a load on a vehicle, for the instruments that can do it."""

from __future__ import annotations

import math

from sim import harm
from sim.instruments.scenes import fired
from sim.solver.steady import Solution
from sim.view import View


def done(view: View, solution: Solution) -> harm.Damage:
    """Return what every variant loses for good by an instrument between two points.

    Outputs that carry more than they stand are dead; a restraint on the wires may have fired.
    """
    damage, point = overloaded(view, solution), view.circuit.point
    own = ((view.doing.red, view.doing.black),)  # of a jumper these are not the leads
    touched = view.pairs if len(view.pairs) > 1 else own
    texts = [fired(view.circuit, {point(end) for end in pair if end}) for pair in touched]
    each = view.count // len(texts)
    lost = tuple((text,) if text else () for text in texts for _variant in range(each))
    return harm.joined(damage, lost)


def overloaded(view: View, solution: Solution) -> harm.Damage:
    """Return the outputs that an instrument, or the jumper, overloads.

    An electronic switch dies faster than a fuse blows: where the jumper's fuse has blown, what
    would have flowed through a solid jumper counts. What is overloaded anyway is the fault's deed.
    """
    stands = harm.limits(view.circuit, view.network)
    if not stands:
        return ()
    found = harm.exceeded(stands, solution)
    if view.situation.bridge and (solution.blown & ~view.fitted.blown).any():
        found = harm.joined(found, harm.exceeded(stands, view.solve(view.fitted, fuse=math.inf)))
    if not any(found):
        return ()
    anyway = harm.exceeded(stands, view.solve(view.fitted, fuse=0.0))
    return tuple(
        tuple(part for part in lost if part not in known)
        for lost, known in zip(found, anyway, strict=True)
    )
