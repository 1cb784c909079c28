"""The scan tool's screen: answers of control units (bytes) -> lines of text.

Pure, and display only: requests are sent by `sim.diagnosis.bus`. Numbers are shown in the steps of
SAE J1979, codes with their status in words, refusals in our words. A unit that did not answer is
named: the tool cannot know whether power, ground or bus is missing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sim.diagnosis import refusals
from sim.diagnosis.codes import NO_CODE, Code, code_of
from sim.diagnosis.generic import BLOCK, FREEZING_CODE, MONITOR_STATUS
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.readiness import CONTINUOUS, LAMP_BIT, MOST_CODES, ONCE
from sim.diagnosis.status import Status, words
from sim.diagnosis.unit import Datum, Output
from sim.errors import DiagnosisError

CURRENT, FROZEN, CONFIRMED, PENDING = 0x41, 0x42, 0x43, 0x47
IDENTIFIED, LISTED = 0x62, 0x59
MAP_LENGTH = 4  # bytes of a bit map and of the monitor status


@dataclass(frozen=True, slots=True)
class Line:
    """One line of live data or of a freeze frame."""

    name: str
    value: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class CodeLine:
    """One trouble code: number, our title, status in words."""

    code: Code
    title: str
    status: str


def no_answer(unit: str) -> str:
    """Return what the screen says when a unit keeps silent."""
    return f"no answer from {unit}"


def refusal(unit: str, answer: bytes) -> str | None:
    """Return what the screen says to a negative response, None if the answer is positive."""
    if answer[:1] != bytes((refusals.NEGATIVE,)):
        return None
    code = answer[2] if len(answer) > 2 else 0  # noqa: PLR2004
    said = refusals.WORDS.get(code, "refused")
    return f"{unit}: {said} ({code:02X})"


def supported(answers: Iterable[bytes]) -> tuple[int, ...]:
    """Return the parameter ids that bit maps (41 00, 41 20, ...) tell of, bit maps left out."""
    found = set()
    for answer in answers:
        for identifier, data in _parameters(answer, CURRENT):
            if identifier % BLOCK == 0:
                bits = int.from_bytes(data, "big")
                found |= {identifier + n for n in range(1, BLOCK + 1) if bits >> BLOCK - n & 1}
    return tuple(sorted(one for one in found if one % BLOCK))


def live_data(answer: bytes) -> tuple[Line, ...]:
    """Return the lines of an answer to service 01.

    Raises
    ------
    DiagnosisError
        It is none, or breaks off.
    """
    return tuple(line for _identifier, lines in live_parameters(answer) for line in lines)


def live_parameters(answer: bytes) -> tuple[tuple[int, tuple[Line, ...]], ...]:
    """Return the lines of an answer to service 01 by parameter; raises as `live_data` does."""
    return tuple((one, tuple(_lines(one, data))) for one, data in _parameters(answer, CURRENT))


def freeze_frame(answer: bytes) -> tuple[Line, ...]:
    """Return the lines of an answer to service 02; raises as `live_data` does."""
    return tuple(
        line
        for identifier, data in _parameters(answer, FROZEN)
        for line in _lines(identifier, data)
    )


def maker_data(answer: bytes, known: Iterable[Datum | Output]) -> tuple[Line, ...]:
    """Return the lines of an answer to service 22.

    Parameters
    ----------
    known : iterable
        What the maker's description says of the identifiers: name and scaling.
    """
    scalings = {one.identifier: one for one in known}
    rest = _behind(answer, IDENTIFIED)
    lines = []
    while rest:
        one = scalings.get(int.from_bytes(rest[:2], "big"))
        if one is None:
            raise DiagnosisError(f"answer {answer.hex(' ')}: identifier {rest[:2].hex()} unknown")
        data = rest[2 : 2 + one.scaling.length]
        lines.append(Line(one.name, one.scaling.show(data), one.scaling.unit))
        rest = rest[2 + one.scaling.length :]
    return tuple(lines)


def generic_codes(answer: bytes) -> tuple[CodeLine, ...]:
    """Return the codes of an answer to service 03 or 07; raises as `live_data` does."""
    said = "pending" if answer[:1] == bytes((PENDING,)) else "confirmed"
    rest = _behind(answer, PENDING if said == "pending" else CONFIRMED)
    if not rest or len(rest) != 1 + 2 * rest[0]:
        raise DiagnosisError(f"answer {answer.hex(' ')}: does not hold as many codes as it says")
    codes = [code_of(rest[start : start + 2]) for start in range(1, len(rest), 2)]
    return tuple(CodeLine(code, code.title, said) for code in codes)


def codes_with_status(answer: bytes) -> tuple[CodeLine, ...]:
    """Return the codes of an answer to 19 02 or 19 0A; raises as `live_data` does.

    Codes that have neither failed nor been stored since they were cleared are left out.
    """
    rest = _behind(answer, LISTED)[2:]
    if len(rest) % 4:
        raise DiagnosisError(f"answer {answer.hex(' ')}: breaks off in the middle of a code")
    lines = []
    for start in range(0, len(rest), 4):
        code, status = code_of(rest[start : start + 3]), rest[start + 3]
        if status & (Status.FAILED | Status.PENDING | Status.CONFIRMED):
            lines.append(CodeLine(code, code.title, words(status)))
    return tuple(lines)


def _behind(answer: bytes, service: int) -> bytes:
    """Return what follows the service byte."""
    if answer[:1] != bytes((service,)):
        raise DiagnosisError(f"answer {answer.hex(' ') or '(empty)'}: expected {service:02X} ...")
    return answer[1:]


def _parameters(answer: bytes, service: int) -> Iterable[tuple[int, bytes]]:
    """Take an answer to service 01 or 02 apart: ids and their bytes."""
    rest = _behind(answer, service)
    skip = 1 + (service == FROZEN)  # the number of the frame follows the id
    while rest:
        length = _length(rest[0])
        data = rest[skip : skip + length]
        if len(data) < length:
            raise DiagnosisError(f"answer {answer.hex(' ')}: breaks off in {rest[0]:02X}")
        yield rest[0], data
        rest = rest[skip + length :]


def _length(identifier: int) -> int:
    if identifier % BLOCK == 0 or identifier == MONITOR_STATUS:
        return MAP_LENGTH
    if identifier == FREEZING_CODE:
        return len(NO_CODE)
    if identifier in PARAMETERS:
        return PARAMETERS[identifier].scaling.length
    raise DiagnosisError(f"parameter {identifier:02X}: unknown to this scan tool")


def _lines(identifier: int, data: bytes) -> tuple[Line, ...]:
    if identifier % BLOCK == 0:
        return ()
    if identifier == MONITOR_STATUS:
        return _monitor_lines(data)
    if identifier == FREEZING_CODE:
        text = "none" if data == NO_CODE else str(code_of(data))
        return (Line("code that froze the frame", text),)
    one = PARAMETERS[identifier]
    return (Line(one.name, one.scaling.show(data), one.scaling.unit),)


def _monitor_lines(data: bytes) -> tuple[Line, ...]:
    """Return the lines of parameter 01: lamp, number of codes, readiness."""
    lines = [
        Line("warning lamp", "on" if data[0] & LAMP_BIT else "off"),
        Line("confirmed codes", str(data[0] & MOST_CODES)),
    ]
    groups = [
        (name, data[1] >> bit & 1, data[1] >> 4 + bit & 1) for bit, name in enumerate(CONTINUOUS)
    ]
    groups += [(name, data[2] >> bit & 1, data[3] >> bit & 1) for bit, name in enumerate(ONCE)]
    lines += [
        Line(f"monitor {name}", "not complete" if waiting else "complete")
        for name, there, waiting in groups
        if name and there
    ]
    return tuple(lines)
