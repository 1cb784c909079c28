"""Actions in plain words: each instrument has its own."""

from __future__ import annotations

from sim.action import Action
from sim.instruments.registry import VERBS


def describe(action: Action) -> str:
    """Return an action as a technician would say it."""
    return VERBS[action.verb].says(action)


def with_outcome(deed: str, shown: str) -> str:
    """Return what was done and what it showed; an answer stands right behind its question."""
    if not shown.strip():
        return deed
    return f"{deed} {shown}" if deed.endswith("?") else f"{deed}: {shown}"
