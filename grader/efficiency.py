"""How much of the efficiency a path keeps: from minutes of V and of regret to a share.

    tolerance = max(2 (upper - lower), V / 4, 2 min)
    charged   = max(0, regret - tolerance)
    share     = W / (W + charged),   W = max(V, 4 min)

with V at the start. The two floors in minutes are ours, chosen on the shipped cases (DEVELOPERS.md,
"Decisions that differ"): where V is a minute or two, one reading for certainty is more than V.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grader.policy import Bounds

TOLERANCE = 0.25  # of V at the start
LEAST_TOLERANCE = 2.0  # min, one more thing confirmed, or one short way too many
LEAST_SCALE = 4.0  # min, V of an ordinary case


def tolerated(start: Bounds) -> float:
    """Return the minutes of regret that a path is not charged, from V at the start (min)."""
    gap = start.upper - start.lower
    return max(2 * gap, TOLERANCE * start.upper, LEAST_TOLERANCE)


def charged_of(regret: float, start: Bounds) -> float:
    """Return what of a path's regret is charged, minutes."""
    return max(0.0, regret - tolerated(start))


def share_kept(value: float, charged: float) -> float:
    """Return the share of the efficiency kept, 0 to 1; both in minutes."""
    scale = max(value, LEAST_SCALE)
    return scale / (scale + max(0.0, charged))
