"""Messages of ISO 13400-2 (diagnostics over internet protocol) as bytes; pure.

    version · 255 - version · type (2) · length (4) · payload

Numbers are from memory; two libraries that are not ours read and write the same. A reader takes
bytes as they come, in any pieces, and gives whole messages, or what is wrong with a header: a wrong
pattern or length ends the connection, an unknown type or too long a message is skipped.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

HOST = "127.0.0.1"  # loopback, and nothing else
PORT = 13400  # TCP and UDP
VERSIONS = (1, 2, 3)  # 2010, 2012, 2019
ANY_VERSION = 0xFF  # allowed in a request for identification
VERSION = 2
HEADER = 8  # bytes
LONGEST = 4 + 4095  # payload: two addresses and one transfer on CAN


class Kind(IntEnum):
    """Payload types."""

    HEADER_REFUSED = 0x0000
    IDENTIFY = 0x0001
    IDENTIFY_BY_EID = 0x0002
    IDENTIFY_BY_VIN = 0x0003
    IDENTIFICATION = 0x0004
    ACTIVATE = 0x0005
    ACTIVATION = 0x0006
    ALIVE_CHECK = 0x0007
    ALIVE = 0x0008
    STATUS = 0x4001
    STATUS_ANSWER = 0x4002
    POWER_MODE = 0x4003
    POWER_MODE_ANSWER = 0x4004
    DIAGNOSTIC = 0x8001
    ACKNOWLEDGED = 0x8002
    NOT_ACKNOWLEDGED = 0x8003


class HeaderFault(IntEnum):
    """What is wrong with a header, ISO 13400-2."""

    PATTERN = 0x00
    UNKNOWN_KIND = 0x01
    TOO_LONG = 0x02
    LENGTH = 0x04


#: Lengths a payload may have, least and largest, of what a tester sends.
LENGTHS = {
    Kind.IDENTIFY: (0, 0),
    Kind.IDENTIFY_BY_EID: (6, 6),
    Kind.IDENTIFY_BY_VIN: (17, 17),
    Kind.ACTIVATE: (7, 11),
    Kind.ALIVE_CHECK: (0, 0),
    Kind.ALIVE: (2, 2),
    Kind.STATUS: (0, 0),
    Kind.POWER_MODE: (0, 0),
    Kind.DIAGNOSTIC: (5, LONGEST),
}


@dataclass(frozen=True, slots=True)
class Message:
    """One message that has arrived."""

    kind: Kind
    payload: bytes


@dataclass(frozen=True, slots=True)
class Refusal:
    """A header that cannot be taken; `ends` tells whether the connection is over."""

    fault: HeaderFault

    @property
    def ends(self) -> bool:
        """Whether nothing behind it can be understood."""
        return self.fault in {HeaderFault.PATTERN, HeaderFault.LENGTH}


def pack(kind: Kind, payload: bytes = b"") -> bytes:
    """Return a message as bytes."""
    start = bytes((VERSION, 0xFF - VERSION)) + kind.to_bytes(2, "big")
    return start + len(payload).to_bytes(4, "big") + payload


class Reader:
    """Puts messages together from bytes as they come."""

    def __init__(self) -> None:
        self._waiting = b""
        self._skip = 0
        self._over = False

    @property
    def waiting(self) -> int:
        """How many bytes are kept for a message that is not complete."""
        return len(self._waiting)

    def feed(self, data: bytes) -> list[Message | Refusal]:
        """Take bytes and return what is complete; nothing more after a refusal that ends."""
        found: list[Message | Refusal] = []
        self._waiting += data
        while not self._over and (one := self._next()) is not None:
            found.append(one)
            self._over = isinstance(one, Refusal) and one.ends
        return found

    def _next(self) -> Message | Refusal | None:
        skipped = min(self._skip, len(self._waiting))
        self._skip -= skipped
        self._waiting = self._waiting[skipped:]
        if len(self._waiting) < HEADER:
            return None
        number, length, fault = _header(self._waiting[:HEADER])
        if fault is not None:
            self._skip = HEADER + length
            return Refusal(fault)
        if len(self._waiting) < HEADER + length:
            return None
        payload = self._waiting[HEADER : HEADER + length]
        self._waiting = self._waiting[HEADER + length :]
        return Message(Kind(number), payload)


def _header(header: bytes) -> tuple[int, int, HeaderFault | None]:
    """Return type, length and what is wrong."""
    version, inverse = header[0], header[1]
    number, length = int.from_bytes(header[2:4], "big"), int.from_bytes(header[4:8], "big")
    known = version in VERSIONS or (version == ANY_VERSION and number in _IDENTIFY)
    if not known or inverse != 0xFF - version:
        return number, length, HeaderFault.PATTERN
    if number not in LENGTHS:
        return number, length, HeaderFault.UNKNOWN_KIND
    least, largest = LENGTHS[Kind(number)]
    if length > LONGEST:
        return number, length, HeaderFault.TOO_LONG
    if not least <= length <= largest or (number == Kind.ACTIVATE and length not in _ACTIVATE):
        return number, length, HeaderFault.LENGTH
    return number, length, None


_IDENTIFY = (Kind.IDENTIFY, Kind.IDENTIFY_BY_EID, Kind.IDENTIFY_BY_VIN)
_ACTIVATE = (7, 11)  # without and with the maker's own four bytes
