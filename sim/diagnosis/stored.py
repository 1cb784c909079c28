"""Services of ISO 14229-1 for trouble codes: 14 clear, 19 read (01, 02, 04, 06, 0A).

A snapshot is the freeze frame: record 01, its values under identifiers F400 + parameter id. The
extended data are ours: record 01 occurrences, 02 good cycles that count towards forgetting,
03 debounce counter (two's complement), one byte each. The format byte 00 says codes of SAE J2012-DA
with failure type (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from sim.diagnosis import refusals
from sim.diagnosis.codes import code_of
from sim.diagnosis.identified import PARAMETER_PAGE
from sim.diagnosis.memory import Record, clear
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.unit import UnitState
from sim.errors import RefusedError

ALL_CODES, EMISSION_CODES = b"\xff\xff\xff", b"\xff\xff\x33"  # groups, ISO 14229-1 annex D
AVAILABLE = 0xFF  # all status bits are kept
FORMAT = 0x00
COUNT, BY_MASK, SNAPSHOT, EXTENDED, SUPPORTED = 0x01, 0x02, 0x04, 0x06, 0x0A
EVERY_RECORD = 0xFF
SNAPSHOT_RECORD = 1
LARGEST_BYTE = 0xFF


def clear_information(unit: UnitState, request: bytes, _clock: float) -> tuple[bytes, UnitState]:
    """Answer 14."""
    if len(request) != 4:  # noqa: PLR2004 -- service and a group or code
        raise RefusedError(refusals.WRONG_LENGTH)
    group = request[1:]
    code = None if group in {ALL_CODES, EMISSION_CODES} else code_of(group)
    if code is not None and unit.memory.record(code) is None:
        raise RefusedError(refusals.OUT_OF_RANGE)
    if not unit.may_clear:
        raise RefusedError(refusals.CONDITIONS_NOT_CORRECT)
    emissions_only = group == EMISSION_CODES
    return b"", replace(unit, memory=clear(unit.memory, code, emissions_only=emissions_only))


def read_information(unit: UnitState, request: bytes, _clock: float) -> tuple[bytes, UnitState]:
    """Answer 19."""
    if len(request) < 2:  # noqa: PLR2004 -- service and function
        raise RefusedError(refusals.WRONG_LENGTH)
    function, rest = request[1] & 0x7F, request[2:]
    lengths = {COUNT: 1, BY_MASK: 1, SNAPSHOT: 4, EXTENDED: 4, SUPPORTED: 0}
    if function not in lengths:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    if len(rest) != lengths[function]:
        raise RefusedError(refusals.WRONG_LENGTH)
    start = bytes((function,))
    if function == COUNT:
        count = len(unit.memory.codes(rest[0]))
        return start + bytes((AVAILABLE, FORMAT)) + count.to_bytes(2, "big"), unit
    if function in {BY_MASK, SUPPORTED}:
        return start + bytes((AVAILABLE,)) + _listed(unit, rest), unit
    code = code_of(rest[:3])
    record = unit.memory.record(code)
    if record is None:
        raise RefusedError(refusals.OUT_OF_RANGE)
    about = _snapshot(record, rest[3]) if function == SNAPSHOT else _extended(record, rest[3])
    return start + code.three + bytes((record.status,)) + about, unit


def _listed(unit: UnitState, mask: bytes) -> bytes:
    """Return codes and status: those that share a bit with the mask, all without a mask."""
    return b"".join(
        monitor.code.three + bytes((record.status,))
        for monitor, record in unit.memory.entries()
        if not mask or record.status & mask[0]
    )


def _snapshot(record: Record, number: int) -> bytes:
    """Return the freeze frame; nothing where none was taken."""
    if number not in {SNAPSHOT_RECORD, EVERY_RECORD}:
        raise RefusedError(refusals.OUT_OF_RANGE)
    if record.frame is None:
        return b""
    values = record.frame.values
    data = b"".join(
        (PARAMETER_PAGE + key).to_bytes(2, "big") + PARAMETERS[key].scaling.encode(values[key])
        for key in sorted(values)
    )
    return bytes((SNAPSHOT_RECORD, len(values))) + data


def _extended(record: Record, number: int) -> bytes:
    records = {
        1: min(record.occurrences, LARGEST_BYTE),
        2: min(record.aged_cycles, LARGEST_BYTE),
        3: int(record.counter) & LARGEST_BYTE,
    }
    if number != EVERY_RECORD and number not in records:
        raise RefusedError(refusals.OUT_OF_RANGE)
    wanted: Iterable[int] = records if number == EVERY_RECORD else (number,)
    return b"".join(bytes((one, records[one])) for one in wanted)
