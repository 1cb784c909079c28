"""What the readers of a circuit file's sections share: its entries, its lines, its mistakes so far.

A section is read to its end whatever is wrong in it, so that an author sees all mistakes at once.
What is broken is kept in mind: nothing that hangs on it is called wrong as well.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sim.circuit import BODY, Part
from sim.circuitentries import CircuitEntry
from sim.errors import QuantityError
from sim.mistakes import Mistake, perhaps
from sim.parts import FAMILIES
from sim.quantity import parse
from sim.yamltext import Document, Where

Value = float | str | bool


@dataclass(slots=True)
class Pad:
    """A circuit file while it is read.

    Attributes
    ----------
    mistakes : list
        What is wrong so far.
    broken : set of str
        Names of parts and wires that are in the file but could not be read, and of parts of which
        some value is a guess.
    vague : set of str
        Names of parts of which a value is a guess on which their terminals depend.
    """

    document: Document
    entry: CircuitEntry
    mistakes: list[Mistake] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    vague: set[str] = field(default_factory=set)

    def note(self, where: Where, text: str) -> None:
        """Keep a mistake."""
        self.mistakes.append(self.document.mistake(where, text))

    def written(self, section: str) -> tuple[str, ...]:
        """Return the names written in a section, of broken entries too."""
        found = self.document.data.get(section)
        return tuple(found) if isinstance(found, dict) else ()

    def quantity(self, text: str, kind: str, who: str, *where: str | int) -> float | None:
        """Return a number in SI, or None (and a mistake) where the text is none of its kind.

        `who` names in the message what the number belongs to.
        """
        try:
            return parse(text, kind)
        except QuantityError as error:
            self.note(where, f"{who}: {error}")
            return None

    def known_place(self, place: str, who: str, *where: str | int) -> bool:
        """Tell whether a place is in the file; note a mistake if not."""
        places = self.written("places")
        if place in places:
            return True
        got = f"place {place!r} unknown" if place else "no place; give `at: PLACE`"
        text = f"{who}: {got}; places are {', '.join(places)}{perhaps(place, places)}"
        self.note(where, text)
        return False


def check_point(pad: Pad, parts: dict[str, Part], point: str, where: Where) -> bool:
    """Tell whether there is such a point; note a mistake if not."""
    if point == BODY:
        return True
    name, _, pin = point.partition(".")
    if name not in parts:
        if name not in pad.broken and name not in pad.written("parts"):
            rails = pad.written("rails")
            text = f"{point!r}: no part {name!r}; parts are {', '.join(parts)}"
            pad.note(where, f"{text}; rails are {', '.join(rails)}{perhaps(name, parts)}")
        return False
    pins = wire_pins(parts[name])
    if pin in pins:
        return True
    if name not in pad.vague:
        names = [f"{name}.{p}" for p in pins]
        near = perhaps(pin, pins) if pin else ""
        text = f"{point!r}: a {parts[name].kind} has {', '.join(names)}{near}"
        pad.note(where, text)
    return False


def wire_pins(part: Part) -> tuple[str, ...]:
    """Return the terminals of a part at which wires end; both halves of a connector's pins."""
    pins = FAMILIES[part.kind].pins(part)
    if part.kind == "connector":
        return tuple(f"{pin}{half}" for pin in pins for half in "ab")
    return pins
