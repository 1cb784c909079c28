"""A case under other likelihoods that its author holds reasonable (`likelihoods` in the case file).

A technician who has met other vehicles weighs the same suspects otherwise. Whoever acts well by one
of the declared opinions has acted well: regret is the least over the author's and these, each taken
over the whole path.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from grader.prepared import Prepared


class Opinion(Prepared):
    """A prepared case under other likelihoods; suspects and readings are the same.

    Parameters
    ----------
    prepared : Prepared
    name : str
        What the opinion is called in the case file.
    factors : sequence of (part, factor)
        On the likelihood of every suspect in that part.
    """

    def __init__(self, prepared: Prepared, name: str, factors: Sequence[tuple[str, float]]) -> None:
        super().__init__(prepared.lineup, prepared.healthy, prepared.space)
        self.name, self._factors = name, tuple(factors)

    def likelihoods(self, questions: Sequence[str] = ()) -> np.ndarray:
        """Return the suspects' likelihoods by this opinion after these questions, summing to 1."""
        weights = super().likelihoods(questions)
        for part, factor in self._factors:
            held = [suspect.is_of(part) for suspect in self.lineup.suspects]
            weights = np.where(held, weights * factor, weights)
        return np.asarray(weights / weights.sum())


def opinions(prepared: Prepared) -> list[Prepared]:
    """Return a case under the author's likelihoods, and under each declared alternative."""
    others = [Opinion(prepared, name, factors) for name, factors in prepared.case.alternatives]
    return [prepared, *others]
