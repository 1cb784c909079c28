"""Status of a trouble code: the bits of ISO 14229-1, and a technician's words for them."""

from __future__ import annotations

from enum import IntFlag


class Status(IntFlag):
    """Status bits of a trouble code, ISO 14229-1."""

    FAILED = 0x01
    FAILED_THIS_CYCLE = 0x02
    PENDING = 0x04
    CONFIRMED = 0x08
    NOT_COMPLETED_SINCE_CLEAR = 0x10
    FAILED_SINCE_CLEAR = 0x20
    NOT_COMPLETED_THIS_CYCLE = 0x40
    LAMP = 0x80


def words(status: int) -> str:
    """Return a status in a technician's words."""
    bits = Status(status & 0xFF)
    if Status.CONFIRMED in bits:
        if Status.FAILED in bits:
            untested = Status.NOT_COMPLETED_THIS_CYCLE in bits
            return "confirmed, not tested again yet" if untested else "confirmed, present"
        if Status.FAILED_THIS_CYCLE in bits:
            return "confirmed, not present now"
        return "history"
    if Status.PENDING in bits:
        return "pending, present" if Status.FAILED in bits else "pending"
    if Status.FAILED in bits:
        return "present"
    return "not tested yet" if Status.NOT_COMPLETED_SINCE_CLEAR in bits else "not present"
