"""A two-channel oscilloscope: from a waveform to what stands on its screen.

Specification (ours, of the usual class of hand-held automotive oscilloscopes; common practice, no
source):

- two channels, each volts between two points through a 10:1 probe of 10 Mohm, or amperes from a
  clamp (10 mV/A, no load on the circuit);
- 10 divisions of time; 500 samples across the screen;
- ranges of 8 divisions of volts or amperes, 1-2-5; 8 bits: a sample is one of 256 levels of the
  range, and what is beyond shows as its edge;
- bandwidth 1 MHz for volts, 20 kHz for the clamp, as a single pole: ``dy/dt = 2 pi f (x - y)``;
- trigger on one channel by level and slope, with a share of the screen before it; without a
  trigger the screen begins where the record does (as an automatic trigger does).

A screen is a record: the same waveform gives the same screen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.compiled import compiled
from sim.errors import ActionError
from sim.instruments.averages import between, crossings, mean, period_between
from sim.network import Floats

INPUT_RESISTANCE = 10e6  # ohm, with its probe
CHANNELS = 2
SAMPLES = 500  # across the screen
DIVISIONS = 10  # of time
LEVELS = 256  # 8 bits
ACROSS = 8  # divisions of volts or amperes
VOLTS_BANDWIDTH = 1e6  # Hz
CLAMP_BANDWIDTH = 20e3  # Hz
VOLTS_PER_DIVISION = (*(m * 10.0**e for e in range(-2, 2) for m in (1, 2, 5)), 100.0)
AMPS_PER_DIVISION = tuple(m * 10.0**e for e in range(-1, 3) for m in (1, 2, 5))
SECONDS_PER_DIVISION = tuple(m * 10.0**e for e in range(-5, 1) for m in (1, 2, 5))


@dataclass(frozen=True, slots=True)
class Channel:
    """How a channel is set.

    Attributes
    ----------
    unit : str
        "V" or "A" (a clamp).
    scale : float
        Per division: one of `VOLTS_PER_DIVISION` or `AMPS_PER_DIVISION`.
    middle : float
        Volts or amperes in the middle of the screen.
    """

    unit: str = "V"
    scale: float = 5.0
    middle: float = 0.0


@dataclass(frozen=True, slots=True)
class Trigger:
    """When the screen begins.

    Attributes
    ----------
    channel : int
        0 or 1.
    level : float
        Volts or amperes.
    rising : bool
    before : float
        Share of the screen ahead of the trigger, 0 to 1.
    """

    channel: int = 0
    level: float = 0.0
    rising: bool = True
    before: float = 0.1


@dataclass(frozen=True, slots=True)
class Line:
    """One channel as displayed.

    Attributes
    ----------
    values : float array (500,)
        As displayed: filtered, in steps of 1/256 of the range, cut off at its edges.
    unit : str
    scale : float
        Per division.
    mean, peak_to_peak, least, most : float
        Of the values; the mean over whole periods where there are any.
    frequency, duty : float or None
        Hz and share of a period above the middle; None if nothing repeats on the screen.
    """

    values: Floats
    unit: str
    scale: float
    mean: float
    peak_to_peak: float
    least: float
    most: float
    frequency: float | None
    duty: float | None


@dataclass(frozen=True, slots=True)
class Screen:
    """What stands on the screen: time in s from the trigger, and the channels in order."""

    time: Floats
    lines: tuple[Line, ...]
    triggered: bool


def sample_step(per_division: float) -> float:
    """Return the time between samples in s for a time base in s per division."""
    return per_division * DIVISIONS / SAMPLES


def show(
    time: Floats,
    inputs: tuple[Floats, ...],
    channels: tuple[Channel, ...],
    per_division: float,
    trigger: Trigger | None = None,
) -> Screen:
    """Return the screen that waveforms give.

    Parameters
    ----------
    time : float array (T,)
        s, evenly spaced; a record of at least a screen's length.
    inputs : float arrays (T,)
        V or A of each channel, as `sim.solver.waveform` gives them.
    channels : tuple of Channel
        As many, one or two.
    per_division : float
        s, one of `SECONDS_PER_DIVISION`.
    trigger : Trigger, optional

    Raises
    ------
    ActionError
        A setting that the oscilloscope does not have, or a record shorter than the screen.
    """
    _check(time, inputs, channels, per_division, trigger)
    step = float(time[1] - time[0])
    filtered = [
        low_pass(values, step, bandwidth(channel))
        for values, channel in zip(inputs, channels, strict=True)
    ]
    width = per_division * DIVISIONS
    begin, triggered = float(time[0]), False
    if trigger is not None:
        begin, triggered = _begin(time, filtered[trigger.channel], trigger, width)
    grid: Floats = begin + np.arange(SAMPLES, dtype=np.float64) * sample_step(per_division)
    lines = tuple(
        _line(grid, np.interp(grid, time, values), channel)
        for values, channel in zip(filtered, channels, strict=True)
    )
    ahead = trigger.before * width if trigger is not None and triggered else 0.0
    return Screen(grid - (begin + ahead), lines, triggered)


def bandwidth(channel: Channel) -> float:
    """Return where a channel's single pole is, Hz."""
    return CLAMP_BANDWIDTH if channel.unit == "A" else VOLTS_BANDWIDTH


