"""What moves: whether anything in the circuit changes with time, and figures of its curve.

A steady state does not see a switched or alternating element; an instrument that does needs the
circuit's curve in time. `traced` is the one place where a curve is asked for; what a meter makes
of it stands in `sim.instruments.averages`.

A fuse opens in a curve where the RMS of its current over the whole of it is more than its strip
carries for as long (`sim.slowfuses`), and then as soon as its limit is reached: the spike that
fills a capacitor, a motor's inrush and that of cold filaments pass, on a short screen too, where a
strip carries so much more. A breaker that closes by itself comes and goes in it
(`sim.instruments.turning`), and control modules act (`sim.instruments.acting`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from sim.bus import trace
from sim.bus.ports import has_bus
from sim.instruments import acting, averages, charging, turning
from sim.instruments.acting import Phases
from sim.instruments.scope import INPUT_RESISTANCE
from sim.network import FREQUENCY, SHAPE, WAVE, Floats, Network
from sim.parts.family import Wave
from sim.solver.lanes import Lanes
from sim.solver.laws import SOLVED
from sim.solver.waveform import Trace, swinging, waveform
from sim.view import View

STILL = 1e-3  # V or A: a swing below that has no edges; ours
METER_WINDOW = 0.1  # s that a meter looks at, in whole periods; ours
NEVER_OPENS = 1e9  # A
#: Of a current, what its RMS may miss by rounding: a mean of 40 000 samples misses 40 000 times
#: 1.1e-16 at most, 4e-12. Some hundred times that; at worst an RMS is worked out in vain; ours.
ROUNDING = 1e-9
SAMPLES_A_PERIOD, LEAST, MOST = 100.0, 2000, 40_000  # of a meter's look
# Fans and filaments that take longer are put to rest meanwhile (`sim.solver.leaping`).
SETTLING = 0.3  # s that what repeats runs ahead of the screen; ours


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
    return bool(swinging(view.rows).any())


def switches(view: View) -> bool:
    """Tell whether any element in circuit, on any variant, is switched on and off for ever.

    Then a steady state, which takes it as on, is not what a meter on DC shows: that is the mean.
    What alternates about a steady value has its mean there already, and so has what control
    modules pulse (see `sim.modules.pulses`).
    """
    switched = swinging(view.rows) & (view.rows[..., WAVE] == Wave.SWITCHED)
    by_rules = [element for one in view.fleet.modules.driven for element in one.elements]
    switched[..., by_rules] = False
    return bool(switched.any())


def traced(view: View, sweep: Sweep) -> Curves:
    """Return the circuit's curves in time from when the controls move, or from any moment.

    With a trigger they are two screens long, so that it finds a whole screen after it. What
    control modules do meanwhile is `sim.instruments.acting`'s; on a bus that is alive, what they
    do at once.

    Parameters
    ----------
    view : View
        The vehicles as they stand; its action's settings are the controls operated at t = 0.
    sweep : Sweep
        Points are written as in the action. The first pair of points is loaded by the probe; what
        a second channel of 10 Mohm adds is left out.
    """
    network, circuit = view.network, view.circuit
    seconds = (2 if sweep.source else 1) * sweep.seconds
    phases = acting.phases(view, seconds)
    lanes = view.lanes(view.memory)
    view.put_jumper(lanes, view.fleet.solver.lead)
    pairs = [(c.red, c.black) for c in sweep.channels if not c.wire]
    if pairs:
        lanes.instruments[:, 0, :2] = (1.0 / INPUT_RESISTANCE, 0.0)
        lanes.attached[:, :2] = [network.node(circuit.point(end)) for end in pairs[0]]
    wires = [network.element(f"{c.wire} first half") for c in sweep.channels if c.wire]
    phases = _excited(view, phases, lanes)
    seen = _on_a_bus(view, sweep, phases.after, lanes, seconds)
    if seen is not None:
        return seen
    run = partial(
        waveform,
        view.fleet.solver,
        duration=seconds,
        step=sweep.seconds / sweep.samples,
        points=[network.node(circuit.point(end)) for pair in pairs for end in pair],
        elements=[*wires, *(network.element(name) for name in network.fuse_names)],
        lead_in=SETTLING,
    )
    holding = phases.changed(partial(_holding, network))
    fuses = view.fleet.slow.fuses

    def ran(phases: Phases, lanes: Lanes) -> Trace:
        return run(phases.before, phases.after, lanes, later=phases.later)

    columns = [len(wires) + fuse.number for fuse in fuses.automatic]
    turns, lanes, curves = turning.followed(view, holding, lanes, columns, ran)
    opens = _opening(view, curves.current[:, len(wires) :], seconds)
    some = np.flatnonzero(opens)
    if len(some):
        opening = turning.turned(phases.changed(partial(fuses.held, all_of_them=False)), turns)
        again = ran(turning.taken(opening, some), turning.own_rows(lanes.only(some)))
        curves = turning.put_curves(curves, some, again)
    view.failed = view.failed | (curves.status != SOLVED)
    volts, amps = iter(curves.volts.swapaxes(0, 1)), iter(curves.current.swapaxes(0, 1))
    values = np.array([next(amps) if c.wire else next(volts) - next(volts) for c in sweep.channels])
    return Curves(curves.time, values)


def _excited(view: View, phases: Phases, lanes: Lanes) -> Phases:
    """Return the phases with alternators excited as each one's steady state takes."""
    network = view.network
    found = charging.chargers(view.circuit, network)
    if not found:
        return phases
    hold = partial(_holding, network)
    return phases.changed(
        lambda rows: charging.excited(view.fleet.solver, found, rows, hold, lanes)
    )


