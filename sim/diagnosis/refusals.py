"""Negative response codes of ISO 14229-1 that these units give."""

from __future__ import annotations

from sim.language import msg

SERVICE_NOT_SUPPORTED = 0x11
SUBFUNCTION_NOT_SUPPORTED = 0x12
WRONG_LENGTH = 0x13
RESPONSE_TOO_LONG = 0x14
CONDITIONS_NOT_CORRECT = 0x22
SEQUENCE_ERROR = 0x24
OUT_OF_RANGE = 0x31
PENDING = 0x78
SUBFUNCTION_NOT_IN_SESSION = 0x7E
SERVICE_NOT_IN_SESSION = 0x7F

NEGATIVE = 0x7F  # first byte of a negative response

#: A unit that was asked together with all others keeps silent instead of refusing with these.
SILENT = frozenset(
    {
        SERVICE_NOT_SUPPORTED,
        SUBFUNCTION_NOT_SUPPORTED,
        OUT_OF_RANGE,
        SUBFUNCTION_NOT_IN_SESSION,
        SERVICE_NOT_IN_SESSION,
    }
)

#: In our words.
WORDS = {
    SERVICE_NOT_SUPPORTED: msg("the unit does not know this service"),
    SUBFUNCTION_NOT_SUPPORTED: msg("the unit does not know this function"),
    WRONG_LENGTH: msg("the request has a wrong length or format"),
    RESPONSE_TOO_LONG: msg("the answer would be too long"),
    CONDITIONS_NOT_CORRECT: msg("conditions are not right"),
    SEQUENCE_ERROR: msg("not in this order"),
    OUT_OF_RANGE: msg("the unit does not have this, or the value is out of range"),
    0x33: msg("the unit is locked"),
    PENDING: msg("the answer will follow"),
    SUBFUNCTION_NOT_IN_SESSION: msg("not in this diagnostic session"),
    SERVICE_NOT_IN_SESSION: msg("not in this diagnostic session"),
}
