"""Blocks of elements and plain numbers take the steps of `sim.solver.newton`, to the last bit."""

import numpy as np
import pytest

from sim.parts.lamp import filament_shape
from sim.solver.lawarrays import Block, alike
from sim.solver.laws import DIODE, LAMP, LIMITER, MOTOR
from sim.solver.newton import (
    is_too_far,
    law_current,
    law_growth,
    limited_step,
    next_line,
    straightened,
)
from sim.solver.numberlaws import number_laws

LANES = 400

SHAPES = {
    LAMP: filament_shape(12.0, 21.0),
    DIODE: (1e-12, 0.0437, 0.0),
    MOTOR: (1.5, 0.05, 0.08),
    LIMITER: (0.5, 2.0, 1e-6),
}


def quiet() -> np.errstate:
    """Let an open motor divide by its conductance."""
    return np.errstate(divide="ignore", invalid="ignore", over="ignore")


def lanes_of(law: int, manner: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw rows (5, 2, L), lines (3, 2, L) and drops (2, L) of two elements.

    `deep`: mostly far backwards; `calm`: near where they were; `apart`: with EMFs, some open.
    """
    rng = np.random.default_rng(law)
    rows = np.empty((5, 2, LANES))
    rows[0], rows[1] = 2.0, 0.0
    rows[2:] = np.array(SHAPES[law])[:, None, None]
    drops = rng.normal(0.0, 6.0, (2, LANES))
    if manner == "deep":
        drops = np.where(rng.random((2, LANES)) < 0.9, -np.abs(drops) - 3.0, 0.6)
    point = drops + rng.normal(0.0, 0.01 if manner == "calm" else 5.0, (2, LANES))
    if manner == "apart":
        rows[0] *= rng.random((2, LANES)) < 0.7
        rows[1] = rng.normal(0.0, 1.0, (2, LANES))
    drops[:, 0] = point[:, 0] = 0.0
    grown = law_growth(law, point, rows[3], rows[4])
    tangent = True
    slope, push, _amps = straightened(law, tangent, point, *rows, grown)
    return rows, np.array([point, slope, push]), drops


def asked(law: int, rows: np.ndarray, line: np.ndarray, drop: np.ndarray) -> tuple:
    """Give (lawful, point, slope, j, current) as `newton` does."""
    g, emf, first, second, third = rows
    to = drop - emf
    far = is_too_far(law, to, line[0], second)
    limited = limited_step(law, to, line[0], g, first, second)
    to = np.where(far, limited, to)
    grown = law_growth(law, to, second, third)
    lawful, slope, push = next_line(law, drop, to, g, emf, first, second, third, grown, *line)
    amps, _slope = law_current(law, to, g, first, second, third)
    return lawful, to, slope, push, np.where(g > 0.0, amps, 0.0)


def same(mine: np.ndarray, theirs: np.ndarray) -> bool:
    """Tell whether bits agree, but for the sign of a zero."""
    return (np.asarray(mine) + 0.0).tobytes() == (np.asarray(theirs) + 0.0).tobytes()


@pytest.mark.parametrize("manner", ["deep", "calm", "wild", "apart"])
@pytest.mark.parametrize("law", SHAPES)
def test_a_block_takes_the_steps_of_newton(law: int, manner: str) -> None:
    with quiet():
        rows, lines, drops = lanes_of(law, manner)
    factor = np.where(rows[0] > 0.0, 1.0, 0.0)
    flags = (all(each) for each in alike([law, law], rows))
    out = np.empty((4, 2, LANES))
    out[0] = drops
    with quiet():
        block = Block(law, slice(0, 2), tuple(rows), factor, *flags)
        lawful = block.step(tuple(lines), tuple(out), judged=True)
        theirs = asked(law, rows, lines, drops)
    assert (lawful == theirs[0]).all()
    for mine, their in zip(out, theirs[1:], strict=True):
        assert same(mine, their)


@pytest.mark.parametrize("manner", ["deep", "calm", "wild", "apart"])
@pytest.mark.parametrize("law", SHAPES)
def test_plain_numbers_take_the_steps_of_newton(law: int, manner: str) -> None:
    with quiet():
        rows, lines, drops = lanes_of(law, manner)
        lawful, _to, *theirs = asked(law, rows[:, 0], lines[:, 0], drops[0])
    told = [
        number_laws().step(law, drop, row, line)
        for drop, row, line in zip(
            drops[0].tolist(), rows[:, 0].T.tolist(), lines[:, 0].T.tolist(), strict=True
        )
    ]
    assert [each[0] for each in told] == lawful.tolist()
    for mine, their in zip(zip(*(each[2:] for each in told), strict=True), theirs, strict=True):
        assert same(mine, their)


def test_what_is_left_out_backwards_has_no_bit_in_current_or_slope() -> None:
    """At the least depth: -Is + V Gmin and Gmin, also with the exponential worked out."""
    volts = np.array([-60.0 * 0.0437, -61.0 * 0.0437, -12.0])
    amps, slope = law_current(DIODE, volts, 1.0, 1e-12, 0.0437, 0.0)
    assert amps.tolist() == (-1e-12 + 1e-12 * volts).tolist()
    assert slope.tolist() == [1e-12] * 3
