"""Pin voltages -> what a module believes, decides and switches; pure, over all variants at once.

Each variant has a clock of its own, so that what one vehicle does never depends on which others are
looked at beside it. A module without power believes nothing and switches nothing, and begins anew
when power comes back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from sim.modules.behaviour import Behaviour, Counted, Decision, Measured, Received, Switched
from sim.modules.conditions import Flags, Floats, Seen

NOT_PENDING = np.inf
LEAST_SUPPLY = 1.0  # V, below which a share of it means nothing; ours


@dataclass(frozen=True, slots=True)
class ModuleState:
    """What one module of each variant remembers.

    Attributes
    ----------
    on : bool array (V, D)
        Its decisions.
    since : float array (V, D)
        Clock since which the opposite of `on` has been wanted; inf if it is not.
    switched : bool array (V, I)
        Switch inputs; False in the columns of measured ones.
    implausible : bool array (V, I), doubted_since : float array (V, I)
        Measured inputs found implausible, and the clock since which one has been out of bounds.
    too_low : bool array (V, I)
        Which side an implausible input went out by.
    kept : float array (V, I)
        The last value of each measured input that lay within bounds.
    quiet_since : float array (V,)
        Clock since which nothing has kept it awake; inf if something does.
    """

    on: Flags
    since: Floats
    switched: Flags
    implausible: Flags
    doubted_since: Floats
    too_low: Flags
    kept: Floats
    quiet_since: Floats

    @classmethod
    def fresh(cls, behaviour: Behaviour, count: int) -> ModuleState:
        """Return the state of modules that have just got power."""
        decisions, inputs = len(behaviour.decisions), len(behaviour.inputs)
        return cls(
            np.zeros((count, decisions), dtype=bool),
            np.full((count, decisions), NOT_PENDING),
            np.zeros((count, inputs), dtype=bool),
            np.zeros((count, inputs), dtype=bool),
            np.full((count, inputs), NOT_PENDING),
            np.zeros((count, inputs), dtype=bool),
            np.zeros((count, inputs)),
            np.full(count, NOT_PENDING),
        )


@dataclass(frozen=True, slots=True)
class View:
    """What a module makes of its pins: `seen` with substitutes, `actual` values without."""

    seen: Seen
    actual: Mapping[str, Floats]
    levels: Mapping[str, Floats]
    working: Flags


def decide(
    behaviour: Behaviour,
    pins: Mapping[str, Floats],
    state: ModuleState,
    clock: Floats,
    alive: Flags | None = None,
    received: Mapping[str, Floats] | None = None,
) -> tuple[ModuleState, View]:
    """Let a module look at its pins once and make up its mind.

    Parameters
    ----------
    pins : mapping of pin to float array (V,)
        Volts against the body.
    state : ModuleState
    clock : float array (V,)
        Seconds since hand-over.
    alive : bool array (V,) or None
        Where it is not dead inside; everywhere if not given.
    received : mapping of name to float array (V,), or None
        What comes by a bus, nan where nothing does.

    Returns
    -------
    ModuleState, View
    """
    supplied = pins[behaviour.supply] - pins[behaviour.ground]
    working = supplied >= behaviour.works_from
    if alive is not None:
        working = working & alive
    state = _reset(behaviour, state, working)
    state, seen, actual = _look(behaviour, pins, state, clock, received or {})
    states = dict(seen.states)
    states |= {one.name: state.on[:, n] for n, one in enumerate(behaviour.decisions)}
    on, since = state.on.copy(), state.since.copy()
    for number, decision in enumerate(behaviour.decisions):
        now = Seen(seen.values, states, seen.implausible, seen.count)
        flips, since[:, number] = _matured(decision, now, on[:, number], since[:, number], clock)
        on[:, number] = (on[:, number] ^ flips) & working
        states[decision.name] = on[:, number]
    seen = Seen(seen.values, states, seen.implausible, seen.count)
    quiet = state.quiet_since
    if behaviour.awake is not None:
        quiet = np.where(behaviour.awake.holds(seen), NOT_PENDING, np.minimum(quiet, clock))
    levels = {}
    for level in behaviour.levels:
        share = np.interp(seen.values[level.of], level.points, level.shares)
        levels[level.name] = np.where(level.when.holds(seen) & working, share, 0.0)
    state = replace(state, on=on, since=since, quiet_since=quiet)
    state = _reset(behaviour, state, working)  # what has no power waits for nothing
    return state, View(seen, actual, levels, working)


def next_due(behaviour: Behaviour, state: ModuleState, clock: Floats | None = None) -> Floats:
    """Return the clock (V,) at which the next thing that waits will happen; inf if none.

    With the present clock, falling asleep is one of them.
    """
    delays = np.array([[d.on_after_seconds, d.off_after_seconds] for d in behaviour.decisions])
    due = np.full(len(state.quiet_since), NOT_PENDING)
    if len(delays):
        waits = state.since + np.where(state.on, delays[:, 1], delays[:, 0])
        due = np.minimum(due, waits.min(axis=1))
    for number, item in enumerate(behaviour.inputs):
        if not isinstance(item, Switched):
            waiting = np.where(
                state.implausible[:, number], NOT_PENDING, state.doubted_since[:, number]
            )
            due = np.minimum(due, waiting + item.after_seconds)
    if behaviour.awake is not None and clock is not None:
        falls = state.quiet_since + behaviour.asleep_after_seconds
        due = np.minimum(due, np.where(falls > clock, falls, NOT_PENDING))
    return due


def asleep(behaviour: Behaviour, state: ModuleState, clock: Floats) -> Flags:
    """Return which variants' module is asleep at their clock."""
    fallen: Flags = clock >= state.quiet_since + behaviour.asleep_after_seconds
    return fallen


