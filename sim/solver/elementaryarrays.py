"""exp, log and powers of `sim.solver.elementary`, of arrays: the same operations, in place.

Numpy gives every result new memory, which costs as much as the operation; here a few rows are
written over again and again. Every operation is that of `elementary` in its order, so that the bits
are the same; a test compares them.
"""

from __future__ import annotations

import numpy as np

from sim.network import Floats
from sim.solver.elementary import (
    E3,
    E4,
    E5,
    E6,
    E7,
    E8,
    E9,
    E10,
    E11,
    E12,
    E13,
    FRACTION_BITS,
    LARGEST,
    LN_2_HIGH,
    LN_2_LOW,
    LOG2_E,
    ONE_BITS,
    ROOT_HALF_BITS,
    ROUNDER,
    ROUNDER_BITS,
    SMALLEST,
)

EXP_SERIES = (E11, E10, E9, E8, E7, E6, E5, E4, E3, 0.5)
LOG_SERIES = tuple(1.0 / n for n in (19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0))


def exp_in_place(x: Floats) -> Floats:
    """Return e^x, x being kept between -700 and 700; x is written over."""
    np.maximum(x, -LARGEST, out=x)
    np.minimum(x, LARGEST, out=x)
    n = x * LOG2_E
    n += ROUNDER
    scale = n.view(np.int64) << FRACTION_BITS
    scale += ONE_BITS
    n -= ROUNDER
    r = n * LN_2_HIGH
    np.subtract(x, r, r)
    n *= LN_2_LOW
    r -= n
    p = np.multiply(r, E13, n)
    p += E12
    for factor in EXP_SERIES:
        p *= r
        p += factor
    p *= r
    p *= r
    p += r
    p += 1.0
    p *= scale.view(np.float64)
    return p


def log_in_place(x: Floats) -> Floats:
    """Return the natural logarithm of x, of 1e-300 where x is less; x is written over."""
    bits = np.maximum(x, SMALLEST, out=x).view(np.int64)
    power_of_2 = bits - ROOT_HALF_BITS
    power_of_2 >>= FRACTION_BITS
    bits -= power_of_2 << FRACTION_BITS
    power_of_2 += ROUNDER_BITS
    k, m = power_of_2.view(np.float64), x
    k -= ROUNDER
    s = m - 1.0
    m += 1.0
    s /= m
    z = np.multiply(s, s, m)
    p = z * (1.0 / 23.0)
    p += 1.0 / 21.0
    for factor in LOG_SERIES:
        p *= z
        p += factor
    p *= z
    s *= 2.0
    p *= s
    p += np.multiply(k, LN_2_LOW, z)
    p += s
    k *= LN_2_HIGH
    k += p
    return k


def power_of(x: Floats, exponent: Floats) -> Floats:
    """Return |x|^exponent, x = 0 being taken for 1e-300; x stays."""
    grown = log_in_place(np.abs(x))
    grown *= exponent
    return exp_in_place(grown)
