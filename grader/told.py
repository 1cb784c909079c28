"""How any reading splits the suspects, and which outcome a student's reading is.

Numbers that have bands of their own and plain words are `grader.bands`' business, figures that are
held against a sound vehicle's are `grader.usual`'s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grader.bands import Split, band_of, split
from grader.usual import Comparison, is_compared
from sim.action import Action, Reading
from sim.display import shown
from sim.instruments.verb import Outcome
from sim.situation import Situation


@dataclass(frozen=True, slots=True)
class Told:
    """What one action tells of the suspects.

    Attributes
    ----------
    action : Action
    healthy : float
        The least that sound vehicles show, 0 if they show words.
    split : Split or None
        None for mere handling.
    """

    action: Action
    healthy: float
    split: Split | None
    comparison: Comparison | None = None

    @classmethod
    def by(
        cls,
        action: Action,
        situation: Situation,
        outcome: Outcome,
        sound: Outcome,
        corners: int,
    ) -> Told:
        """Return what an action tells.

        Parameters
        ----------
        action : Action
        situation : Situation
            The bench after it.
        outcome, sound : Outcome
            What it shows on suspects x corners, and on sound vehicles.
        corners : int
        """
        healthy = healthy_number(sound)
        if not is_compared(action):
            return cls(action, healthy, split(action, outcome, corners, healthy))
        ours, theirs = (
            [shown(action, situation, one, lane) or Reading() for lane in range(_count(one))]
            for one in (outcome, sound)
        )
        comparison = Comparison.of(ours, corners, theirs)
        return cls(action, healthy, comparison.split, comparison)

    def label_of(self, reading: Reading) -> str:
        """Return the outcome that a student's reading is; empty if no suspect may show it."""
        if self.comparison is not None:
            return self.comparison.label_of(reading) or ""
        if self.split is None:
            return ""
        group = self.split.group_of(band_of(self.action, reading, self.healthy))
        return "" if group is None else " or ".join(self.split.groups[group])


def healthy_number(outcome: Outcome) -> float:
    """Return the least that healthy vehicles show, 0 if they show words."""
    return 0.0 if outcome.numbers is None else float(np.abs(outcome.numbers).min())


def _count(outcome: Outcome) -> int:
    if outcome.words is not None:
        return len(outcome.words)
    return 0 if outcome.numbers is None else len(outcome.numbers)
