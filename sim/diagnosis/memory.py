"""A control unit's trouble-code memory: frozen data, and what makes it change.

A monitor judges one code. While all conditions that it needs hold, a failing sample drives its
debounce counter up and a passing one down (ISO 14229-1, annex D, from memory)::

    counter += 127 * seconds / fails_after      failed at  127
    counter -= 128 * seconds / passes_after     passed at -128

A counter on the other side of zero starts at zero again (ours; the standard leaves it open).
Without the conditions the monitor does not run and nothing changes.

Status bits are those of ISO 14229-1. A code is *pending* from its first failed cycle, *confirmed*
after `confirm_cycles` failed cycles in a row; a cycle in which the test passed ends *pending*. The
lamp goes out after `heal_cycles` and the code is forgotten after `age_cycles` good cycles;
3 and 40 are those of on-board diagnosis, from memory. The freeze frame is taken when the test first
fails, and kept until the code is forgotten or cleared.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from sim.diagnosis.codes import Code
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.status import Status
from sim.errors import DiagnosisError

FAILED_AT, PASSED_AT = 127.0, -128.0  # ISO 14229-1 annex D


CLEARED = Status.NOT_COMPLETED_SINCE_CLEAR | Status.NOT_COMPLETED_THIS_CYCLE
_ON_FAILING = Status.FAILED | Status.FAILED_THIS_CYCLE | Status.PENDING | Status.FAILED_SINCE_CLEAR


@dataclass(frozen=True, slots=True)
class Monitor:
    """What judges one code.

    Attributes
    ----------
    code : Code
    fails_after, passes_after : float
        Seconds of failing (passing) until the test has failed (passed); 0 for at once.
    needs : frozenset of str
        Names of conditions that all have to hold while it runs, such as ``"engine running"``.
    confirm_cycles, heal_cycles, age_cycles : int
        Cycles until confirmed, until the lamp goes out, until forgotten.
    lamp : bool
        Whether a confirmed code asks for the warning lamp.
    emissions : bool
        Whether generic services report it.
    group : str
        Readiness group of SAE J1979 it belongs to, see `sim.diagnosis.readiness`; empty for none.
    """

    code: Code
    fails_after: float = 0.0
    passes_after: float = 0.0
    needs: frozenset[str] = frozenset()
    confirm_cycles: int = 1
    heal_cycles: int = 3
    age_cycles: int = 40
    lamp: bool = False
    emissions: bool = True
    group: str = "components"


@dataclass(frozen=True, slots=True)
class FreezeFrame:
    """What the unit measured when a code was set: clock in s, and values in SI by parameter id.

    Raises
    ------
    DiagnosisError
        A value is no number, or belongs to no parameter of service 01.
    """

    clock: float
    values: Mapping[int, float]

    def __post_init__(self) -> None:
        """Refuse what no answer could carry."""
        for identifier, value in self.values.items():
            if identifier not in PARAMETERS or math.isnan(value):
                raise DiagnosisError(
                    f"freeze frame: got {value} for parameter 0x{identifier:02X}, expected a "
                    "number for one of those in sim.diagnosis.parameters"
                )


@dataclass(frozen=True, slots=True)
class Record:
    """What is remembered of one code; a fresh one is as after clearing.

    Attributes
    ----------
    counter : float
        Debounce counter, -128 to 127.
    failed_cycles, good_cycles : int
        Cycles in a row in which the test failed (ran and passed).
    aged_cycles : int
        Good cycles since it last failed that count towards forgetting.
    occurrences : int
        How often the test went from not failed to failed.
    """

    status: Status = CLEARED
    counter: float = 0.0
    failed_cycles: int = 0
    good_cycles: int = 0
    aged_cycles: int = 0
    occurrences: int = 0
    frame: FreezeFrame | None = None


@dataclass(frozen=True, slots=True)
class Memory:
    """All codes of one unit: its monitors, and a record for each, in the same order."""

    monitors: tuple[Monitor, ...] = ()
    records: tuple[Record, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a code that two monitors judge, or records that do not fit."""
        codes = [monitor.code for monitor in self.monitors]
        twice = sorted({str(code) for code in codes if codes.count(code) > 1})
        if twice:
            raise DiagnosisError(f"trouble-code memory: {', '.join(twice)} has two monitors")
        if len(self.records) != len(codes):
            raise DiagnosisError(
                f"trouble-code memory: {len(codes)} monitors but {len(self.records)} records"
            )

    @classmethod
    def fresh(cls, monitors: tuple[Monitor, ...]) -> Memory:
        """Return a memory in which nothing has been tested yet."""
        return cls(monitors, tuple(Record() for _monitor in monitors))

    def record(self, code: Code) -> Record | None:
        """Return what is remembered of a code, None if this unit has no such code."""
        return next((record for one, record in self.entries() if one.code == code), None)

    def entries(self) -> tuple[tuple[Monitor, Record], ...]:
        """Return monitors with their records."""
        return tuple(zip(self.monitors, self.records, strict=True))

    def codes(self, mask: int) -> tuple[Code, ...]:
        """Return the codes whose status has any bit of the mask."""
        return tuple(monitor.code for monitor, record in self.entries() if record.status & mask)


