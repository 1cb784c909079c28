"""What an instrument or a sense shows: text, exactly as the student saw it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Reading:
    """What was shown: a number as displayed (`value`, `unit`, `range`), `words`, or both.

    `steady` is False where the last digits wander because a lead touches nothing that leads
    anywhere. `also` holds further figures of the same display, by name. Everything is text, exactly
    as the student saw it.
    """

    value: str = ""
    unit: str = ""
    range: str = ""
    words: str = ""
    steady: bool = True
    also: tuple[tuple[str, str], ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the reading as it stands in a record; empty fields are left out."""
        shown: dict[str, Any] = {
            key: text for key in ("value", "unit", "range", "words") if (text := getattr(self, key))
        }
        if not self.steady:
            shown["steady"] = False
        if self.also:
            shown["also"] = dict(self.also)
        return shown

    @classmethod
    def from_json(cls, shown: Mapping[str, Any]) -> Reading:
        """Read back what `to_json` wrote."""
        fields = {str(key): value for key, value in shown.items()}
        if "also" in fields:
            fields["also"] = tuple(fields["also"].items())
        return cls(**fields)

    def text(self) -> str:
        """Return the reading as one short text; the samples of a curve are left out."""
        number = f"{self.value} {self.unit}" + ("" if self.steady else ", wandering")
        shown = [number] if self.value else []
        shown += [self.words] if self.words else []
        shown += [f"{name} {text}" for name, text in self.also if not name.endswith(SAMPLES)]
        return ", ".join(shown) if shown else number


SAMPLES = "samples"  # a figure whose name ends so is a curve: counts, one after the other