def low_pass(values: Floats, step: float, hertz: float) -> Floats:
    """Return what a single pole leaves of evenly spaced samples, straight between them.

    Exact for straight pieces: with p = 2 pi f, k = exp(-p h) and slope s over a piece, ``y1 = x1
    - s/p + (y0 - x0 + s/p) k``. It begins settled.
    """
    rate = 2 * math.pi * hertz
    keep = math.exp(-rate * step)
    lag = np.diff(values) / (step * rate)
    out = values.astype(np.float64)
    add_lag(out, lag, keep)
    return out


@compiled
def add_lag(values: Floats, lag: Floats, keep: float) -> None:
    """Let samples lag behind themselves; `lag` is s/p of each piece, of which `keep` is left."""
    behind = 0.0  # y - x
    for k in range(len(lag)):
        behind = (behind + lag[k]) * keep - lag[k]
        values[k + 1] = values[k + 1] + behind


def quantise(values: Floats, channel: Channel) -> Floats:
    """Return values as one of 256 levels of the range, the nearest, cut off at its edges."""
    size = channel.scale * ACROSS / LEVELS
    level = np.clip(np.round((values - channel.middle) / size), -LEVELS // 2, LEVELS // 2 - 1)
    shown: Floats = channel.middle + level * size
    return shown


def fitting(values: Floats, unit: str) -> Channel:
    """Return the most sensitive setting whose eight divisions hold a curve, as one would turn it.

    The middle of the screen is put on a whole division.
    """
    scales = AMPS_PER_DIVISION if unit == "A" else VOLTS_PER_DIVISION
    low, high = float(values.min()), float(values.max())
    for scale in scales:
        middle = round((low + high) / 2 / scale) * scale
        if max(high - middle, middle - low) <= scale * (ACROSS / 2 - 0.5):
            return Channel(unit, scale, middle)
    return Channel(unit, scales[-1], 0.0)


def _line(time: Floats, values: Floats, channel: Channel) -> Line:
    shown = quantise(values, channel)
    least, most = float(shown.min()), float(shown.max())
    up, down = crossings(time, shown)
    repeats = period_between(up, down)
    return Line(
        shown,
        channel.unit,
        channel.scale,
        mean(*between(time, shown, up)),
        most - least,
        least,
        most,
        None if repeats is None else repeats.frequency,
        None if repeats is None else repeats.duty,
    )


def _begin(time: Floats, values: Floats, trigger: Trigger, width: float) -> tuple[float, bool]:
    """Return where the screen begins, and whether the trigger was found.

    The first crossing that leaves a whole screen; else the screen begins where the record does.
    """
    rises, falls = crossings(time, values, level=trigger.level)
    ahead = trigger.before * width
    for at in rises if trigger.rising else falls:
        if at - ahead >= time[0] - 1e-12 and at - ahead + width <= time[-1] * (1 + 1e-12) + 1e-12:
            return float(at - ahead), True
    return float(time[0]), False


def _check(
    time: Floats,
    inputs: tuple[Floats, ...],
    channels: tuple[Channel, ...],
    per_division: float,
    trigger: Trigger | None,
) -> None:
    if not 1 <= len(channels) <= CHANNELS or len(inputs) != len(channels):
        raise ActionError(
            f"the oscilloscope has {CHANNELS} channels; got {len(channels)} settings for "
            f"{len(inputs)} inputs"
        )
    for channel in channels:
        scales = AMPS_PER_DIVISION if channel.unit == "A" else VOLTS_PER_DIVISION
        if channel.unit not in {"V", "A"} or not _among(channel.scale, scales):
            allowed = ", ".join(f"{scale:g}" for scale in scales)
            raise ActionError(
                f"the oscilloscope has no {channel.scale:g} {channel.unit} per division; "
                f"allowed: {allowed} (V or A)"
            )
    if not _among(per_division, SECONDS_PER_DIVISION):
        raise ActionError(
            f"the oscilloscope has no {per_division:g} s per division; allowed: 1, 2 or 5 times a "
            "power of ten from 10 us to 5 s"
        )
    if trigger is not None and not (
        trigger.channel < len(channels) and 0.0 <= trigger.before <= 1.0
    ):
        raise ActionError(
            f"the trigger is on channel {trigger.channel + 1} of {len(channels)} with "
            f"{trigger.before:g} of the screen before it; allowed: a channel in use, 0 to 1"
        )
    if time[-1] - time[0] < per_division * DIVISIONS * (1 - 1e-9):
        raise ActionError(
            f"the record of {time[-1] - time[0]:g} s is shorter than the screen of "
            f"{per_division * DIVISIONS:g} s"
        )


def _among(value: float, allowed: tuple[float, ...]) -> bool:
    return any(math.isclose(value, one, rel_tol=1e-9) for one in allowed)
