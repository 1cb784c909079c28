"""What moves: whether anything in the circuit changes with time, and figures of its curve.

A steady state does not see a switched or alternating element; an instrument that does needs the
circuit's curve in time. `traced` is the one place where a curve is asked for. Figures of a curve:
true RMS without the mean; frequency and duty from edges through the middle of the swing, with a
tenth of it as hysteresis, edges interpolated, over whole periods only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.errors import ActionError
from sim.network import CONDUCTANCE, WAVE, Floats
from sim.view import View

HYSTERESIS = 0.1  # of the swing
STILL = 1e-3  # V or A: a swing below that has no edges; ours
METER_WINDOW, METER_SAMPLES = 0.2, 5000  # s that a meter looks at; common practice, no source


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel: between two points, or around a wire."""

    name: str
    red: str = ""
    black: str = ""
    wire: str = ""


@dataclass(frozen=True, slots=True)
class Sweep:
    """What is asked of a curve.

    Attributes
    ----------
    channels : tuple of Channel
    seconds : float
        Width of the screen.
    source, slope : str
        Trigger channel and slope; empty to begin with the controls.
    level : float
        Trigger level, V or A.
    samples : int
        Steps of the curve across it.
    """

    channels: tuple[Channel, ...]
    seconds: float
    source: str = ""
    slope: str = ""
    level: float = 0.0
    samples: int = 500


@dataclass(frozen=True, slots=True)
class Curves:
    """Curves of all variants: `time` in s (T,), `values` in V or A (channels, V, T)."""

    time: Floats
    values: Floats


def moves(view: View) -> bool:
    """Tell whether any element in circuit, on any variant, changes with time."""
    on = view.rows[..., CONDUCTANCE] > 0.0
    return bool((on & (view.rows[..., WAVE] != 0.0)).any())


def traced(_view: View, _sweep: Sweep) -> Curves:
    """Return the circuit's curves in time.

    Parameters
    ----------
    view : View
        The vehicles as they stand; its action's settings are the controls operated at t = 0.
    sweep : Sweep
        Points are written as in the action.

    Raises
    ------
    ActionError
        Always, as long as the bench solves steady states only.
    """
    raise ActionError("the oscilloscope is not on this bench yet: steady states only")


def measured(view: View, figure: str) -> Floats:
    """Return rms (V or A), frequency (Hz) or duty (%) of what the action measures, (V,)."""
    doing = view.doing
    wire = doing.target if doing.verb == "clamp" else ""
    channel = Channel("A", doing.red, doing.black, wire)
    curves = traced(view, Sweep((channel,), METER_WINDOW, samples=METER_SAMPLES))
    if figure == "rms":
        return rms(curves.values[0])
    pairs = np.array([rhythm(curves.time, one) for one in curves.values[0]])
    frequency, duty = pairs[:, 0], pairs[:, 1]
    return np.nan_to_num(frequency) if figure == "frequency" else duty


def rms(values: Floats) -> Floats:
    """Return the true RMS of curves (..., T) without their mean."""
    found: Floats = np.asarray(values).std(axis=-1)
    return found


def rhythm(time: Floats, curve: Floats) -> tuple[float, float]:
    """Return (frequency in Hz, duty in %) of one curve; nan where it has no two rising edges."""
    low, high = float(curve.min()), float(curve.max())
    swing, middle = high - low, (low + high) / 2.0
    if swing < STILL:
        return float("nan"), float("nan")
    level = np.where(curve > middle + HYSTERESIS * swing, 1, 0)
    level = np.where(curve < middle - HYSTERESIS * swing, -1, level)
    last = np.maximum.accumulate(np.where(level != 0, np.arange(len(curve)), 0))
    state = level[last]
    turns = np.flatnonzero((state[1:] != state[:-1]) & (state[:-1] != 0)) + 1
    edges = [(_crossing(time, curve, middle, int(at)), int(state[at])) for at in turns]
    rising = [when for when, way in edges if way > 0]
    if len(rising) < 2:  # noqa: PLR2004 -- a period has two ends
        return float("nan"), float("nan")
    whole = rising[-1] - rising[0]
    falling = [when for when, way in edges if way < 0 and rising[0] < when < rising[-1]]
    above = sum(falling) - sum(rising[: len(falling)])
    return (len(rising) - 1) / whole, 100.0 * above / whole


def _crossing(time: Floats, curve: Floats, middle: float, at: int) -> float:
    """Return when a curve went through the middle last, at or before a sample beyond it."""
    while at > 1 and (curve[at - 1] - middle) * (curve[at] - middle) > 0.0:
        at -= 1
    share = (middle - curve[at - 1]) / (curve[at] - curve[at - 1])
    return float(time[at - 1] + share * (time[at] - time[at - 1]))
