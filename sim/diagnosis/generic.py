"""Generic services of SAE J1979 / ISO 15031-5 on CAN: 01, 02, 03, 04, 07, 09.

Each function takes unit and request (service byte included) and returns what follows the answer's
service byte, and the unit afterwards. Service 01 shows what the unit measures, never a substitute.
The number of codes goes before the codes, as on CAN (ISO 15765-4). A unit that is asked alone
refuses a parameter it does not have with 12 (from memory); asked with all others it keeps silent.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace

from sim.diagnosis import refusals
from sim.diagnosis.codes import NO_CODE, Code
from sim.diagnosis.memory import (
    Memory,
    clear,
    first_frame,
)
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.readiness import monitor_status
from sim.diagnosis.status import Status
from sim.diagnosis.unit import UnitState
from sim.errors import RefusedError

MOST_PARAMETERS, MOST_FROZEN = 6, 3  # in one request on CAN; ISO 15031-5, 02 from memory
MOST_CODES = 255  # the number of codes is one byte
BLOCK = 0x20  # parameters that one bit map tells of
MONITOR_STATUS, FREEZING_CODE = 0x01, 0x02
VIN, CALIBRATION, NAME = 0x02, 0x04, 0x0A  # service 09
CALIBRATION_LENGTH, NAME_LENGTH = 16, 20
FIRST_FRAME = 0x00


def current_data(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 01: values as measured."""
    asked = request[1:]
    if not 1 <= len(asked) <= MOST_PARAMETERS:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    known = unit.values.keys() | {MONITOR_STATUS}
    found = b"".join(
        bytes((identifier,)) + _current(unit, identifier, known)
        for identifier in asked
        if _has(identifier, known)
    )
    return _or_refuse(found), unit


def freeze_frame(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 02: what was measured when a code was set; only frame 00 is kept."""
    asked = request[1:]
    if len(asked) % 2 or not 1 <= len(asked) // 2 <= MOST_FROZEN:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    stored = first_frame(unit.memory)
    values: Mapping[int, float] = {} if stored is None else stored[1].values
    known = values.keys() | {FREEZING_CODE}
    found = b""
    for identifier, number in zip(asked[::2], asked[1::2], strict=True):
        if number == FIRST_FRAME and _has(identifier, known):
            found += bytes((identifier, number)) + _frozen(stored and stored[0], values, identifier)
    return _or_refuse(found), unit


def confirmed_codes(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 03."""
    _expect_alone(request)
    return _codes(unit.memory, Status.CONFIRMED), unit


def pending_codes(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 07."""
    _expect_alone(request)
    return _codes(unit.memory, Status.PENDING), unit


def clear_codes(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 04: codes, freeze frames and readiness are gone."""
    _expect_alone(request)
    if not unit.may_clear:
        raise RefusedError(refusals.CONDITIONS_NOT_CORRECT)
    return b"", replace(unit, memory=clear(unit.memory, emissions_only=True))


def vehicle_information(unit: UnitState, request: bytes) -> tuple[bytes, UnitState]:
    """Answer 09: identification, calibration, the unit's name."""
    if len(request) != 2:  # noqa: PLR2004 -- service and one type
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    texts = _information(unit)
    identifier = request[1]
    if not _has(identifier, texts):
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    if identifier % BLOCK == 0:
        return bytes((identifier,)) + bit_map(texts, identifier), unit
    return bytes((identifier, 1)) + texts[identifier], unit


def bit_map(known: Collection[int], start: int) -> bytes:
    """Return four bytes that tell which of the 32 ids after `start` are there.

    The last bit says that the next bit map is there too.
    """
    bits = 0
    for offset in range(1, BLOCK + 1):
        if _has(start + offset, known):
            bits |= 1 << BLOCK - offset
    return bits.to_bytes(4, "big")


def parameter_data(unit: UnitState, identifier: int) -> bytes | None:
    """Return the bytes of a service 01 parameter, None if the unit does not have it."""
    known = unit.values.keys() | {MONITOR_STATUS}
    return _current(unit, identifier, known) if _has(identifier, known) else None


def information_data(unit: UnitState, identifier: int) -> bytes | None:
    """Return the bytes of a service 09 item without their number, None if it is not there."""
    return _information(unit).get(identifier)


SERVICES: dict[int, Callable[[UnitState, bytes], tuple[bytes, UnitState]]] = {
    0x01: current_data,
    0x02: freeze_frame,
    0x03: confirmed_codes,
    0x04: clear_codes,
    0x07: pending_codes,
    0x09: vehicle_information,
}


def _has(identifier: int, known: Collection[int]) -> bool:
    """Tell whether an id can be asked for; a bit map can if there is anything behind it."""
    if identifier % BLOCK == 0:
        return identifier == 0 or any(one > identifier for one in known)
    return identifier in known


def _current(unit: UnitState, identifier: int, known: Collection[int]) -> bytes:
    if identifier % BLOCK == 0:
        return bit_map(known, identifier)
    if identifier == MONITOR_STATUS:
        return monitor_status(unit.memory)
    return PARAMETERS[identifier].scaling.encode(unit.values[identifier])


def _frozen(code: Code | None, values: Mapping[int, float], identifier: int) -> bytes:
    if identifier % BLOCK == 0:
        return bit_map(values.keys() | {FREEZING_CODE}, identifier)
    if identifier == FREEZING_CODE:
        return NO_CODE if code is None else code.two
    return PARAMETERS[identifier].scaling.encode(values[identifier])


def _codes(memory: Memory, bit: Status) -> bytes:
    """Return number and bytes of codes; one that has several failure types counts once."""
    found = dict.fromkeys(
        monitor.code.two
        for monitor, record in memory.entries()
        if monitor.emissions and bit in record.status
    )
    listed = list(found)[:MOST_CODES]
    return bytes((len(listed),)) + b"".join(listed)


def _information(unit: UnitState) -> dict[int, bytes]:
    texts = {NAME: unit.name.encode("ascii", "replace")[:NAME_LENGTH].ljust(NAME_LENGTH, b"\0")}
    if unit.vin:
        texts[VIN] = unit.vin.encode()
    if unit.calibration:
        shortened = unit.calibration.encode()[:CALIBRATION_LENGTH]
        texts[CALIBRATION] = shortened.ljust(CALIBRATION_LENGTH, b"\0")
    return texts


def _expect_alone(request: bytes) -> None:
    if len(request) != 1:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)


def _or_refuse(found: bytes) -> bytes:
    if not found:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    return found
