"""Eight numbers at once: each as IEEE 754 has it for one alone, compiled or in an array."""

import numpy as np

from sim.compiled import compiled
from sim.eights import LANES, all_eight, eight, put_eight


def sums(numbers: np.ndarray, into: np.ndarray) -> None:
    """Give rows of sums, differences, products and quotients of two rows, and one number spread."""
    a, b = eight(numbers, 0), eight(numbers, 1)
    put_eight(into, 0, a + b)
    put_eight(into, 1, a - b)
    put_eight(into, 2, a * b)
    put_eight(into, 3, a / b)
    put_eight(into, 4, all_eight(0.1) * a + b)


def test_compiled_and_plain_give_the_bits_of_python() -> None:
    rng = np.random.default_rng(5)
    numbers = rng.uniform(-1.0, 1.0, (2, LANES)) * 10.0 ** rng.integers(-200, 200, (2, LANES))
    numbers[:, 0] = 0.0, -0.0
    numbers[:, 1] = np.inf, 2.0
    fast, plain = np.empty((5, LANES)), np.empty((5, LANES))
    with np.errstate(all="ignore"):
        compiled(sums)(numbers, fast)
        sums(numbers, plain)
    nan = np.isnan(plain)
    assert np.array_equal(nan, np.isnan(fast))
    assert fast[~nan].tobytes() == plain[~nan].tobytes()
    for column in range(1, LANES):
        a, b = numbers[:, column].tolist()
        assert fast[:, column].tolist() == [a + b, a - b, a * b, a / b, 0.1 * a + b]


def test_a_row_that_was_read_stays_as_it_was() -> None:
    numbers = np.arange(2.0 * LANES).reshape(2, LANES)
    row = eight(numbers, 1)
    put_eight(numbers, 1, all_eight(0.0))
    assert row.tolist() == list(range(LANES, 2 * LANES))
    assert not numbers[1].any()
