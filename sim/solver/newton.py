"""One step of a curved element towards its operating point; the same for numbers and arrays.

A curved element is straightened about its present voltage p: ``I = s d - j`` over its drop d, with
the slope s of its law there and ``j = s (e + p) - I(p)``, until it obeys its law where the straight
network puts it. A lamp is taken as its chord V / I while its steps are above 30 %: tangent steps
towards a dead circuit oscillate. Steps of the other laws are limited (see `sim.solver.laws`).

A lane that has not come to rest after `CALM` steps goes on by line search: a step is made only as
far as the sum of (I of the law - I of the network) x step rises to 0. Currents rise with voltages,
so that this sum is the slope of a convex function (the co-content: Millar, Philosophical Magazine
42, 1951), which every step lowers.
"""

from __future__ import annotations

import numpy as np

from sim.compiled import Number, choose, compilable
from sim.solver.elementary import power
from sim.solver.laws import (
    DIODE,
    GMIN,
    LAMP,
    MOTOR,
    diode_critical,
    diode_growth,
    grown_diode_current,
    grown_lamp_current,
    limited_bend_step,
    limited_diode_step,
    limiter_current,
    motor_current,
)

MAX_NEWTON = 200
CALM = 24  # steps before line search; ours: ordinary circuits take 3 to 10
HALVINGS = 40  # of a line search
TOLERANCE = 1e-11  # A per (1 A + |I|), of which no more than `MOST_AMPS` count
MOST_AMPS = 20.0  # A: beyond, a share of the current would be more than Kirchhoff's law may miss
ROUNDING = 1e-15  # of the voltage, what a steep law cannot tell apart
STILL = 1e-9  # V per (1 V + |V|); where a leak of 1 pS counts, 1e-11 A is a great deal
CHORD_STEP = 0.3  # relative voltage step above which a lamp is taken as its chord
CHORD_START = 10.0  # V at which a lamp's first chord is taken; ours: near what most lamps see
DARK = 1.0  # V below which it is taken there again when a relay has switched
#: Rows kept of a curved element: its row of the network (5), the voltage p it is straightened
#: about, slope s and j of the straight line, what they will be if the lane goes on, the current
#: that the straight network carries at p, and what `law_growth` says of the next point.
CONDUCTANCE, EMF, SHAPE, POINT, SLOPE, PUSH = 0, 1, 2, 5, 6, 7
NEXT_POINT, NEXT_SLOPE, NEXT_PUSH, FLOW, GROWN = 8, 9, 10, 11, 12
KEPT = 13


@compilable
def law_growth(law: int, volts: Number, second: Number, third: Number) -> Number:
    """Return the power or exponential in an element's law, which is most of the work; else 0."""
    if law == LAMP:
        return power(volts, third)
    if law == DIODE:
        return diode_growth(volts, second)
    return 0.0


@compilable
def law_current(
    law: int, volts: Number, g: Number, first: Number, second: Number, third: Number
) -> Number:
    """Return (I in A, dI/dV in S) of a curved element, its slope at least 1 pS."""
    grown = law_growth(law, volts, second, third)
    return grown_current(law, volts, g, first, second, third, grown)


@compilable
def grown_current(
    law: int,
    volts: Number,
    g: Number,
    first: Number,
    second: Number,
    third: Number,
    grown: Number,
) -> Number:
    """Return the same of an element of which `law_growth` is known."""
    if law == LAMP:
        return grown_lamp_current(volts, first, second, third, grown)
    if law == DIODE:
        return grown_diode_current(volts, first, second, grown)
    if law == MOTOR:
        amps, slope = motor_current(volts, g, first, second, third)
    else:
        amps, slope = limiter_current(volts, g, first, second, third)
    return amps, np.maximum(slope, GMIN)


