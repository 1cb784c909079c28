"""What harm a step could do, in expected minutes: judged whether or not it happened this time.

The harm is that of the solved circuit (`sim.harm`, blown fuses), on every suspect. A fuse of the
vehicle, the meter or the jumper costs the minutes of fetching and fitting another (ours). A part
that is killed costs what its repair unit costs in this case; one that no unit mends, or a restraint
that may have fired, costs the price from which the case calls a part dear (ours).
"""

from __future__ import annotations

from collections.abc import Sequence

from grader.case import Case
from grader.suspects import Lineup

FUSE_MINUTES = 3.0  # ours
BLOWN = " has blown"


def minutes_of(case: Case, text: str) -> float:
    """Return what one piece of harm, in the words of the bench, costs to put right."""
    if text.endswith(BLOWN):
        return FUSE_MINUTES
    name = text.partition(":")[0]
    for unit in case.units:
        if any(mend.partition("=")[0].partition(".")[0] == name for mend in unit.mends):
            return case.minutes_of(unit)
    return case.dear / case.rate


def expected_minutes(
    lineup: Lineup, harm: Sequence[Sequence[str]], possible: int, chances: Sequence[float]
) -> float:
    """Return the harm of one step in minutes, over the suspects that are left.

    Parameters
    ----------
    lineup : Lineup
    harm : sequence of sequences of str
        Texts for every variant (suspect by suspect, each with all its corners; the mean of them
        counts).
    possible : int
        Suspects left, as bits; at least one.
    chances : sequence of float
        Likelihood of every suspect.
    """
    if not any(harm):
        return 0.0
    total = whole = 0.0
    for number, chance in enumerate(chances):
        if possible >> number & 1:
            lanes = harm[number * lineup.corners : (number + 1) * lineup.corners]
            lost = sum(minutes_of(lineup.case, text) for texts in lanes for text in texts)
            total += chance * lost / lineup.corners
            whole += chance
    return float(total / whole)
