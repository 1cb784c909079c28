"""One thing that is wrong with a circuit as a whole, and where in its file it is written."""

from __future__ import annotations

from dataclasses import dataclass

from sim.circuit import Circuit
from sim.yamltext import Where


@dataclass(frozen=True, slots=True)
class Finding:
    """What is wrong.

    Attributes
    ----------
    where : tuple
        Place in the file.
    text : str
        One line.
    warning : bool
        True if the file works all the same.
    follows : bool
        True if it may only be the consequence of another mistake.
    """

    where: Where
    text: str
    warning: bool = False
    follows: bool = False


def written_at(part: str) -> Where:
    """Return where in its file a part is written: a wire, a rail's link or strap, or a part."""
    for lead, section in (("wire ", "wires"), ("strap ", "rails"), ("link", "rails")):
        if part.startswith(lead):
            return (section, part.removeprefix(lead))
    return ("parts", part)


def where_of(circuit: Circuit, part: str) -> Where:
    """Return where a part of a circuit is written; a part may be called `link` something too."""
    where = written_at(part)
    if where[0] == "rails" and where[1] not in circuit.rails:
        return ("parts", part)
    return where


def listed(names: list[str], most: int = 6) -> str:
    """Return names for a message, the first few of them."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
