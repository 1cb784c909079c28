"""The few statistics that a study of the score needs, each with its formula and source."""

import numpy as np


def ranks(values: np.ndarray) -> np.ndarray:
    """Rank values from 1; ties share the mean of their ranks."""
    values = np.asarray(values, dtype=float)
    order = np.argsort(values, kind="stable")
    rank = np.empty(len(values))
    rank[order] = np.arange(1, len(values) + 1)
    for value in np.unique(values):
        rank[values == value] = rank[values == value].mean()
    return rank


def rank_correlation(one: np.ndarray, two: np.ndarray) -> float:
    """Give Spearman's rho: Pearson's r of the ranks (Spearman 1904)."""
    return float(np.corrcoef(ranks(one), ranks(two))[0, 1])


def area_under_curve(low: np.ndarray, high: np.ndarray) -> float:
    """Give the chance that one of `high` scores above one of `low`, ties half (Mann-Whitney U)."""
    low, high = np.asarray(low)[:, None], np.asarray(high)[None, :]
    return float(((high > low) + 0.5 * (high == low)).mean())


def spearman_brown(r: float, times: float) -> float:
    """Give the reliability of a test `times` as long: n r / (1 + (n - 1) r) (1910)."""
    return times * r / (1 + (times - 1) * r)


def alpha(scores: np.ndarray) -> float:
    """Give Cronbach's alpha of scores (students, cases): k/(k-1) (1 - sum var / var of sums)."""
    count = scores.shape[1]
    single, total = scores.var(axis=0, ddof=1).sum(), scores.sum(axis=1).var(ddof=1)
    return float(count / (count - 1) * (1 - single / total))


def luck_share(scores: np.ndarray) -> float:
    """Give the share of one case's variance that is not between students.

    From the one-way layout: between = (MSB - MSW) / k, within = MSW (any textbook on ANOVA).
    """
    count = scores.shape[1]
    within = scores.var(axis=1, ddof=1).mean()
    between = max(0.0, scores.mean(axis=1).var(ddof=1) - within / count)
    return float(within / (within + between))
