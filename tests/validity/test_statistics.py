"""The statistics against examples worked by hand."""

import numpy as np
import pytest

from tests.validity.statistics import (
    alpha,
    area_under_curve,
    luck_share,
    rank_correlation,
    ranks,
    spearman_brown,
)


def test_ties_share_their_ranks():
    assert ranks(np.array([3.0, 1.0, 3.0, 2.0])).tolist() == [3.5, 1.0, 3.5, 2.0]


def test_rank_correlation_of_a_worked_example():
    # d = (0, 1, -1, 0, 0): rho = 1 - 6 * 2 / (5 * 24)
    one, two = np.array([1, 2, 3, 4, 5]), np.array([1, 3, 2, 4, 5])
    assert rank_correlation(one, two) == pytest.approx(0.9)
    assert rank_correlation(one, -two) == pytest.approx(-0.9)


def test_area_under_the_curve_counts_pairs():
    assert area_under_curve(np.array([1.0, 2.0]), np.array([2.0, 3.0])) == pytest.approx(3.5 / 4)


def test_spearman_brown_of_twice_the_length():
    assert spearman_brown(0.6, 2) == pytest.approx(0.75)


def test_alpha_of_equal_cases_is_one():
    assert alpha(np.array([[1.0, 1.0], [2.0, 2.0], [4.0, 4.0]])) == pytest.approx(1.0)


def test_alpha_of_a_worked_example():
    # variances 1 and 1, of the sums (2, 5, 5): 3
    assert alpha(np.array([[1.0, 1.0], [2.0, 3.0], [3.0, 2.0]])) == pytest.approx(2 * (1 - 2 / 3))


def test_luck_is_all_where_students_do_not_differ():
    rng = np.random.default_rng(1)
    assert luck_share(rng.normal(size=(200, 20))) > 0.97
    assert luck_share(np.repeat(np.arange(5.0)[:, None], 3, axis=1)) == 0.0
