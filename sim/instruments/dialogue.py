"""What a scan tool asks of one unit, and what its screen says: real frames there and back.

Each task takes the bus and the unit's name, asks byte by byte (`sim.diagnosis.bus`) and writes the
answers with `sim.instruments.scantool`, in our words. A unit that keeps silent is named, and so is
what it refuses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.generic import BLOCK, FREEZING_CODE, MONITOR_STATUS
from sim.diagnosis.identified import RESULTS, START
from sim.diagnosis.unit import Hold, Output, Routine, Session, UnitState
from sim.errors import DiagnosisError
from sim.instruments.scantool import (
    Line,
    codes_with_status,
    freeze_frame,
    live_data,
    live_parameters,
    maker_data,
    no_answer,
    refusal,
    supported,
)

ALL_CODES = bytes((0x19, 0x02, 0xFF))
CLEAR_ALL = bytes((0x14, 0xFF, 0xFF, 0xFF))
EXTENDED = bytes((0x10, Session.EXTENDED))
LIVE, OWN = bytes((0x01,)), bytes((0x22,))
AT_ONCE = 6  # parameters in one request of service 01
FRAME = 0
STATES = ("never started", "running", "finished", "stopped")  # of a routine; `identified`

Asked = tuple[Line, bytes]  # a line, and the request that gets it without the others


class SilentError(Exception):
    """A unit has not answered; the text is what the screen says."""


class RefusedError(SilentError):
    """A unit has refused; the text is what the screen says."""


def ask(bus: DiagnosticBus, name: str, request: bytes) -> bytes:
    """Return a unit's positive answer; raises SilentError with what the screen says instead."""
    answers = bus.ask(name, request)
    if not answers:
        raise SilentError(no_answer(name))
    said = refusal(name, answers[-1].data)
    if said is not None:
        raise RefusedError(said)
    return answers[-1].data


def codes(bus: DiagnosticBus, name: str) -> tuple[str, ...]:
    """Read all codes that have failed, are pending or confirmed, with their status."""
    found = codes_with_status(ask(bus, name, ALL_CODES))
    lines = tuple(f"{one.code} {one.title}: {one.status}" for one in found)
    return lines or ("no codes",)


def live(bus: DiagnosticBus, name: str) -> tuple[str, ...]:
    """Read every parameter of service 01 that the unit says it has."""
    return _all_written(_live(bus, name))


def _live(bus: DiagnosticBus, name: str) -> Iterator[Asked]:
    """Give every line of service 01."""
    known = _known(bus, name, LIVE)
    for start in range(0, len(known), AT_ONCE):
        answer = ask(bus, name, LIVE + bytes(known[start : start + AT_ONCE]))
        for identifier, lines in live_parameters(answer):
            yield from ((line, LIVE + bytes((identifier,))) for line in lines)


def frozen(bus: DiagnosticBus, name: str) -> tuple[str, ...]:
    """Read the freeze frame: the code that froze it, and what was measured then."""
    first = ask(bus, name, bytes((0x02, FREEZING_CODE, FRAME)))
    lines = [*_written(freeze_frame(first))]
    for identifier in _frozen_ids(bus, name):
        answer = ask(bus, name, bytes((0x02, identifier, FRAME)))
        lines += _written(freeze_frame(answer))
    return tuple(lines)


def own_data(bus: DiagnosticBus, name: str) -> tuple[str, ...]:
    """Read the maker's own data, outputs among them."""
    return _all_written(_own(bus, name))


def _own(bus: DiagnosticBus, name: str) -> Iterator[Asked]:
    """Give every line of the maker's own data."""
    unit = bus.unit(name)
    for one in unit.readable:
        request = OWN + one.identifier.to_bytes(2, "big")
        answer = ask(bus, name, request)
        yield from ((line, request) for line in maker_data(answer, unit.readable))


def find(bus: DiagnosticBus, name: str, what: str) -> tuple[str, bytes]:
    """Return a line of live or maker data without its name, and the request that gets it again.

    A unit that has no such line says so; there is no request then.
    """
    for read in (_live, _own):
        try:
            found = _named(tuple(read(bus, name)), what)
        except RefusedError:
            continue
        if found:
            return found
    return f"no {what}", b""