def _on_a_bus(
    view: View, sweep: Sweep, rows: Floats, lanes: Lanes, seconds: float
) -> Curves | None:
    """Return the curves where channels see a bus that is alive; None where they do not."""
    network, circuit = view.network, view.circuit
    if not has_bus(network):
        return None

    def probe(channel: Channel) -> trace.Probe:
        if channel.wire:
            number = network.element(f"{channel.wire} first half")
            return lambda solution: solution.current[:, number]
        red, black = (network.node(circuit.point(end)) for end in (channel.red, channel.black))
        return lambda solution: solution.volts[:, red] - solution.volts[:, black]

    window = trace.Window(view.situation.clock, seconds, sweep.seconds / sweep.samples)
    probes = [probe(channel) for channel in sweep.channels]
    found = trace.traced(view.fleet.solver, rows, lanes, circuit, window, probes)
    return None if found is None else Curves(*found)


def _holding(network: Network, rows: Floats) -> Floats:
    """Return rows (V, E, 13) in which no fuse opens."""
    rows = rows.copy()
    rows[:, [network.element(name) for name in network.fuse_names], SHAPE] = NEVER_OPENS
    return rows


def _opening(view: View, amps: Floats, seconds: float) -> npt.NDArray[np.bool_]:
    """Return on which variants (V,) any fuse opens within a curve of its current, (V, F, T)."""
    network = view.network
    limits = view.base_of(view.situation)
    view.fleet.slow.fuses.set_limits(limits, view.memory.heat, seconds, least=seconds)
    limits = view.fleet.slow.fuses.held(limits, all_of_them=False)
    fuses = [network.element(name) for name in network.fuse_names]
    carries: Floats = limits[:, fuses, SHAPE]
    peak = np.maximum(amps.max(axis=2), -amps.min(axis=2))
    some = np.nonzero(np.greater(peak * (1.0 + ROUNDING), carries))  # no RMS is above its peak
    rms: Floats = np.zeros(carries.shape)
    rms[some] = np.sqrt(np.mean(amps[some] ** 2, axis=1))
    found: npt.NDArray[np.bool_] = np.any(rms > carries, axis=1)
    return found


def measured(view: View, figure: str) -> Floats:
    """Return mean, rms (V or A), frequency (Hz) or duty (%) of what the action measures, (V,)."""
    doing = view.doing
    wire = doing.target if doing.verb == "clamp" else ""
    seconds, samples = _window(view)
    channel = Channel("A", doing.red, doing.black, wire)
    curves = traced(view, Sweep((channel,), seconds, samples=samples))
    return np.array([_figure(figure, curves.time, one) for one in curves.values[0]])


def _figure(figure: str, time: Floats, values: Floats) -> float:
    """Return one figure of one curve; without a rhythm, 0 Hz and no duty (nan)."""
    if figure == "mean":
        return averages.read_dc(time, values)
    if figure == "rms":
        return averages.read_ac(time, values)
    repeats = rhythm(time, values)
    if figure == "frequency":
        return 0.0 if repeats is None else repeats.frequency
    return math.nan if repeats is None else 100.0 * repeats.duty


def rhythm(time: Floats, values: Floats) -> averages.Period | None:
    """Return what repeats in a curve; None if nothing does, or too little to tell."""
    return None if float(np.ptp(values)) < STILL else averages.period(time, values)


def _window(view: View) -> tuple[float, int]:
    """Return how long a meter looks, in s, and at how many samples: whole periods of what moves.

    Several rhythms at once do not all fit; the window then holds whole periods of the slowest.
    """
    rows = view.rows[swinging(view.rows)]
    if not len(rows):
        return METER_WINDOW, LEAST
    slow, fast = float(rows[:, FREQUENCY].min()), float(rows[:, FREQUENCY].max())
    seconds = math.ceil(METER_WINDOW * slow) / slow
    return seconds, int(np.clip(SAMPLES_A_PERIOD * fast * seconds, LEAST, MOST))
