"""Lasting harm of putting a source or a load on a vehicle, for the instruments that can do it."""

from __future__ import annotations

from sim import harm
from sim.instruments.scenes import fired
from sim.solver.steady import Solution
from sim.view import View


def done(view: View, solution: Solution) -> harm.Damage:
    """Return what every variant loses for good by an instrument between the leads or the jumper.

    Parts named carried more than they stand; a restraint on the wires may have fired.
    """
    stands = harm.limits(view.circuit, view.network)
    damage = harm.exceeded(stands, solution) if stands else ()
    point = view.circuit.point
    text = fired(view.circuit, {point(end) for end in (view.doing.red, view.doing.black) if end})
    return harm.joined(damage, ((text,),) * view.count) if text else damage
