"""(circuits, situation, memory, action) -> what each of them would show. Pure, batched.

The true vehicle is a fleet of one; a grader asks the same of every suspect at once. Nothing is
looked up: every reading comes from a solution with the instrument in the circuit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sim import harm
from sim.access import Price, price
from sim.action import Action
from sim.fleet import Fleet
from sim.handling import check, handled
from sim.instruments import harmful
from sim.instruments.registry import VERBS
from sim.instruments.verb import Outcome
from sim.network import JUMPER, METER_FUSE
from sim.shared import Shared
from sim.situation import Memory, Situation
from sim.solver.laws import SOLVED
from sim.view import View

__all__ = ["Fleet", "Observation", "Outcome", "observe"]

NEVER_HARM = ("set", "listen", "wait", "plug", "insert")  # what then blows, the fault has blown
WASTES = (
    "renew",
    "swap",
)  # a whole fuse put where it cannot last, a relay where it does not belong


@dataclass(frozen=True, slots=True)
class Observation:
    """An action's price, how the bench and the vehicles stand after it, and what was shown."""

    price: Price
    situation: Situation
    memory: Memory
    outcome: Outcome


def observe(
    fleet: Fleet,
    situation: Situation,
    memory: Memory,
    action: Action,
    shared: Shared | None = None,
) -> Observation:
    """Do one action on every variant.

    Parameters
    ----------
    shared : Shared, optional
        What other actions on the same fleet with the same memory have worked out; the reading is
        the same to the bit with it and without.

    Raises
    ------
    ActionError
        The action cannot be done at the bench as it stands.
    """
    circuit = fleet.circuits[0]
    check(circuit, situation, action)
    cost = price(circuit, situation, action)
    after = handled(circuit, situation, action, cost)
    verb = VERBS[action.verb]
    view = View(fleet, situation, after, memory, action, leads=verb.leads, shared=shared)
    shown = verb.read(view)
    view.let_time_pass()
    damage = shown.damage
    if after.bridge and not verb.leads:  # it may feed an output that has only now come on
        damage = harm.joined(damage, harmful.overloaded(view, view.solution))
    damaged = harm.joined(memory.damaged, damage)
    new = replace(view.memory, damaged=damaged)
    floating = np.zeros(view.count, dtype=bool) if shown.floating is None else shown.floating
    restless = view.restless_rules()
    outcome = Outcome(
        shown.numbers,
        floating,
        shown.words,
        _harm(
            fleet,
            replace(view.fitted, damaged=memory.damaged),
            new,
            own_deed=_own_deed(action, after),
        ),
        np.flatnonzero(
            (view.solution.status != SOLVED) | view.failed | [one is not None for one in restless]
        ),
        shown.also,
        restless,
    )
    return Observation(cost, after, new, outcome)


def _own_deed(action: Action, situation: Situation) -> bool:
    """Tell whether a fuse of the vehicle that blows now has been blown by hand.

    While one only looks, clamps or shakes, with no jumper on, the fault blows it, in its own time.
    To tell so would name a fuse that nobody has looked at.
    """
    if action.verb in NEVER_HARM:
        return False
    return VERBS[action.verb].leads or bool(situation.bridge) or action.verb in WASTES


def _harm(
    fleet: Fleet, before: Memory, after: Memory, *, own_deed: bool
) -> tuple[tuple[str, ...], ...]:
    names = fleet.solver.network.fuse_names
    if (before.blown >= after.blown).all() and before.damaged == after.damaged:
        return ((),) * len(after.blown)
    words = {METER_FUSE: "the meter's fuse has blown", JUMPER: "the jumper's fuse has blown"}
    lost = []
    for old, new in zip(before.blown, after.blown, strict=True):
        gone = [names[index] for index in np.flatnonzero(new & ~old & 1)]
        if not own_deed:
            gone = [name for name in gone if name in words]
        lost.append([words.get(name, f"{name} has blown") for name in gone])
    for lane, names_lost in enumerate(after.damaged):
        old_names = before.damaged[lane] if before.damaged else ()
        lost[lane] += [harm.words(name) for name in names_lost if name not in old_names]
    return tuple(tuple(texts) for texts in lost)
