"""What cases say of a person: the log regret, its interval, and from how many on a grade holds.

    x = -log(given / V + FLOOR)       of one case; `given` is what its path gave away by choice
    kept(x) = 1 / (1 + max(0, exp(-x) - FLOOR - TOLERANCE))        the share of the efficiency

Over several cases the mean of x counts. What one case shows depends on which fault was drawn and
how the readings fell: people of one skill differ by `LUCK` in x from case to case, the skilled less
than the others. So the interval goes by the person's own spread, drawn towards `LUCK` as if by
`PRIOR` cases more; it holds a person's long-run mean four times in five (0.80 to 0.83 measured,
from one case to ten). `LUCK` and the count that a grade asks for come from simulated students
(`tests/validity`): the rank correlation with skill is 0.60 with one case and 0.94 with ten.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from grader.efficiency import TOLERANCE
from sim.language import say, say_many

FLOOR = 0.25  # of V: below it paths hardly differ, and the logarithm stays finite; ours
LUCK = 1.1  # standard deviation of x from case to case, of people of one skill; measured
PRIOR = 4  # cases for which that counts; ours
FOUR_OF_FIVE = 1.2816  # standard deviations to either side that hold 80 % of a normal distribution
ENOUGH = 10  # cases that a grade asks for
NOT_FOUND = 19.0  # of V, that a case counts as whose cause was not found: 5 % kept; ours


def log_regret(given: float, value: float) -> float:
    """Return x of one case, from minutes given away by choice and V in minutes."""
    return -math.log(given / value + FLOOR)


def counted(given: float, value: float, *, found: bool) -> tuple[float, float]:
    """Return (given, V) in minutes as a case counts whose cause was found, or not."""
    return (given if found else NOT_FOUND * value, value)


def kept(x: float) -> float:
    """Return the share of the efficiency that a log regret stands for, 0 to 1."""
    return 1.0 / (1.0 + max(0.0, math.exp(-x) - FLOOR - TOLERANCE))


def spread(found: Sequence[float]) -> float:
    """Return the standard deviation of a person's log regrets, drawn towards everybody's."""
    mean, count = sum(found) / len(found), len(found)
    squares = sum((x - mean) ** 2 for x in found)
    return math.sqrt((squares + PRIOR * LUCK**2) / (count - 1 + PRIOR))


@dataclass(frozen=True, slots=True)
class Standing:
    """What several cases say of one person.

    Attributes
    ----------
    cases : int
    share, low, high : float
        Of the efficiency: kept by the mean log regret, and the interval of four of five.
    """

    cases: int
    share: float
    low: float
    high: float

    @classmethod
    def of(cls, cases: Sequence[tuple[float, float]]) -> Standing:
        """Return the standing by cases, each (given, V) in minutes; there must be one at least."""
        found, count = [log_regret(given, value) for given, value in cases], len(cases)
        mean, wide = sum(found) / count, FOUR_OF_FIVE * spread(found) / math.sqrt(count)
        return cls(count, kept(mean), kept(mean - wide), kept(mean + wide))

    @property
    def is_enough(self) -> bool:
        """Whether a grade may be given from it."""
        return self.cases >= ENOUGH

    def words(self) -> str:
        """Return it as a sentence."""
        span = say("{low} to {high} %", low=f"{100 * self.low:.0f}", high=f"{100 * self.high:.0f}")
        if self.cases == 1:
            return say(
                "One case says little: four of five people who work one like this keep {span} of "
                "the efficiency in the long run. A grade asks for {enough} cases.",
                span=span,
                enough=ENOUGH,
            )
        share = f"{100 * self.share:.0f}"
        told = say_many(
            "{n} case: keeps {share} % of the efficiency ({span})",
            "{n} cases: keeps {share} % of the efficiency ({span})",
            self.cases,
            share=share,
            span=span,
        )
        if self.is_enough:
            return told
        return say("{told}; no grade yet, it asks for {enough}", told=told, enough=ENOUGH)
