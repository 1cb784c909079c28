"""How meters read what changes with time: mean, true RMS, frequency and duty.

Specification (ours, of the usual class; common practice, no source): a DC meter shows the mean
over its window of 0.3 s; an AC meter shows the root of the mean square of what is left when the
mean is taken off (true RMS, AC coupled). For a periodic waveform both are those of a whole number
of periods, as far as the window holds one.

    mean = 1/T integral v dt        rms = sqrt(1/T integral v^2 dt)

Between samples a waveform is taken as straight: the integral of v is the trapezoidal rule, that
of v^2 is exact for straight pieces, ``h (a^2 + a b + b^2) / 3``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.network import Floats

WINDOW = 0.3  # s, over which a meter averages
HYSTERESIS = 0.1  # of peak to peak, either side of the middle: noise makes no crossing


@dataclass(frozen=True, slots=True)
class Period:
    """What repeats: frequency in Hz, and the share of each period above the middle."""

    frequency: float
    duty: float


def mean(time: Floats, values: Floats) -> float:
    """Return the mean of a waveform over its time."""
    steps = np.diff(time)
    total = float(np.sum(steps * (values[1:] + values[:-1]) / 2))
    return total / float(time[-1] - time[0])


def mean_square(time: Floats, values: Floats) -> float:
    """Return the mean of a waveform's square over its time."""
    a, b, steps = values[:-1], values[1:], np.diff(time)
    total = float(np.sum(steps * (a * a + a * b + b * b) / 3))
    return total / float(time[-1] - time[0])


def crossings(time: Floats, values: Floats, *, level: float | None = None) -> tuple[Floats, Floats]:
    """Return when a waveform rises and when it falls through a level, in s.

    Parameters
    ----------
    time, values : float arrays (T,)
    level : float, optional
        Default the middle between its extremes. It counts as crossed where the waveform has gone
        from a tenth of its peak to peak on one side to as much on the other.
    """
    low, high = float(values.min()), float(values.max())
    middle = (low + high) / 2 if level is None else level
    band = HYSTERESIS * (high - low)
    side = np.where(values > middle + band, 1, np.where(values < middle - band, -1, 0))
    sure = np.flatnonzero(side)
    turns = np.flatnonzero(np.diff(side[sure]))
    up: list[float] = []
    down: list[float] = []
    for turn in turns:
        first, last = int(sure[turn]), int(sure[turn + 1])
        rising = side[last] > 0
        part = values[first : last + 1] - middle
        beyond = part[1:] > 0 if rising else part[1:] < 0
        k = first + int(np.argmax(beyond))
        share = (middle - values[k]) / (values[k + 1] - values[k])
        (up if rising else down).append(float(time[k] + share * (time[k + 1] - time[k])))
    return np.array(up), np.array(down)


def period(time: Floats, values: Floats) -> Period | None:
    """Return frequency and duty of what repeats; None unless it rises through its middle twice."""
    return period_between(*crossings(time, values))


def period_between(up: Floats, down: Floats) -> Period | None:
    """Return frequency and duty of what rises and falls through its middle at these times."""
    if len(up) < 2:  # noqa: PLR2004 -- two make a period
        return None
    length = (up[-1] - up[0]) / (len(up) - 1)
    high = sum(float(down[down > rise][0] - rise) for rise in up[:-1])
    return Period(float(1 / length), high / float(up[-1] - up[0]))


def whole_periods(time: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return the part of a waveform between its first and last rise through its middle.

    All of it if nothing repeats. The ends are put where the crossings are.
    """
    return between(time, values, crossings(time, values)[0])


def between(time: Floats, values: Floats, up: Floats) -> tuple[Floats, Floats]:
    """Return the part of a waveform between the first and the last of some times, if there are."""
    if len(up) < 2:  # noqa: PLR2004
        return time, values
    inside = (time > up[0]) & (time < up[-1])
    cut = np.concatenate([up[:1], time[inside], up[-1:]])
    return cut, np.interp(cut, time, values)


def in_window(time: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return what a meter averages over: its last 0.3 s, cut to whole periods."""
    last = time >= time[-1] - WINDOW * (1 + 1e-9)
    return whole_periods(time[last], values[last])


def read_dc(time: Floats, values: Floats) -> float:
    """Return what a DC meter shows of a waveform, before its own range and accuracy."""
    return mean(*in_window(time, values))


def read_ac(time: Floats, values: Floats) -> float:
    """Return what an AC meter (true RMS, AC coupled) shows of a waveform."""
    cut, inside = in_window(time, values)
    return float(np.sqrt(max(0.0, mean_square(cut, inside - mean(cut, inside)))))
