"""(circuits, situation, memory, action) -> what each of them would show. Pure, batched.

The true vehicle is a fleet of one; a grader asks the same of every suspect at once. Nothing is
looked up: every reading comes from a solution with the instrument in the circuit.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim import harm, stillness
from sim.access import Price, price
from sim.action import Action
from sim.doing import Doing
from sim.fleet import Fleet
from sim.handling import check, handled
from sim.instruments import harmful, moving
from sim.instruments.registry import VERBS
from sim.instruments.verb import Outcome, Shown
from sim.network import JUMPER, METER_FUSE
from sim.shared import Shared, felt
from sim.situation import Memory, Situation
from sim.solver.laws import SOLVED
from sim.view import View
from sim.wide import spans_times, wide

__all__ = ["Fleet", "Observation", "Outcome", "observe", "observe_together"]

#: Readings (verb, target) that put an instrument between two points and do nothing else.
TOGETHER = (("measure", "volts"), ("measure", "ohms"), ("lamp", ""))
MOST_LANES = 1500  # solved in one go: some hundred MB of rows for a large vehicle; ours
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
    cost, after = _handled(fleet, situation, action)
    verb = VERBS[action.verb]
    view = View(fleet, situation, after, memory, action, leads=verb.leads, shared=shared)
    new, outcome = _concluded(view, verb.read(view), memory)
    return Observation(cost, after, new, outcome)


def observe_together(
    fleet: Fleet,
    situation: Situation,
    memory: Memory,
    actions: Sequence[Action],
    shared: Shared,
) -> Iterator[Outcome]:
    """Give what each of several actions would show, each of them done first, in their order.

    Readings that differ in the points of their leads, and in how long it takes to get there, are
    solved in one go, to the same bits.

    Raises
    ------
    ActionError
        One of the actions cannot be done at the bench as it stands.
    """
    seen, any_time = dict[int, Outcome](), spans_times(fleet)
    groups = dict[Hashable, list[tuple[int, Action, Situation]]]()
    for number, action in enumerate(actions):
        _cost, after = _handled(fleet, situation, action)
        alone = (action.verb, action.target) not in TOGETHER or action.settings or situation.jack
        stands = replace(after, clock=situation.clock) if any_time else after
        vehicles = felt(situation, stands, action, leads=VERBS[action.verb].leads)
        key = number if alone else (action.verb, action.target, vehicles)
        groups.setdefault(key, []).append((number, action, after))
    most = max(1, MOST_LANES // len(fleet.circuits))
    for group in groups.values():
        for at in range(0, len(group), most):
            numbers, mine, afters = zip(*group[at : at + most], strict=True)
            leads = VERBS[mine[0].verb].leads
            views = [
                View(fleet, situation, after, memory, action, leads=leads, shared=shared)
                for action, after in zip(mine, afters, strict=True)
            ]
            seen |= zip(numbers, _in_one_go(views, memory), strict=True)
    return (seen[number] for number in range(len(actions)))


def _in_one_go(views: Sequence[View], memory: Memory) -> list[Outcome]:
    """Return what each of these readings shows, which differ in their leads and their times."""
    verb = VERBS[views[0].doing.verb]
    if len(views) == 1 or any(map(moving.switches, {view.felt: view for view in views}.values())):
        return [_concluded(view, verb.read(view), memory)[1] for view in views]
    whole = wide(views)
    shown, found = verb.read(whole), []
    for number, view in enumerate(views):
        mine = slice(number * view.count, (number + 1) * view.count)
        view.solution = whole.solution.only(mine)
        view.memory = replace(view.memory, blown=whole.memory.blown[mine])
    _let_be_still(views)
    for number, view in enumerate(views):
        mine = slice(number * view.count, (number + 1) * view.count)
        found.append(_concluded(view, shown.only(mine), memory)[1])
    return found


def _let_be_still(views: Sequence[View]) -> None:
    """Solve in one go how vehicles stand with their instruments off."""
    some = stillness.one_of_each(views)
    if len(some) > 1:
        whole = wide(some)
        solution = whole.solve(whole.memory)
        for number, view in enumerate(some):
            mine = slice(number * view.count, (number + 1) * view.count)
            stillness.taken(view, solution.only(mine))


def _handled(fleet: Fleet, situation: Situation, action: Action) -> tuple[Price, Situation]:
    """Return an action's price, and how the bench stands after it."""
    circuit = fleet.circuits[0]
    check(circuit, situation, action)
    cost = price(circuit, situation, action)
    return cost, handled(circuit, situation, action, cost)


def _concluded(view: View, shown: Shown, memory: Memory) -> tuple[Memory, Outcome]:
    """Return what is remembered after an action that has been read, and what it has shown."""
    view.let_time_pass()
    action, after = view.doing, view.situation
    damage = shown.damage
    if after.bridge and not VERBS[action.verb].leads:  # it may feed an output that now came on
        damage = harm.joined(damage, harmful.overloaded(view, view.solution))
    damaged = harm.joined(memory.damaged, damage)
    new = replace(view.memory, damaged=damaged)
    floating = np.zeros(view.count, dtype=bool) if shown.floating is None else shown.floating
    restless = view.restless_rules()
    before = replace(view.fitted, damaged=memory.damaged)
    outcome = Outcome(
        shown.numbers,
        floating,
        shown.words,
        _harm(view.fleet, before, new, own_deed=_own_deed(action, after)),
        np.flatnonzero(
            (view.solution.status != SOLVED) | view.failed | [one is not None for one in restless]
        ),
        shown.also,
        restless,
    )
    return new, outcome


def _own_deed(action: Doing, situation: Situation) -> bool:
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
    back = [names[fuse.number] for fuse in fleet.slow.fuses.automatic]  # closes by itself: not lost
    if (before.blown >= after.blown).all() and before.damaged == after.damaged:
        return ((),) * len(after.blown)
    words = {METER_FUSE: "the meter's fuse has blown", JUMPER: "the jumper's fuse has blown"}
    lost = []
    for old, new in zip(before.blown, after.blown, strict=True):
        blew = [names[index] for index in np.flatnonzero(new & ~old & 1)]
        gone = [name for name in blew if name not in back]
        if not own_deed:
            gone = [name for name in gone if name in words]
        lost.append([words.get(name, f"{name} has blown") for name in gone])
    for lane, names_lost in enumerate(after.damaged):
        old_names = before.damaged[lane] if before.damaged else ()
        lost[lane] += [harm.words(name) for name in names_lost if name not in old_names]
    return tuple(tuple(texts) for texts in lost)
