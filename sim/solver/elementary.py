"""exp, log and powers out of additions, multiplications and one division.

A mathematical library may give other last bits than another, or than its own vector version. These
give the same bits compiled or not, for one number or for an array of them, because each operation
in them is rounded as IEEE 754 prescribes. Error: below 1 unit in the last place or two.

Exponential: ``exp(x) = 2^n exp(r)`` with ``r = x - n ln 2``, ``|r| <= ln(2) / 2``, and the Taylor
series of exp(r), of which the term after the last is below 4e-18. Logarithm: ``x = 2^k m`` with m
from 1/sqrt(2) to sqrt(2), ``log m = 2 artanh((m - 1) / (m + 1))``, and the series of artanh, of
which the term after the last is below 1e-19 (Hart et al., Computer Approximations, 1968, treats
both reductions; ln 2 in two pieces, of which the first has 20 bits to spare, after Cody & Waite,
Software Manual for the Elementary Functions, 1980).
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import Number, compilable

LOG2_E = 1.4426950408889634
LN_2_HIGH, LN_2_LOW = 6.93147180369123816490e-01, 1.90821492927058770002e-10
ROUNDER = 6755399441055744.0  # 1.5 * 2**52: added, a double keeps no bits behind the point
ROUNDER_BITS = 4843621399236968448
ONE_BITS, FRACTION_BITS = 4607182418800017408, 52
ROOT_HALF_BITS = 4604544271217802189  # of 1 / sqrt(2)
LARGEST = 700.0  # of an exponent; beyond it a double is near its end
SMALLEST = 1e-300  # a number below it is taken for it, by `log` and `power`

E13, E12, E11, E10, E9, E8 = (1.0 / math.factorial(n) for n in range(13, 7, -1))
E7, E6, E5, E4, E3 = (1.0 / math.factorial(n) for n in range(7, 2, -1))


@compilable
def exp(x: Number) -> Number:
    """Return e^x, x being kept between -700 and 700."""
    x = np.minimum(np.maximum(x, -LARGEST), LARGEST)
    shifted = x * LOG2_E + ROUNDER
    n = shifted - ROUNDER
    r = (x - n * LN_2_HIGH) - n * LN_2_LOW
    p = E13 * r + E12
    p = (((p * r + E11) * r + E10) * r + E9) * r + E8
    p = (((p * r + E7) * r + E6) * r + E5) * r + E4
    p = ((p * r + E3) * r + 0.5) * r * r + r + 1.0
    scale = (np.float64(shifted).view(np.int64) << FRACTION_BITS) + ONE_BITS
    return p * np.int64(scale).view(np.float64)


@compilable
def log(x: Number) -> Number:
    """Return the natural logarithm of x, of 1e-300 where x is less."""
    bits = np.float64(np.maximum(x, SMALLEST)).view(np.int64)
    power_of_2 = (bits - ROOT_HALF_BITS) >> FRACTION_BITS
    m = np.int64(bits - (power_of_2 << FRACTION_BITS)).view(np.float64)
    k = np.int64(power_of_2 + ROUNDER_BITS).view(np.float64) - ROUNDER
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    p = 1.0 / 23.0 * z + 1.0 / 21.0
    p = (((p * z + 1.0 / 19.0) * z + 1.0 / 17.0) * z + 1.0 / 15.0) * z + 1.0 / 13.0
    p = (((p * z + 1.0 / 11.0) * z + 1.0 / 9.0) * z + 1.0 / 7.0) * z + 1.0 / 5.0
    p = (p * z + 1.0 / 3.0) * z
    return k * LN_2_HIGH + (2.0 * s + (2.0 * s * p + k * LN_2_LOW))


@compilable
def power(x: Number, exponent: Number) -> Number:
    """Return |x|^exponent, x = 0 being taken for 1e-300."""
    return exp(exponent * log(np.abs(x)))
