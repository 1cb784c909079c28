"""What moves: whether anything in the circuit changes with time, and figures of its curve.

A steady state does not see a switched or alternating element; an instrument that does needs the
circuit's curve in time. `traced` is the one place where a curve is asked for. Figures of a curve:
mean over time;
true RMS without the mean; frequency and duty from edges through the middle of the swing, with a
tenth of it as hysteresis, edges interpolated, over whole periods only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.network import AMPLITUDE, CONDUCTANCE, FREQUENCY, WAVE, Floats
from sim.parts.family import Wave
from sim.solver.laws import SOLVED
from sim.solver.waveform import waveform
from sim.view import View

HYSTERESIS = 0.1  # of the swing
STILL = 1e-3  # V or A: a swing below that has no edges; ours
METER_WINDOW = 0.1  # s that a meter looks at, in whole periods; ours
SAMPLES_A_PERIOD, LEAST, MOST = 100.0, 2000, 40_000  # of a meter's look
PROBE = 10e6  # ohm, a 10:1 probe, and a meter's input
SETTLING = 0.3  # s that what repeats runs ahead of the screen; ours: a heavy fan takes longer


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
    samples: int = 2000


@dataclass(frozen=True, slots=True)
class Curves:
    """Curves of all variants: `time` in s (T,), `values` in V or A (channels, V, T)."""

    time: Floats
    values: Floats


def moves(view: View) -> bool:
    """Tell whether any element in circuit, on any variant, changes with time."""
    return bool(_moving(view.rows).any())


def switches(view: View) -> bool:
    """Tell whether any element in circuit, on any variant, is switched on and off for ever.

    Then a steady state, which takes it as on, is not what a meter on DC shows: that is the mean.
    What alternates about a steady value has its mean there already.
    """
    return bool((_moving(view.rows) & (view.rows[..., WAVE] == Wave.SWITCHED)).any())


def _moving(rows: Floats) -> npt.NDArray[np.bool_]:
    """Return which elements (V, E) move: those that are in circuit, swing and have a rhythm."""
    swing, wave = rows[..., AMPLITUDE], rows[..., WAVE]
    alternates = (wave == Wave.SINE) & (swing != 0.0)
    switched = (wave == Wave.SWITCHED) & (swing > 0.0) & (swing < 1.0)
    in_circuit = (rows[..., CONDUCTANCE] > 0.0) & (rows[..., FREQUENCY] > 0.0)
    found: npt.NDArray[np.bool_] = in_circuit & (alternates | switched)
    return found


def traced(view: View, sweep: Sweep) -> Curves:
    """Return the circuit's curves in time, from the trigger or from when the controls move.

    Parameters
    ----------
    view : View
        The vehicles as they stand; its action's settings are the controls operated at t = 0.
    sweep : Sweep
        Points are written as in the action. The first pair of points is loaded by the probe; what
        a second channel of 10 Mohm adds is left out.
    """
    network, circuit = view.network, view.circuit
    resting = dict(view.situation.controls)
    before = view.rows_with(resting)
    after = view.rows_with({**resting, **dict(view.doing.settings)})
    lanes = view.lanes(view.memory)
    view.put_jumper(lanes, view.fleet.solver.lead)
    pairs = [(c.red, c.black) for c in sweep.channels if not c.wire]
    if pairs:
        lanes.instruments[:, 0, :2] = (1.0 / PROBE, 0.0)
        lanes.attached[:, :2] = [network.node(circuit.point(end)) for end in pairs[0]]
    screens = 2 if sweep.source else 1  # a trigger is looked for in the first of two
    trace = waveform(
        view.fleet.solver,
        before,
        after,
        lanes,
        duration=screens * sweep.seconds,
        step=sweep.seconds / sweep.samples,
        points=[network.node(circuit.point(end)) for pair in pairs for end in pair],
        elements=[network.element(f"{c.wire} first half") for c in sweep.channels if c.wire],
        lead_in=0.0 if view.doing.settings else SETTLING,
    )
    view.failed |= trace.status != SOLVED
    volts, amps = iter(trace.volts.swapaxes(0, 1)), iter(trace.current.swapaxes(0, 1))
    values = np.array([next(amps) if c.wire else next(volts) - next(volts) for c in sweep.channels])
    return _begun(Curves(trace.time, values), sweep)


def _begun(curves: Curves, sweep: Sweep) -> Curves:
    """Return one screen of each variant, from its own first crossing of the trigger level on."""
    if not sweep.source:
        return curves
    source = [channel.name for channel in sweep.channels].index(sweep.source)
    cut = np.empty((*curves.values.shape[:2], sweep.samples + 1))
    for lane in range(cut.shape[1]):
        curve = curves.values[source, lane]
        above = curve >= sweep.level if sweep.slope == "rising" else curve <= sweep.level
        hits = np.flatnonzero(~above[: sweep.samples] & above[1 : sweep.samples + 1])
        at = int(hits[0]) + 1 if len(hits) else 0
        cut[:, lane] = curves.values[:, lane, at : at + sweep.samples + 1]
    return Curves(curves.time[: sweep.samples + 1], cut)


def measured(view: View, figure: str) -> Floats:
    """Return mean, rms (V or A), frequency (Hz) or duty (%) of what the action measures, (V,)."""
    doing = view.doing
    wire = doing.target if doing.verb == "clamp" else ""
    seconds, samples = _window(view)
    channel = Channel("A", doing.red, doing.black, wire)
    curves = traced(view, Sweep((channel,), seconds, samples=samples))
    if figure == "mean":
        return mean(curves.time, curves.values[0])
    if figure == "rms":
        return rms(curves.values[0])
    pairs = np.array([rhythm(curves.time, one) for one in curves.values[0]])
    frequency, duty = pairs[:, 0], pairs[:, 1]
    return np.nan_to_num(frequency) if figure == "frequency" else duty


def _window(view: View) -> tuple[float, int]:
    """Return how long a meter looks, in s, and at how many samples: whole periods of what moves.

    Several rhythms at once do not all fit; the window then holds whole periods of the slowest.
    """
    rows = view.rows[_moving(view.rows)]
    if not len(rows):
        return METER_WINDOW, LEAST
    slow, fast = float(rows[:, FREQUENCY].min()), float(rows[:, FREQUENCY].max())
    seconds = math.ceil(METER_WINDOW * slow) / slow
    return seconds, int(np.clip(SAMPLES_A_PERIOD * fast * seconds, LEAST, MOST))


def mean(time: Floats, values: Floats) -> Floats:
    """Return the mean over time of curves (..., T), by the trapezoidal rule."""
    found: Floats = np.trapezoid(values, time, axis=-1) / (time[-1] - time[0])
    return found


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
