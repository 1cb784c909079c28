"""Reading what a control's position says to a part, one gated element for each position.

A part that a control sets has, for every position, an element of its own that is in circuit in
that position only; a part that none sets has one element that always is. So all positions share
one topology.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sim.circuit import Part
from sim.parts.family import settings


@dataclass(frozen=True, slots=True)
class Stand:
    """How a part stands in one position.

    Attributes
    ----------
    label : str
        End of the name of the elements in circuit then, such as `` at 90 degC``; empty if no
        control sets the part.
    value : float
        What the position says, in SI.
    gate : tuple of str
        What `Element.positions` gets.
    words : tuple of str
        The position word by word.
    """

    label: str
    value: float
    gate: tuple[str, ...]
    words: tuple[str, ...] = ()


def stands(
    part: Part, kind: str, standing: float, words: Mapping[str, float] | None = None
) -> tuple[Stand, ...]:
    """Return how a part stands in each position of its control.

    Parameters
    ----------
    part : Part
    kind : str
        Kind of quantity (see `sim.quantity`) that the positions carry.
    standing : float
        The value where no control sets the part, and in positions without a number.
    words : mapping of str to float, optional
        Values of positions that say a word instead of a number.

    Raises
    ------
    QuantityError
        A position has a number with a unit of another kind.
    """
    if not part.settings:
        return (Stand("", standing, ()),)
    return tuple(
        Stand(
            f" at {position}",
            value if _has_number(position) else _word_value(position, standing, words or {}),
            (position,),
            tuple(position.split()),
        )
        for position, value in settings(part, kind)
    )


def _has_number(position: str) -> bool:
    return any(word.lstrip("+-.")[:1].isdigit() for word in position.split())


def _word_value(position: str, standing: float, words: Mapping[str, float]) -> float:
    return next((words[word] for word in position.split() if word in words), standing)
