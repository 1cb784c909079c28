"""Number in SI <-> bytes <-> digits on a screen, in the steps of a standard.

    raw = round((value / si - offset) / step), clamped to what the bytes can hold
    value = (raw * step + offset) * si

`raw` is big-endian. The screen shows the standard's unit with as many decimals as it takes to tell
two steps apart, so what is finer than a step cannot be read off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.errors import DiagnosisError


@dataclass(frozen=True, slots=True)
class Scaling:
    """How one number is carried.

    Attributes
    ----------
    length : int
        Bytes.
    step, offset : float
        Value of one count, and of zero counts, in `unit`.
    unit : str
        As on the screen.
    si : float
        The unit in SI: 0.2778 m/s for km/h; 1 for degC, which stays as it is.
    decimals : int
        Digits shown behind the point.
    signed : bool
        Whether `raw` is a two's complement.
    """

    length: int
    step: float = 1.0
    offset: float = 0.0
    unit: str = ""
    si: float = 1.0
    decimals: int = 0
    signed: bool = False

    @property
    def bounds(self) -> tuple[int, int]:
        """Least and largest raw number."""
        count = 1 << 8 * self.length
        return (-(count // 2), count // 2 - 1) if self.signed else (0, count - 1)

    @property
    def least(self) -> float:
        """The least value in SI that can be carried."""
        return (self.bounds[0] * self.step + self.offset) * self.si

    @property
    def largest(self) -> float:
        """The largest value in SI that can be carried."""
        return (self.bounds[1] * self.step + self.offset) * self.si

    def encode(self, value: float) -> bytes:
        """Return the bytes of a value in SI, of the nearest one where it is out of range.

        Raises
        ------
        DiagnosisError
            The value is not a number.
        """
        if math.isnan(value):
            raise DiagnosisError("value to send: got nan, expected a number")
        least, largest = self.bounds
        raw = min(max((value / self.si - self.offset) / self.step, least), largest)
        return round(raw).to_bytes(self.length, "big", signed=self.signed)

    def decode(self, data: bytes) -> float:
        """Return the value in SI; raises `DiagnosisError` for another number of bytes."""
        return self._shown(data) * self.si

    def show(self, data: bytes) -> str:
        """Return the digits that a screen shows, without the unit."""
        text = f"{self._shown(data):.{self.decimals}f}"
        return text.removeprefix("-") if float(text) == 0 else text

    def _shown(self, data: bytes) -> float:
        if len(data) != self.length:
            raise DiagnosisError(f"value received: got {len(data)} bytes, expected {self.length}")
        return int.from_bytes(data, "big", signed=self.signed) * self.step + self.offset
