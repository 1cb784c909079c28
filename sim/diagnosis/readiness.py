"""Warning lamp, number of codes and readiness of monitors: parameter 01 of SAE J1979, four bytes.

    A7      warning lamp asked for          A6..A0  number of confirmed codes
    B0..B2  misfire, fuel system, components are monitored; B4..B6 the same: not complete
    B3      compression ignition
    C0..C7  catalyst, heated catalyst, evaporation, secondary air, (not used), oxygen sensor,
            oxygen sensor heater, exhaust gas recirculation are monitored; D the same: not complete

Layout for spark ignition checked with a decoder that is not ours; C4 from memory. A group is
complete when every monitor in it has been completed since codes were cleared.
"""

from __future__ import annotations

from sim.diagnosis.memory import (
    Memory,
)
from sim.diagnosis.status import Status

CONTINUOUS = ("misfire", "fuel system", "components")
ONCE = (
    "catalyst",
    "heated catalyst",
    "evaporation",
    "secondary air",
    "",
    "oxygen sensor",
    "oxygen sensor heater",
    "exhaust gas recirculation",
)
GROUPS = frozenset(CONTINUOUS + ONCE) - {""}
LAMP_BIT, MOST_CODES = 0x80, 0x7F


def monitor_status(memory: Memory) -> bytes:
    """Return the four bytes of parameter 01."""
    entries = [(one, record) for one, record in memory.entries() if one.emissions]
    confirmed = sum(Status.CONFIRMED in record.status for _one, record in entries)
    lamp = any(Status.LAMP in record.status for _one, record in entries)
    there = {one.group for one, _record in entries}
    open_groups = {
        one.group for one, record in entries if Status.NOT_COMPLETED_SINCE_CLEAR in record.status
    }
    return bytes(
        (
            min(confirmed, MOST_CODES) | lamp * LAMP_BIT,
            _bits(CONTINUOUS, there) | _bits(CONTINUOUS, open_groups) << 4,
            _bits(ONCE, there),
            _bits(ONCE, open_groups),
        )
    )


def _bits(groups: tuple[str, ...], chosen: set[str]) -> int:
    return sum(1 << bit for bit, group in enumerate(groups) if group and group in chosen)
