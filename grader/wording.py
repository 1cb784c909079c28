"""Actions in plain words: each instrument has its own."""

from __future__ import annotations

from sim.action import Action
from sim.instruments.registry import VERBS


def describe(action: Action) -> str:
    """Return an action as a technician would say it."""
    return VERBS[action.verb].says(action)
