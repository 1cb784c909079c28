"""Sensor switch: a contact that pressure, temperature or a level closes.

`closed` says when, for example ``below 0.5 bar``, ``above 98 degC`` or ``below 15 %``; the unit
says what it senses. The positions of its control carry values of the same kind; one without a
number, or no control at all, gives it the value `at rest`, such as ``3 bar``.

A shifted threshold is a share of it: the switch changes over at 1 - x of what is stamped on it.
"""

from __future__ import annotations

import re

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Parameter, Way, conductance, joint, joint_ways
from sim.parts.positions import Stand, stands
from sim.quantity import UNITS, parse

CONTACT = 0.02  # ohm, common practice, no source
SHIFT = 0.5  # of the threshold; ours
KINDS = ("pressure", "temperature", "fraction")
CLOSED = re.compile(r"(?P<side>below|above) (?P<limit>.+)")


def threshold(part: Part) -> tuple[str, float, str]:
    """Return (below or above, limit in SI, kind of quantity) of the contact.

    Raises
    ------
    QuantityError
        `closed` does not say below or above, or has no unit that a switch senses.
    """
    written = str(part.values["closed"])
    found = CLOSED.fullmatch(written)
    kind = next((kind for kind in KINDS if _has_unit(written, kind)), "")
    if found is None or not kind:
        raise QuantityError(
            f"{part.name}: closed must be `below` or `above` a pressure, temperature or share, "
            f"such as `below 0.5 bar`, got {written!r}"
        )
    return found["side"], parse(found["limit"], kind), kind


def _has_unit(text: str, kind: str) -> bool:
    return any(unit and text.endswith(unit) for unit in UNITS[kind])


def _closed(part: Part, stand: Stand, limit: float) -> bool:
    side, _limit, _kind = threshold(part)
    return stand.value < limit if side == "below" else stand.value > limit


def _stands(part: Part, kind: str) -> tuple[Stand, ...]:
    written = str(part.values["at rest"])
    return stands(part, kind, parse(written, kind) if written else 0.0)


def _contact(part: Part, stand: Stand) -> Element:
    ohms = CONTACT + (part.severity("contact burnt") or 0.0)
    limit = threshold(part)[1] * (1.0 - (part.severity("shifted") or 0.0))
    closed = _closed(part, stand, limit) or part.has("stuck closed")
    closed = closed and not part.has("stuck open")
    return Element(
        f"{part.name} contact{stand.label}",
        f"{part.name}.1b",
        f"{part.name}.2b",
        conductance(ohms) if closed else 0.0,
        positions=stand.gate,
    )


def _pins(_part: Part) -> tuple[str, ...]:
    return ("1", "2")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    _side, _limit, kind = threshold(part)
    contacts = [_contact(part, stand) for stand in _stands(part, kind)]
    return (joint(part, "1"), *contacts, joint(part, "2"))


def _ways(part: Part) -> tuple[Way, ...]:
    """Return its ways of failing, those of the contact only where a position can show them."""
    _side, limit, kind = threshold(part)
    found = [_closed(part, stand, limit) for stand in _stands(part, kind)]
    shifted = [_closed(part, stand, limit * (1.0 - SHIFT)) for stand in _stands(part, kind)]
    inside = []
    if any(found):
        inside += [
            Way("stuck open", None, (), 0.8),
            Way("contact burnt", None, (20.0, 200.0), 0.4),
        ]
    if not all(found):
        inside.append(Way("stuck closed", None, (), 0.8))
    if shifted != found:
        inside.append(Way("shifted", None, (SHIFT,), 0.3, "fraction", most=1.0))
    return (*inside, *joint_ways("1"), *joint_ways("2"))


FAMILY = Family(
    "sensor switch",
    {"closed": Parameter("text"), "at rest": Parameter("text", "")},
    _pins,
    _elements,
    _ways,
    separable=True,
)