def _reset(behaviour: Behaviour, state: ModuleState, working: Flags) -> ModuleState:
    """Begin anew where there is no power."""
    if working.all():
        return state
    new = ModuleState.fresh(behaviour, len(working))
    kept = {}
    for name in ModuleState.__slots__:
        old, fresh = getattr(state, name), getattr(new, name)
        mask = working if old.ndim == 1 else working[:, None]
        kept[name] = np.where(mask, old, fresh)
    return ModuleState(**kept)


def _look(
    behaviour: Behaviour,
    pins: Mapping[str, Floats],
    state: ModuleState,
    clock: Floats,
    received: Mapping[str, Floats],
) -> tuple[ModuleState, Seen, dict[str, Floats]]:
    """Turn voltages into values and states; say which inputs are implausible."""
    switched, implausible = state.switched.copy(), state.implausible.copy()
    doubted, too_low = state.doubted_since.copy(), state.too_low.copy()
    kept = state.kept.copy()
    values: dict[str, Floats] = {}
    actual: dict[str, Floats] = {}
    states: dict[str, Flags] = {}
    ground = pins[behaviour.ground]
    for number, item in enumerate(behaviour.inputs):
        if isinstance(item, Counted):
            read = received.get(item.name, np.zeros(len(clock)))
            now = Seen(values, states, {}, len(clock))
            out = low = item.turning.holds(now) & (read <= 0.0)
        elif isinstance(item, Received):
            read = received.get(item.name, np.full(len(clock), np.nan))
            out = np.isnan(read)
            low, read = out, np.where(out, kept[:, number], read)
            kept[:, number] = read
        else:
            volts = pins[item.pin] - ground
            if item.relative:
                volts = _share(volts, pins[behaviour.supply] - ground)
        if isinstance(item, Switched):
            switched[:, number] = _hysteresis(item, volts, switched[:, number])
            states[item.name] = switched[:, number]
            continue
        if isinstance(item, Measured):
            low, out = volts < item.low, (volts < item.low) | (volts > item.high)
            read = np.interp(volts, item.volts, item.values)
            kept[:, number] = np.where(out, kept[:, number], read)
        doubted[:, number] = np.where(out, np.minimum(doubted[:, number], clock), NOT_PENDING)
        implausible[:, number] = out & (clock >= doubted[:, number] + item.after_seconds)
        too_low[:, number] = low
        actual[item.name] = read
        values[item.name] = read
        if isinstance(item, Counted):
            continue
        if item.last:
            values[item.name] = kept[:, number]
        elif item.substitute is not None:
            values[item.name] = np.where(implausible[:, number], item.substitute, read)
    doubts = {item.name: implausible[:, n] for n, item in enumerate(behaviour.inputs)}
    new = replace(
        state,
        switched=switched,
        implausible=implausible,
        doubted_since=doubted,
        too_low=too_low,
        kept=kept,
    )
    return new, Seen(values, states, doubts, len(clock)), actual


def _share(volts: Floats, supply: Floats) -> Floats:
    """Return voltages as shares of the supply; 0 where there is none to speak of."""
    share: Floats = np.where(supply > LEAST_SUPPLY, volts / np.maximum(supply, LEAST_SUPPLY), 0.0)
    return share


def _hysteresis(item: Switched, volts: Floats, before: Flags) -> Flags:
    """Return a switch input's state; between its thresholds it stays as it was."""
    up = item.on_volts >= item.off_volts
    on = volts >= item.on_volts if up else volts <= item.on_volts
    off = volts <= item.off_volts if up else volts >= item.off_volts
    state: Flags = on | (before & ~off)
    return state


def _matured(
    decision: Decision, seen: Seen, on: Flags, since: Floats, clock: Floats
) -> tuple[Flags, Floats]:
    """Return where a decision flips now, and since when it wants to where it does not yet."""
    starts = decision.on.holds(seen)
    stops = ~starts if decision.off is None else decision.off.holds(seen)
    wanted = np.where(on, ~stops, starts & ~stops)
    pending = wanted != on
    since = np.where(pending, np.minimum(since, clock), NOT_PENDING)
    delay = np.where(on, decision.off_after_seconds, decision.on_after_seconds)
    flips = pending & (clock >= since + delay)  # as `next_due` says it, to the bit
    return flips, np.where(flips, NOT_PENDING, since)
