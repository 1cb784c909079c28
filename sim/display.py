"""Solved value -> what the student sees, to the last digit; each instrument has its own display."""

from __future__ import annotations

from sim.action import Action, Reading
from sim.instruments.registry import VERBS
from sim.instruments.verb import Outcome
from sim.instruments.volts import HUM
from sim.situation import Situation

__all__ = ["HUM", "shown"]


def shown(action: Action, situation: Situation, outcome: Outcome, lane: int = 0) -> Reading | None:
    """Return what one variant shows, None for mere handling."""
    return VERBS[action.verb].show(action, situation, outcome, lane)