@compilable
def is_too_far(law: int, new: Number, old: Number, second: Number) -> Number:
    """Tell whether a step may have to be limited; a lamp's never has."""
    if law == DIODE:
        return (new > 0.0) & (np.abs(new - old) > 2.0 * second)
    return (new != old) & (law != LAMP)


@compilable
def limited_step(
    law: int, new: Number, old: Number, g: Number, first: Number, second: Number
) -> Number:
    """Return the voltage to go to, where going all the way would be too far."""
    if law == DIODE:
        return limited_diode_step(new, old, diode_critical(first, second), second)
    if law == MOTOR:
        return limited_bend_step(new, old, first / g, first / g)
    return limited_bend_step(new, old, first / g, second / g)


@compilable
def straightened(
    law: int,
    tangent: Number,
    volts: Number,
    g: Number,
    emf: Number,
    first: Number,
    second: Number,
    third: Number,
    grown: Number,
) -> Number:
    """Return (slope, j, I) of an element straightened about a voltage; a lamp maybe by chord."""
    amps, slope = grown_current(law, volts, g, first, second, third, grown)
    beside = slope * volts - amps  # what the line misses the origin by
    if law == LAMP:
        line = tangent | (volts == 0.0)
        slope = choose(line, slope, amps / choose(line, 1.0, volts))
        beside = choose(line, beside, 0.0)
    there = choose(g > 0.0, 1.0, 0.0)
    return there * slope, there * (slope * emf + beside), there * amps


@compilable
def is_lawful(slope: Number, new: Number, flowing: Number, amps: Number, steep: Number) -> Number:
    """Tell whether what flows is what the law asks for, to the tolerances."""
    missing = np.abs(flowing - amps)
    told_apart = ROUNDING * steep * (1.0 + np.abs(new))
    near = missing <= TOLERANCE * (1.0 + np.minimum(np.abs(amps), MOST_AMPS)) + told_apart
    return (slope == 0.0) | (near & (missing <= STILL * steep * (1.0 + np.abs(new))))


@compilable
def next_line(
    law: int,
    drop: Number,
    to: Number,
    g: Number,
    emf: Number,
    first: Number,
    second: Number,
    third: Number,
    grown: Number,
    point: Number,
    slope: Number,
    push: Number,
) -> Number:
    """Return (lawful, slope, j) of the next line after a solution of the straight network.

    Parameters
    ----------
    law : int
    drop : float or array
        V across the element in that solution.
    to
        The voltage to go to: ``drop - emf``, or less far (`limited_step`).
    g, emf, first, second, third
        Its row of the network.
    grown
        `law_growth` at the voltage to go to.
    point, slope, push
        What it was straightened about, and the straight line.
    """
    new = drop - emf
    tangent = np.abs(to - point) <= CHORD_STEP * np.abs(to)
    steep, pushed, amps = straightened(law, tangent, to, g, emf, first, second, third, grown)
    lawful = is_lawful(slope, new, slope * drop - push, amps, steep) & ((to == new) | (g == 0.0))
    return lawful, steep, pushed


@compilable
def shared_line(
    law: int,
    drop: Number,
    g: Number,
    emf: Number,
    first: Number,
    second: Number,
    third: Number,
    point: Number,
    slope: Number,
    push: Number,
    flow: Number,
    share: Number,
) -> Number:
    """Return (lawful, point, slope, j, network's current) after a share of a step.

    As `next_line`; `flow` is the network's current at `point`. Lawful is judged at the whole step.
    """
    new, flowing = drop - emf, slope * drop - push
    whole = share == 1.0
    to = choose(whole, new, point + share * (new - point))
    amps, steep = law_current(law, new, g, first, second, third)
    lawful = is_lawful(slope, new, flowing, amps, steep)
    grown = law_growth(law, to, second, third)
    next_slope, next_push, _amps = straightened(
        law, share > 0.0, to, g, emf, first, second, third, grown
    )
    return (
        lawful,
        to,
        next_slope,
        next_push,
        choose(whole, flowing, flow + share * (flowing - flow)),
    )
