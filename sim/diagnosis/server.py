"""One control unit's diagnostic server: a request in, an answer out, nothing else.

    positive answer    service + 40, data
    negative answer    7F, service, code

Services 01 to 0A are those of SAE J1979 / ISO 15031-5, from 10 on of ISO 14229-1. A request to all
units (functional) is not refused with "I do not know that". Where the service has a function byte,
its top bit asks for no positive answer. Every request keeps the session for another 5 s.

These units hold no keys, so service 27 is not known to them. Supported sessions: default and
extended; services 2F and 31 need the extended one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from sim.diagnosis import generic, identified, refusals, stored
from sim.diagnosis.unit import Session, UnitState, released, settled
from sim.errors import RefusedError

LONGEST = 4095  # bytes in one ISO 15765-2 transfer
ANSWER_TIMES = bytes.fromhex("0032 01F4")  # 50 ms, and 500 times 10 ms: P2, P2*; ISO 14229-2
QUIET = 0x80  # top bit of a function byte: no positive answer wanted
RESETS = (1, 2, 3)  # hard, key off and on, soft

Handler = Callable[[UnitState, bytes, float], tuple[bytes, UnitState]]


@dataclass(frozen=True, slots=True)
class Service:
    """One service of ISO 14229-1: who handles it, whether it has a function byte, its sessions."""

    handler: Handler
    function_byte: bool = False
    extended_only: bool = False


def answer(
    unit: UnitState, request: bytes, clock: float, *, functional: bool = False
) -> tuple[bytes | None, UnitState]:
    """Answer one request.

    Parameters
    ----------
    request : bytes
        Service byte and what follows; any bytes will do.
    clock : float
        Seconds on the bench's clock.
    functional : bool
        Whether all units were asked and not this one alone.

    Returns
    -------
    bytes or None
        None where the unit keeps silent: without power, ground or bus, on an empty request, where
        no positive answer was wanted, and where it alone of all cannot serve the request.
    UnitState
        The unit afterwards.
    """
    if not unit.reachable or not request:
        return None, unit
    before = replace(settled(unit, clock), last_heard=clock)
    try:
        data, after = _serve(before, request, clock)
    except RefusedError as refused:
        if functional and refused.code in refusals.SILENT:
            return None, before
        return bytes((refusals.NEGATIVE, request[0], refused.code)), before
    service = SERVICES.get(request[0])
    if service is not None and service.function_byte and request[1] & QUIET:
        return None, after
    return bytes((request[0] + 0x40,)) + data, after


def change_session(unit: UnitState, request: bytes, clock: float) -> tuple[bytes, UnitState]:
    """Answer 10."""
    wanted = _function(request, {int(one) for one in Session})
    if wanted == Session.DEFAULT:
        return bytes((wanted,)) + ANSWER_TIMES, released(unit, clock)
    return bytes((wanted,)) + ANSWER_TIMES, replace(unit, session=Session(wanted))


def reset(unit: UnitState, request: bytes, clock: float) -> tuple[bytes, UnitState]:
    """Answer 11: the unit starts anew after its answer; the vehicle sees `resets` go up."""
    wanted = _function(request, set(RESETS))
    return bytes((wanted,)), replace(released(unit, clock), resets=unit.resets + 1)


def tester_present(unit: UnitState, request: bytes, _clock: float) -> tuple[bytes, UnitState]:
    """Answer 3E: it only keeps the session."""
    return bytes((_function(request, {0}),)), unit


SERVICES = {
    0x10: Service(change_session, function_byte=True),
    0x11: Service(reset, function_byte=True),
    0x14: Service(stored.clear_information),
    0x19: Service(stored.read_information, function_byte=True),
    0x22: Service(identified.read_data),
    0x2F: Service(identified.control_output, extended_only=True),
    0x31: Service(identified.control_routine, function_byte=True, extended_only=True),
    0x3E: Service(tester_present, function_byte=True),
}


def _serve(unit: UnitState, request: bytes, clock: float) -> tuple[bytes, UnitState]:
    plain = generic.SERVICES.get(request[0])
    if plain is not None and unit.generic:
        return plain(unit, request)
    service = SERVICES.get(request[0])
    if service is None:
        raise RefusedError(refusals.SERVICE_NOT_SUPPORTED)
    if service.extended_only and unit.session is not Session.EXTENDED:
        raise RefusedError(refusals.SERVICE_NOT_IN_SESSION)
    data, after = service.handler(unit, request, clock)
    if len(data) >= LONGEST:
        raise RefusedError(refusals.RESPONSE_TOO_LONG)
    return data, after


def _function(request: bytes, known: set[int]) -> int:
    """Return the function byte of a request that consists of nothing else."""
    if len(request) < 2:  # noqa: PLR2004 -- service and function
        raise RefusedError(refusals.WRONG_LENGTH)
    function = request[1] & ~QUIET
    if function not in known:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    if len(request) > 2:  # noqa: PLR2004
        raise RefusedError(refusals.WRONG_LENGTH)
    return function
