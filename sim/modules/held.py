"""What the modules of every variant remember between one look and the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.modules.conditions import Flags, Floats
from sim.modules.decide import ModuleState
from sim.modules.wiring import Modules
from sim.network import Ints
from sim.parts.controlunit import AWAKE, WORKS

ARRAYS = ("shares", "tripped", "cleared", "imposed", "until")


@dataclass(frozen=True, slots=True)
class Held:
    """Memory of all modules; V variants, O contacts that rules drive.

    Attributes
    ----------
    states : tuple of ModuleState
        One a module.
    shares : float array (V, O)
        Share of the time each contact is closed: 0, 1, or between where it is pulsed.
    tripped : bool array (V, O)
        Outputs that have shut down for too much current.
    cleared : bool array (V, O)
        Whether what clears an overload held at the last look; as that changes, it is tried again.
    imposed : float array (V, O)
        Shares that a tester imposes; nan where it does not.
    until : float array (V, O)
        Clock at which that ends by itself, as a routine does; inf where it does not.
    """

    states: tuple[ModuleState, ...]
    shares: Floats
    tripped: Flags
    cleared: Flags
    imposed: Floats
    until: Floats

    @classmethod
    def fresh(cls, modules: Modules, count: int) -> Held:
        """Return modules that have just got power; nothing but themselves is on."""
        own = [float(one.pin in (WORKS, AWAKE) and not one.follows) for one in modules.driven]
        shape = (count, len(own))
        return cls(
            tuple(ModuleState.fresh(unit.behaviour, count) for unit in modules.units),
            np.zeros(shape) + own,
            np.zeros(shape, dtype=bool),
            np.ones(shape, dtype=bool),
            np.full(shape, np.nan),
            np.full(shape, np.inf),
        )

    def take(self, which: Ints) -> Held:
        """Return the memory of some variants."""
        states = tuple(_taken(state, which) for state in self.states)
        return Held(states, *(getattr(self, name)[which] for name in ARRAYS))

    def put(self, which: Ints, new: Held) -> Held:
        """Return the memory with some variants' replaced."""
        states = tuple(
            _put(old, which, mine) for old, mine in zip(self.states, new.states, strict=True)
        )
        arrays = []
        for name in ARRAYS:
            array = getattr(self, name).copy()
            array[which] = getattr(new, name)
            arrays.append(array)
        return Held(states, *arrays)

    def imposing(self, columns: Sequence[int], share: float) -> Held:
        """Return the memory with a tester's share on these contacts; nan releases them."""
        imposed = self.imposed.copy()
        imposed[:, list(columns)] = share
        return replace(self, imposed=imposed)

    def told(self, clock: Floats) -> Floats:
        """Return the shares (L, O) that a tester imposes at these clocks (L,); nan where none."""
        told: Floats = np.where(clock[:, None] < self.until, self.imposed, np.nan)
        return told

    def ends(self, clock: Floats) -> Floats:
        """Return the clock (L,) at which the next imposed share ends by itself; inf if none."""
        ahead = np.isfinite(self.until) & (self.until > clock[:, None])
        comes: Floats = np.where(ahead, self.until, np.inf).min(axis=1, initial=np.inf)
        return comes


def _arrays(state: ModuleState) -> tuple[npt.NDArray[Any], ...]:
    """Return all that one module remembers, in the order of its fields."""
    return (
        state.on,
        state.since,
        state.switched,
        state.implausible,
        state.doubted_since,
        state.too_low,
        state.kept,
        state.quiet_since,
    )


def _taken(state: ModuleState, which: Ints) -> ModuleState:
    return ModuleState(*(array[which] for array in _arrays(state)))


def _put(state: ModuleState, which: Ints, new: ModuleState) -> ModuleState:
    arrays = []
    for old, other in zip(_arrays(state), _arrays(new), strict=True):
        array = old.copy()
        array[which] = other
        arrays.append(array)
    return ModuleState(*arrays)


def same(one: ModuleState, other: ModuleState) -> Flags:
    """Return which variants (V,) stand the same in two states."""
    equal = np.ones(len(one.quiet_since), dtype=bool)
    for a, b in zip(_arrays(one), _arrays(other), strict=True):
        if a is b and a.dtype == bool:  # what is no number is not the same as itself
            continue
        alike = a == b
        equal &= alike if alike.ndim == 1 else alike.all(axis=1)
    return equal


def alike(one: Held, other: Held) -> bool:
    """Tell whether all variants stand the same in two memories, under the same tester."""
    pairs = zip(one.states, other.states, strict=True)
    arrays = ((getattr(one, name), getattr(other, name)) for name in ARRAYS)
    return all(a is b or np.array_equal(a, b, equal_nan=a.dtype == float) for a, b in arrays) and (
        all(bool(same(a, b).all()) for a, b in pairs)
    )


def stacked(several: Sequence[Held]) -> Held:
    """Return the memories of several fleets of one circuit as that of one fleet."""
    states = []
    for mine in zip(*(held.states for held in several), strict=True):
        arrays = zip(*(_arrays(state) for state in mine), strict=True)
        states.append(ModuleState(*(np.concatenate(array) for array in arrays)))
    rest = (np.concatenate([getattr(held, name) for held in several]) for name in ARRAYS)
    return Held(tuple(states), *rest)
