"""One module's turn: the volts at its pins -> what it remembers, and how its contacts stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from sim.modules.conditions import Flags, Floats
from sim.modules.decide import NOT_PENDING, ModuleState, View, asleep, decide
from sim.modules.held import same
from sim.modules.pins import BUS, OUTPUTS
from sim.modules.wiring import Driven, Wired
from sim.parts.controlunit import AWAKE, WORKS

BUSY = 0.3  # share of the time that a master holds its bus down while it talks; ours
STEP, LEAVES = 0.004, 0.75  # of a level, and of that step; ours


@dataclass(frozen=True, slots=True)
class Turn:
    """What comes of one module's turn, over L variants.

    Attributes
    ----------
    state : ModuleState
    view : View
        What it saw, and its levels.
    sleeping : bool array (L,)
    rests : bool array (L,)
        Whether another look at the same pins would change nothing.
    """

    state: ModuleState
    view: View
    sleeping: Flags
    rests: Flags


class Shut(NamedTuple):
    """How contacts stand, arrays (L, D): see `sim.modules.held.Held` for each."""

    shares: Floats
    tripped: Flags
    cleared: Flags


def take_turn(
    unit: Wired,
    volts: Floats,
    state: ModuleState,
    clock: Floats,
    alive: Flags,
    received: Mapping[str, Floats] | None = None,
) -> Turn:
    """Let a module look at its pins until it has made up its mind.

    Parameters
    ----------
    volts : float array (L, N)
        Of all points against the body.
    clock : float array (L,)
    alive : bool array (L,)
    received : mapping of name to float array (L,), or None
        What comes by a bus, nan where nothing does.
    """
    pins = {pin: volts[:, node] for pin, node in zip(unit.pins, unit.nodes, strict=True)}
    looks = 2 * len(unit.behaviour.decisions) + 3  # each decision moves the next, and once back
    for _look in range(looks):
        new, view = decide(unit.behaviour, pins, state, clock, alive, received)
        sleeping = _sleeping(unit, new, clock) & view.working
        new = _blank(new, sleeping)
        rests = same(new, state)
        state = new
        if rests.all():
            break
    return Turn(state, view, sleeping, rests)


def _sleeping(unit: Wired, state: ModuleState, clock: Floats) -> Flags:
    if unit.behaviour.awake is None:
        return np.zeros(len(clock), dtype=bool)
    return asleep(unit.behaviour, state, clock)


def _blank(state: ModuleState, sleeping: Flags) -> ModuleState:
    """Return the state with nothing decided or doubted where it sleeps."""
    if not sleeping.any():
        return state
    rows = sleeping[:, None]
    return replace(
        state,
        on=state.on & ~rows,
        since=np.where(rows, NOT_PENDING, state.since),
        implausible=state.implausible & ~rows,
        doubted_since=np.where(rows, NOT_PENDING, state.doubted_since),
    )


def wanted_share(unit: Wired, one: Driven, turn: Turn, before: Floats) -> Floats:
    """Return the share (L,) of the time that the rules want a contact closed.

    A level goes in steps of `STEP`, and leaves the step it was `before` only where it is beyond the
    middle to the next by half as much again: what it switches moves the voltage it came from.
    """
    running = turn.view.working & ~turn.sleeping
    if not one.follows:
        own = {WORKS: turn.view.working, AWAKE: running}
        return own.get(one.pin, np.zeros_like(running)).astype(float)
    if one.words is not None and one.words.role == BUS:
        return np.where(running, BUSY, 0.0)
    if one.follows in turn.view.levels:
        return _level_share(one, turn.view.levels[one.follows], running, before)
    names = [decision.name for decision in unit.behaviour.decisions]
    share = turn.state.on[:, names.index(one.follows)].astype(float)
    return np.where(running, 1.0 - share if one.inverted else share, 0.0)


def _level_share(one: Driven, level: Floats, running: Flags, before: Floats) -> Floats:
    """Return the share (L,) of the time that a contact is closed at a level."""
    level = 1.0 - level if one.inverted else level
    if not one.source and one.words is not None and not one.words.frequency:
        return (running & (level > 0.0)).astype(float)  # a contact lets a source through
    near = np.abs(level - before) < LEAVES * STEP
    return np.where(running, np.where(near, before, np.round(level / STEP) * STEP), 0.0)


def contact_shares(unit: Wired, turn: Turn, before: Shut, imposed: Floats, peak: Floats) -> Shut:
    """Return how a module's contacts stand after its turn.

    One that has shut down tries again as its clearing comes (or goes), and once each time: else a
    lamp test into a short would shut down, clear and try for ever.

    Parameters
    ----------
    before : Shut
        As they stood until now.
    imposed : float array (L, D)
        What a tester imposes; nan where nothing.
    peak : float array (L, E)
        Largest current of every element.
    """
    running = turn.view.working & ~turn.sleeping
    clears = unit.behaviour.clears.holds(turn.view.seen)
    shares, tripped, cleared = before.shares.copy(), before.tripped.copy(), before.cleared.copy()
    for number, one in enumerate(unit.driven):
        share = wanted_share(unit, one, turn, shares[:, number])
        told = imposed[:, number]
        share = np.where(np.isnan(told) | ~running, share, told)
        if one.words is not None:
            most = one.words.limit if one.words.role in OUTPUTS else 0.0
            over = peak[:, one.elements].max(axis=1) > most if most else np.zeros_like(running)
            free = clears & (share == 0.0)
            waits = turn.view.working & (free == cleared[:, number])
            tripped[:, number] = over | (tripped[:, number] & waits)
            cleared[:, number] = free
            test = running & (share == 0.0)
            if one.words.test_share:
                share = np.where(test, one.words.test_share, share)
            share = np.where(tripped[:, number], 0.0, share)
        shares[:, number] = share
    return Shut(shares, tripped, cleared)
