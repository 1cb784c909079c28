"""The shape of a curve on the oscilloscope, held against those of sound vehicles.

Figures tell how high, how long and how often; whether there is a kink where an armature moves, or a
gap where a diode is open, only the shape tells. A screen's samples are counts from its lowest to
its highest, so a shape knows neither volts nor amperes. Two curves are of one shape where few
samples lie apart by more than a tenth of the height, either of them moved by as much as a fiftieth
of the width. Between few and many it is of neither: what one cannot see at a glance proves nothing.

All limits are ours; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.instruments.oscilloscope import HEIGHT
from sim.language import msg
from sim.network import Floats

CURVE, OTHERWISE, SAME = msg("curve"), msg("not as usual"), msg("as usual")
APART = 0.1  # of the height
FEW, MANY = 0.05, 0.15  # share of the samples that lie apart
MOVED = 0.02  # of the width


def counts_of(text: str) -> Floats:
    """Return a curve's samples as counts, as they stand in a record."""
    return np.array([float(count) for count in text.split()])


def shares_apart(curves: Floats, others: Floats) -> Floats:
    """Return the share of samples that lie apart, with one curve moved as it fits best.

    Parameters
    ----------
    curves, others : float arrays (N, T), (M, T)

    Returns
    -------
    float array (N,)
        The least over all others.
    """
    width = curves.shape[1]
    most = round(MOVED * width)
    least = np.ones(len(curves))
    for by in range(-most, most + 1):
        here = curves[:, None, max(by, 0) : width + min(by, 0)]
        there = others[None, :, max(-by, 0) : width + min(-by, 0)]
        shares = np.mean(np.abs(here - there) > APART * HEIGHT, axis=2)
        least = np.minimum(least, shares.min(axis=1))
    return least


@dataclass(frozen=True, slots=True)
class Shapes:
    """Curves of sound vehicles: `curves` (M, T)."""

    curves: Floats

    def bands(self, curves: Floats) -> list[tuple[str, ...]]:
        """Return for curves (N, T) whether each is as usual or not; both where one cannot see.

        Neither, for curves of another length.
        """
        if curves.shape[1] != self.curves.shape[1]:
            return [()] * len(curves)
        kinds, number = np.unique(curves, axis=0, return_inverse=True)
        shares = shares_apart(kinds, self.curves)[number.reshape(-1)]
        return [_bands(share) for share in shares.tolist()]


def _bands(share: float) -> tuple[str, ...]:
    held = ((SAME, share < MANY), (OTHERWISE, share > FEW))
    return tuple(band for band, holds in held if holds)