def again(bus: DiagnosticBus, name: str, what: str, request: bytes) -> tuple[str, bytes]:
    """Return a line that was found before, by its request alone; as `find` where it fails."""
    try:
        answer = ask(bus, name, request)
    except RefusedError:
        return find(bus, name, what)
    own = request.startswith(OWN)
    lines = maker_data(answer, bus.unit(name).readable) if own else live_data(answer)
    return _named([(line, request) for line in lines], what) or find(bus, name, what)


def _named(lines: Iterable[Asked], what: str) -> tuple[str, bytes] | None:
    """Return the first line of a name, without it, and its request; None where there is none."""
    for line, request in lines:
        if line.name == what:
            return f"{line.value} {line.unit}".strip(), request
    return None


def clear(bus: DiagnosticBus, name: str) -> tuple[str, ...]:
    """Clear all codes."""
    ask(bus, name, CLEAR_ALL)
    return ("codes cleared",)


def hold(bus: DiagnosticBus, name: str, output: Output, value: float) -> tuple[str, ...]:
    """Hold an output at a value in SI until it is released."""
    ask(bus, name, EXTENDED)
    identifier = output.identifier.to_bytes(2, "big")
    wanted = bytes((0x2F, *identifier, Hold.ADJUSTED)) + output.scaling.encode(value)
    ask(bus, name, wanted)
    shown = output.scaling.show(output.scaling.encode(value))
    return (f"{output.name} held at {shown} {output.scaling.unit}".strip(),)


def release(bus: DiagnosticBus, name: str, output: Output) -> tuple[str, ...]:
    """Give an output back to its unit."""
    ask(bus, name, EXTENDED)
    ask(bus, name, bytes((0x2F, *output.identifier.to_bytes(2, "big"), Hold.UNIT)))
    return (f"{output.name} is the unit's own again",)


def start(bus: DiagnosticBus, name: str, routine: Routine) -> tuple[str, ...]:
    """Start a routine and say how it stands."""
    ask(bus, name, EXTENDED)
    identifier = routine.identifier.to_bytes(2, "big")
    ask(bus, name, bytes((0x31, START, *identifier)))
    answer = ask(bus, name, bytes((0x31, RESULTS, *identifier)))
    return (f"{routine.name}: {STATES[answer[4]]}",)


def called(unit: UnitState, what: str) -> Output | Routine:
    """Return the output or routine of a name.

    Raises
    ------
    DiagnosisError
        The unit has none of that name.
    """
    known: list[Output | Routine] = [*unit.outputs, *unit.routines]
    for one in known:
        if one.name == what:
            return one
    names = ", ".join(one.name for one in known) or "none"
    raise DiagnosisError(f"{unit.name} has no output or routine {what!r}; it has {names}")


def _known(bus: DiagnosticBus, name: str, service: bytes) -> tuple[int, ...]:
    """Return the parameter ids that a unit supports, monitor status first."""
    answers, start = [], 0
    while True:
        answer = ask(bus, name, service + bytes((start,)))
        answers.append(answer)
        if not answer[-1] & 1:
            break
        start += BLOCK
    return (*(one for one in supported(answers) if one != FREEZING_CODE),)


def _frozen_ids(bus: DiagnosticBus, name: str) -> Iterator[int]:
    """Give the ids that a freeze frame holds; its bit maps end where the last bit is 0."""
    begin = 0
    while True:
        answer = ask(bus, name, bytes((0x02, begin, FRAME)))
        bits = int.from_bytes(answer[3:], "big")
        for place in range(1, BLOCK + 1):
            identifier = begin + place
            wanted = bits >> BLOCK - place & 1
            if wanted and identifier % BLOCK and identifier not in (FREEZING_CODE, MONITOR_STATUS):
                yield identifier
        if not bits & 1:
            return
        begin += BLOCK


def _all_written(asked: Iterator[Asked]) -> tuple[str, ...]:
    return (*_written(line for line, _request in asked),) or ("no data",)


def _written(lines: Iterable[Line]) -> list[str]:
    return [f"{line.name} {line.value} {line.unit}".strip() for line in lines]
