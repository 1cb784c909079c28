"""What an action does to the bench: what is refused, and how the bench stands afterwards."""

from __future__ import annotations

from dataclasses import replace

from sim.access import Price
from sim.action import Action
from sim.circuit import Circuit
from sim.instruments.registry import VERBS
from sim.instruments.verb import Scene
from sim.situation import Situation


def check(circuit: Circuit, situation: Situation, action: Action) -> None:
    """Refuse what cannot be done: unknown names, unplugging what is unplugged, and the like.

    Raises
    ------
    ActionError
        One clear line.
    """
    VERBS[action.verb].check(Scene(circuit, situation, action))


def handled(circuit: Circuit, situation: Situation, action: Action, cost: Price) -> Situation:
    """Return how the bench stands after an action that `check` has let pass."""
    seconds = action.seconds or cost.minutes * 60
    clock = situation.clock + seconds
    new = replace(
        situation,
        minutes=situation.minutes + cost.minutes,
        clock=clock,
        reached=tuple(sorted({*situation.reached, *cost.places})),
        here=cost.places or situation.here,
    )
    verb = VERBS[action.verb]
    changed = verb.change(Scene(circuit, new, action))
    operated = "while" in verb.form.keys and bool(action.settings)  # controls went there and back
    if not operated and (changed == new or not verb.disturbs):
        return changed
    return replace(changed, changed=clock)
