"""Frames on the CAN pair: what was sent when, bit by bit.

A classic frame with 11-bit identifier (ISO 11898-1)::

    start 0 · identifier 11 · RTR 0 · IDE 0 · r0 0 · length 4 · data 8 n · check 15   stuffed
    check delimiter 1 · acknowledge · delimiter 1 · end 1111111 · pause 111           not stuffed

0 is dominant. After five equal bits an opposite one is stuffed in. The check is CRC-15 with
polynomial 4599. The oscilloscope draws from these bits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BIT_RATE = 500_000.0  # bit/s; ISO 15765-4 has 250 and 500 kbit/s
CRC_POLYNOMIAL, CRC_LENGTH = 0x4599, 15
SAME_BITS = 5  # in a row before one is stuffed in
DELIMITER, END, PAUSE = (1,), (1,) * 7, (1,) * 3


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame.

    Attributes
    ----------
    start : float
        Clock in s at its first bit.
    identifier : int
        11 bits.
    data : bytes
        Up to eight.
    acknowledged : bool
        Whether anybody but the sender was there to pull the acknowledge bit down.
    """

    start: float
    identifier: int
    data: bytes
    acknowledged: bool = True

    def bits(self) -> tuple[int, ...]:
        """Return all bits as on the pair, pause included."""
        protected = _number(self.identifier, 1 + 11) + _number(len(self.data), 3 + 4)
        for byte in self.data:
            protected += _number(byte, 8)
        check = _number(crc(protected), CRC_LENGTH)
        acknowledge = (0 if self.acknowledged else 1,)
        after = DELIMITER + acknowledge + DELIMITER + END + PAUSE
        return stuffed(protected + check) + after

    @property
    def seconds(self) -> float:
        """How long the pair is taken, pause included."""
        return len(self.bits()) / BIT_RATE


def crc(bits: Sequence[int]) -> int:
    """Return the check of a row of bits."""
    register = 0
    for bit in bits:
        inverted = bit ^ register >> CRC_LENGTH - 1
        register = (register << 1) & ((1 << CRC_LENGTH) - 1)
        if inverted:
            register ^= CRC_POLYNOMIAL
    return register


def stuffed(bits: Sequence[int]) -> tuple[int, ...]:
    """Return a row of bits with the stuffed ones in it."""
    sent: list[int] = []
    run = 0
    for bit in bits:
        run = run + 1 if sent and sent[-1] == bit else 1
        sent.append(bit)
        if run == SAME_BITS:
            sent.append(1 - bit)
            run = 1
    return tuple(sent)


def _number(value: int, length: int) -> tuple[int, ...]:
    """Return a number as bits, highest first."""
    return tuple(value >> place & 1 for place in reversed(range(length)))
