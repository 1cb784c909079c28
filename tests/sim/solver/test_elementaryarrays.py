"""In place the elementary functions give what they give otherwise, to the last bit."""

import numpy as np

from sim.solver.elementary import exp, log, power
from sim.solver.elementaryarrays import exp_in_place, log_in_place, power_of

ODD = np.array([0.0, -0.0, 1.0, np.nan, np.inf, -np.inf, 1e-310, 699.9999, 700.1, -700.1])


def drawn() -> np.ndarray:
    rng = np.random.default_rng(4)
    return np.concatenate([ODD, rng.normal(0.0, 200.0, 3000), rng.normal(0.0, 1.0, 3000)])


def test_in_place_the_bits_are_the_same():
    x = drawn()
    with np.errstate(over="ignore", invalid="ignore"):
        assert exp_in_place(x.copy()).tobytes() == exp(x).tobytes()
        assert log_in_place(x.copy()).tobytes() == log(x).tobytes()
        assert power_of(x, 0.55).tobytes() == power(x, 0.55).tobytes()


def test_a_power_leaves_its_base_alone():
    x = drawn()
    with np.errstate(over="ignore", invalid="ignore"):
        power_of(x, 0.55)
    assert x.tobytes() == drawn().tobytes()