def observe(
    memory: Memory,
    failing: Mapping[Code, bool],
    holding: Collection[str],
    seconds: float,
    frame: FreezeFrame,
) -> Memory:
    """Let monitors judge for a while during which nothing changes.

    Parameters
    ----------
    failing : mapping
        Result of each monitor that has one; codes left out are not judged.
    holding : collection of str
        Names of the conditions that hold.
    seconds : float
        How long.
    frame : FreezeFrame
        What is stored for a code whose test fails now.
    """
    records = tuple(
        _judged(monitor, record, frame, seconds, failing=failing[monitor.code])
        if monitor.code in failing and monitor.needs <= set(holding)
        else record
        for monitor, record in memory.entries()
    )
    if all(new is old for new, old in zip(records, memory.records, strict=True)):
        return memory
    return replace(memory, records=records)


def begin_cycle(memory: Memory, *, warmed_up: bool = True) -> Memory:
    """End an operation cycle and begin the next.

    Parameters
    ----------
    warmed_up : bool
        Whether the cycle that ends counts towards forgetting codes; on-board diagnosis counts
        those in which the engine warmed up (from memory).
    """
    records = tuple(
        _next_cycle(monitor, record, warmed_up=warmed_up) for monitor, record in memory.entries()
    )
    return replace(memory, records=records)


def clear(memory: Memory, code: Code | None = None, *, emissions_only: bool = False) -> Memory:
    """Forget one code, or all, or all that generic services report."""
    records = tuple(
        record
        if (code is not None and monitor.code != code) or (emissions_only and not monitor.emissions)
        else Record()
        for monitor, record in memory.entries()
    )
    return replace(memory, records=records)


def first_frame(memory: Memory) -> tuple[Code, FreezeFrame] | None:
    """Return the oldest freeze frame of a code that generic services report, with its code."""
    stored = [
        (monitor.code, record.frame)
        for monitor, record in memory.entries()
        if monitor.emissions and record.frame is not None
    ]
    return min(stored, key=lambda pair: pair[1].clock, default=None)


def _judged(
    monitor: Monitor, record: Record, frame: FreezeFrame, seconds: float, *, failing: bool
) -> Record:
    if failing:
        step = FAILED_AT * _share(seconds, monitor.fails_after)
        counter = min(FAILED_AT, max(record.counter, 0.0) + step)
        after = replace(record, counter=counter)
        return _failed(monitor, after, frame) if counter == FAILED_AT else after
    step = PASSED_AT * _share(seconds, monitor.passes_after)
    counter = max(PASSED_AT, min(record.counter, 0.0) + step)
    status = record.status
    if counter == record.counter == PASSED_AT and not status & (Status.FAILED | CLEARED):
        return record  # it has passed before: the same again
    if counter == PASSED_AT:
        status &= ~(Status.FAILED | CLEARED)
    return replace(record, counter=counter, status=status)


def _share(seconds: float, whole: float) -> float:
    """Return which share of a debounce time has passed."""
    return seconds / whole if seconds < whole else 1.0


def _failed(monitor: Monitor, record: Record, frame: FreezeFrame) -> Record:
    before = record.status
    first_this_cycle = Status.FAILED_THIS_CYCLE not in before
    failed_cycles = record.failed_cycles + first_this_cycle
    status = (before | _ON_FAILING) & ~CLEARED
    if failed_cycles >= monitor.confirm_cycles:
        status |= Status.CONFIRMED
    if Status.CONFIRMED in status and monitor.lamp:
        status |= Status.LAMP
    return replace(
        record,
        status=status,
        failed_cycles=failed_cycles,
        good_cycles=0,
        aged_cycles=0,
        occurrences=record.occurrences + (Status.FAILED not in before),
        frame=record.frame or frame,
    )


def _next_cycle(monitor: Monitor, record: Record, *, warmed_up: bool) -> Record:
    ended = record.status
    fresh = replace(
        record,
        counter=0.0,
        status=(ended & ~Status.FAILED_THIS_CYCLE) | Status.NOT_COMPLETED_THIS_CYCLE,
    )
    if ended & (Status.NOT_COMPLETED_THIS_CYCLE | Status.FAILED_THIS_CYCLE):
        return fresh
    good, aged = record.good_cycles + 1, record.aged_cycles + warmed_up
    status = fresh.status & ~Status.PENDING
    if good >= monitor.heal_cycles:
        status &= ~Status.LAMP
    forgotten = aged >= monitor.age_cycles or Status.CONFIRMED not in status
    if forgotten:
        status &= ~(Status.CONFIRMED | Status.LAMP)
    return replace(
        fresh,
        status=status,
        failed_cycles=0,
        good_cycles=good,
        aged_cycles=aged,
        frame=None if forgotten else record.frame,
    )
