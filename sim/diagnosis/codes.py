"""Trouble codes as text and as bytes, with our own short titles.

Two bytes A, B of SAE J2012 / ISO 15031-6::

    A7 A6         P, C, B, U
    A5 A4         first digit, 0 to 3
    A3..A0, B     three hexadecimal digits

ISO 14229-1 adds a third byte, the failure type of SAE J2012-DA. Two bytes of zero say "no code".
Numbers are generic ones only (first digit 0); the titles are ours. Failure types are from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sim.errors import DiagnosisError
from sim.language import msg

SYSTEMS = "PCBU"
NO_CODE = bytes(2)

_TEXT = re.compile(r"([PCBU])([0-3])([0-9A-F]{3})")

#: Titles of the generic codes that the course uses; ours.
TITLES = {
    "P0087": msg("Fuel rail pressure too low"),
    "P0107": msg("Manifold pressure sensor: signal low"),
    "P0108": msg("Manifold pressure sensor: signal high"),
    "P0112": msg("Intake air temperature sensor 1: signal low"),
    "P0113": msg("Intake air temperature sensor 1: signal high"),
    "P0117": msg("Coolant temperature sensor 1: signal low"),
    "P0118": msg("Coolant temperature sensor 1: signal high"),
    "P0122": msg("Throttle position sensor A: signal low"),
    "P0123": msg("Throttle position sensor A: signal high"),
    "P0217": msg("Engine coolant too hot"),
    "P0230": msg("Fuel pump: primary circuit"),
    "P0335": msg("Crankshaft position sensor A: circuit"),
    "P0480": msg("Cooling fan 1: control circuit"),
    "P0481": msg("Cooling fan 2: control circuit"),
    "P0532": msg("Refrigerant pressure sensor A: signal low"),
    "P0533": msg("Refrigerant pressure sensor A: signal high"),
    "P0562": msg("Supply of the vehicle: voltage low"),
    "P0563": msg("Supply of the vehicle: voltage high"),
    "P0627": msg("Fuel pump A: control circuit open"),
    "P0628": msg("Fuel pump A: control circuit low"),
    "P0629": msg("Fuel pump A: control circuit high"),
    "P0685": msg("Main relay: control circuit open"),
    "P0691": msg("Cooling fan 1: control circuit low"),
    "P0692": msg("Cooling fan 1: control circuit high"),
    "U0100": msg("No communication with engine control unit A"),
    "U0101": msg("No communication with transmission control unit"),
    "U0121": msg("No communication with anti-lock brake control unit"),
    "U0140": msg("No communication with body control unit"),
    "U0146": msg("No communication with gateway A"),
    "U0155": msg("No communication with instrument cluster control unit"),
    "U0199": msg("No communication with door control unit A"),
}

#: Failure types of SAE J2012-DA that the course uses, in our words; from memory.
FAILURE_TYPES = {
    0x00: "",
    0x11: msg("short to ground"),
    0x12: msg("short to supply"),
    0x13: msg("open"),
    0x14: msg("short to ground or open"),
    0x15: msg("short to supply or open"),
    0x16: msg("voltage below limit"),
    0x17: msg("voltage above limit"),
    0x87: msg("message missing"),
}


@dataclass(frozen=True, slots=True, order=True)
class Code:
    """One trouble code.

    Attributes
    ----------
    text : str
        Letter and four digits, hexadecimal in capitals: ``"P0117"``.
    failure_type : int
        Third byte, 0 where nothing more is known.

    Raises
    ------
    DiagnosisError
        The text is no code, or the failure type no byte.
    """

    text: str
    failure_type: int = 0

    def __post_init__(self) -> None:
        """Refuse what cannot be written in bytes."""
        if _TEXT.fullmatch(self.text) is None:
            raise DiagnosisError(
                f"trouble code: got {self.text!r}, expected P, C, B or U, a digit 0 to 3 and three "
                "hexadecimal digits in capitals, such as P0117"
            )
        if not 0 <= self.failure_type <= 0xFF:  # noqa: PLR2004 -- a byte
            raise DiagnosisError(
                f"{self.text}: got failure type {self.failure_type}, expected 0 to 255"
            )

    @property
    def two(self) -> bytes:
        """The two bytes of SAE J2012."""
        system, digits = SYSTEMS.index(self.text[0]), self.text[1:]
        return (system << 14 | int(digits, 16)).to_bytes(2, "big")

    @property
    def three(self) -> bytes:
        """The two bytes and the failure type, as ISO 14229-1 carries them."""
        return self.two + bytes((self.failure_type,))

    @property
    def title(self) -> str:
        """What the code says, in our words; empty where the course does not use it."""
        words = TITLES.get(self.text, "")
        detail = FAILURE_TYPES.get(self.failure_type, "")
        return f"{words} ({detail})" if words and detail else words

    def __str__(self) -> str:
        """Write ``P0117``, or ``P0117-16`` with a failure type."""
        return f"{self.text}-{self.failure_type:02X}" if self.failure_type else self.text


def code_of(data: bytes) -> Code:
    """Read a code from its two or three bytes.

    Raises
    ------
    DiagnosisError
        Another number of bytes.
    """
    if len(data) not in {2, 3}:
        raise DiagnosisError(f"trouble code: got {len(data)} bytes, expected two or three")
    number = int.from_bytes(data[:2], "big")
    text = f"{SYSTEMS[number >> 14]}{number >> 12 & 3}{number & 0xFFF:03X}"
    return Code(text, data[2] if len(data) > 2 else 0)  # noqa: PLR2004
