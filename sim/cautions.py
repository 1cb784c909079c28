"""Which caution goes with which action, from what is known at the bench, not the hidden cause.

A caution is *breached* when the action itself goes against it. The texts and their sources are in
`sim.care`; which of them an instrument has stands with the instrument.
"""

from __future__ import annotations

from sim.action import Action
from sim.care import (
    AMPS_ACROSS,
    FUSED,
    HOT_JOINT,
    LIVE_PLUG,
    OHMS_LIVE,
    RINGS,
    SAME_RATING,
    Caution,
    key_is_on,
)
from sim.circuit import Circuit
from sim.instruments.registry import VERBS
from sim.instruments.verb import Scene
from sim.situation import Situation

__all__ = [
    "AMPS_ACROSS",
    "FUSED",
    "HOT_JOINT",
    "LIVE_PLUG",
    "OHMS_LIVE",
    "RINGS",
    "SAME_RATING",
    "Caution",
    "cautions",
    "key_is_on",
]


def cautions(circuit: Circuit, situation: Situation, action: Action) -> tuple[Caution, ...]:
    """Return the cautions that go with an action on the bench as it stands."""
    return VERBS[action.verb].cautions(Scene(circuit, situation, action))
