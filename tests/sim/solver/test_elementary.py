"""exp, log and power against the mathematical library, and one number against arrays of them."""

import math

import mpmath
import numpy as np
import pytest

from sim.solver.elementary import exp, log, power

X = np.concatenate([np.random.default_rng(1).uniform(-40, 40, 3000), [0.0, -300.0, 300.0, 1e-9]])


def test_exp_is_right_to_two_units_in_the_last_place() -> None:
    exact = np.array([float(mpmath.exp(x)) for x in X.tolist()])
    assert np.abs(exp(X) / exact - 1.0).max() < 4.5e-16


def test_log_is_right_to_two_units_in_the_last_place() -> None:
    values = np.concatenate([np.exp(X), [1.0, 2.0, 0.5, math.sqrt(0.5), 1e-300, 1e300]])
    exact = np.array([float(mpmath.log(x)) for x in values.tolist()])
    np.testing.assert_allclose(log(values), exact, rtol=4.5e-16, atol=1e-300)


@pytest.mark.parametrize("exponent", [0.45, 0.5, 0.6, 1.0, 2.0])
def test_power_is_right_to_a_part_in_a_million_million(exponent: float) -> None:
    values = np.abs(X[X != 0.0])
    exact = np.array([float(mpmath.power(x, exponent)) for x in values.tolist()])
    np.testing.assert_allclose(power(-values, exponent), exact, rtol=2e-15)


def test_nothing_at_all_has_a_power_of_nothing_that_counts() -> None:
    assert 0.0 < power(np.array([0.0]), 0.45)[0] < 1e-130


def test_a_number_alone_has_the_bits_it_has_among_others() -> None:
    for function, values in ((exp, X), (log, np.exp(X))):
        together = function(values)
        alone = [function(np.float64(x)) for x in values]
        assert np.array(alone).tobytes() == together.tobytes()
