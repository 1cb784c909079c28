"""A suspect as a student reads it."""

from __future__ import annotations

from grader.reasonwords import listed
from sim.language import retell
from sim.vocabulary import WAYS

#: Unit of a file or a display -> its sign.
UNITS = {"ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "degC": "°C"}


def suspect_words(name: str) -> str:
    """Return a suspect's name without signs: ``C41.1 high resistance, 0.4 Ω``."""
    if "=" not in name:
        return name  # a cause that is no failed part says itself
    return listed([_fault_words(fault) for fault in name.split(" + ")], "and")


def _fault_words(fault: str) -> str:
    point, _, rest = fault.partition("=")
    way, _, severity = rest.partition(":")
    number, _, unit = severity.partition(" ")
    if not severity:
        return f"{point} {retell(way, WAYS)}"
    return f"{point} {retell(way, WAYS)}, {number} {UNITS.get(unit, unit)}".rstrip()
