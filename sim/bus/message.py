"""What a unit sends all the time: one message of eight bytes, in real frames.

Bytes 0 and 1 hold its own supply in mV, byte 2 a counter from 0 to 15, the others FF, "not
available" (all ours: makers have their own lists). How long a frame takes and for how much of that
the pair is dominant follow from its bits, stuffing and check included (`sim.diagnosis.frames`).
"""

from __future__ import annotations

from sim.diagnosis.frames import Frame
from sim.errors import QuantityError

LARGEST = 0x7FF  # 11 bits
NOMINAL = 12.6  # V, for the share of dominant bits; ours
NOT_AVAILABLE = 0xFF
COUNTS = 16


def read_identifier(text: str) -> int:
    """Return the 11-bit identifier that a text of up to three hexadecimal digits gives.

    Raises
    ------
    QuantityError
        It is none.
    """
    try:
        number = int(text, 16)
    except ValueError:
        number = -1
    if not 0 <= number <= LARGEST:
        raise QuantityError(f"identifier: got {text!r}, expected hexadecimal, 000 to 7FF")
    return number


def message(identifier: int, volts: float, count: int, *, acknowledged: bool = True) -> Frame:
    """Return the frame that a unit sends.

    Parameters
    ----------
    volts : float
        Its own supply in V.
    count : int
        How many it has sent before.
    """
    millivolts = round(min(max(volts, 0.0) * 1000.0, 65535.0))
    data = millivolts.to_bytes(2, "big") + bytes((count % COUNTS,)) + bytes((NOT_AVAILABLE,)) * 5
    return Frame(0.0, identifier, data, acknowledged)


def dominant_share(identifier: int) -> float:
    """Return the share of dominant bits in a unit's frame, pause included."""
    bits = message(identifier, NOMINAL, 0).bits()
    return bits.count(0) / len(bits)


def frame_bits(identifier: int) -> int:
    """Return the number of bits of a unit's frame, pause included."""
    return len(message(identifier, NOMINAL, 0).bits())
