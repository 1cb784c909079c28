"""Services of ISO 14229-1 that go by identifier: 22 read data, 2F hold an output, 31 routines.

Identifiers F400 to F4FF are the parameters of service 01 and F800 to F8FF the items of service 09
(ISO 14229-1 annex C, from memory); F190 is the vehicle's identification. An output's state and a
routine's state byte are laid out by us: the output's own scaling; 0 never started, 1 running,
2 finished, 3 stopped by the tester.
"""

from __future__ import annotations

from dataclasses import replace

from sim.diagnosis import refusals
from sim.diagnosis.generic import information_data, parameter_data
from sim.diagnosis.unit import Hold, Output, Routine, UnitState
from sim.errors import RefusedError

PARAMETER_PAGE, INFORMATION_PAGE, VIN = 0xF400, 0xF800, 0xF190
START, STOP, RESULTS = 1, 2, 3
NEVER_STARTED, RUNNING, FINISHED, STOPPED = range(4)


def read_data(unit: UnitState, request: bytes, _clock: float) -> tuple[bytes, UnitState]:
    """Answer 22: all of the identifiers asked for that the unit has."""
    if len(request) < 3 or len(request) % 2 == 0:  # noqa: PLR2004 -- service and pairs
        raise RefusedError(refusals.WRONG_LENGTH)
    answer = b""
    for start in range(1, len(request), 2):
        data = data_of(unit, int.from_bytes(request[start : start + 2], "big"))
        if data is not None:
            answer += request[start : start + 2] + data
    if not answer:
        raise RefusedError(refusals.OUT_OF_RANGE)
    return answer, unit


def data_of(unit: UnitState, identifier: int) -> bytes | None:
    """Return the bytes behind a data identifier, None if the unit does not have it."""
    for one in unit.readable:
        if one.identifier == identifier:
            return one.scaling.encode(one.value)
    if identifier in unit.labels:
        return unit.labels[identifier].encode()
    if identifier == VIN and unit.vin:
        return unit.vin.encode()
    page, low = identifier & 0xFF00, identifier & 0xFF
    if unit.generic and page == PARAMETER_PAGE:
        return parameter_data(unit, low)
    if unit.generic and page == INFORMATION_PAGE:
        return information_data(unit, low)
    return None


def control_output(unit: UnitState, request: bytes, _clock: float) -> tuple[bytes, UnitState]:
    """Answer 2F: give an output back, reset, freeze, or adjust it."""
    if len(request) < 4:  # noqa: PLR2004 -- service, identifier, what to do
        raise RefusedError(refusals.WRONG_LENGTH)
    identifier = int.from_bytes(request[1:3], "big")
    output = next((one for one in unit.outputs if one.identifier == identifier), None)
    if output is None:
        raise RefusedError(refusals.OUT_OF_RANGE)
    held = _held(output, request[3], request[4:])
    outputs = tuple(held if one is output else one for one in unit.outputs)
    state = held.value if held.hold is Hold.UNIT else held.demand
    answer = request[1:4] + held.scaling.encode(state)
    return answer, replace(unit, outputs=outputs)


def control_routine(unit: UnitState, request: bytes, clock: float) -> tuple[bytes, UnitState]:
    """Answer 31: start, stop, results."""
    if len(request) < 4:  # noqa: PLR2004 -- service, function, identifier
        raise RefusedError(refusals.WRONG_LENGTH)
    function, identifier = request[1] & 0x7F, int.from_bytes(request[2:4], "big")
    if function not in {START, STOP, RESULTS}:
        raise RefusedError(refusals.SUBFUNCTION_NOT_SUPPORTED)
    routine = next((one for one in unit.routines if one.identifier == identifier), None)
    if routine is None:
        raise RefusedError(refusals.OUT_OF_RANGE)
    if len(request) > 4:  # noqa: PLR2004 -- these routines take no options
        raise RefusedError(refusals.WRONG_LENGTH)
    after = _routine_after(routine, function, clock)
    answer = bytes((function,)) + request[2:4]
    if function == RESULTS:
        answer += bytes((_routine_state(after, clock),)) + after.results
    routines = tuple(after if one is routine else one for one in unit.routines)
    return answer, replace(unit, routines=routines)


def _held(output: Output, control: int, state: bytes) -> Output:
    if control not in set(Hold):
        raise RefusedError(refusals.OUT_OF_RANGE)
    hold = Hold(control)
    if len(state) != (output.scaling.length if hold is Hold.ADJUSTED else 0):
        raise RefusedError(refusals.WRONG_LENGTH)
    if hold is Hold.UNIT:
        return replace(output, hold=hold)
    if not output.permitted:
        raise RefusedError(refusals.CONDITIONS_NOT_CORRECT)
    if hold is Hold.DEFAULT:
        return replace(output, hold=hold, demand=output.default)
    if hold is Hold.FROZEN:
        return replace(output, hold=hold, demand=output.value)
    demand = output.scaling.decode(state)
    half = abs(output.scaling.step * output.scaling.si) / 2  # the limit itself may be rounded
    if not output.least - half <= demand <= output.largest + half:
        raise RefusedError(refusals.OUT_OF_RANGE)
    return replace(output, hold=hold, demand=min(max(demand, output.least), output.largest))


def _routine_after(routine: Routine, function: int, clock: float) -> Routine:
    if function == START:
        if not routine.permitted:
            raise RefusedError(refusals.CONDITIONS_NOT_CORRECT)
        return replace(routine, started=clock, stopped=None)
    if function == STOP:
        if not routine.runs(clock):
            raise RefusedError(refusals.SEQUENCE_ERROR)
        return replace(routine, stopped=clock)
    if routine.started is None:
        raise RefusedError(refusals.SEQUENCE_ERROR)
    return routine


def _routine_state(routine: Routine, clock: float) -> int:
    if routine.started is None:
        return NEVER_STARTED
    if routine.runs(clock):
        return RUNNING
    return FINISHED if routine.stopped is None else STOPPED
