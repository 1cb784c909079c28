"""Parts that a control sets: their elements as they stand in one of its positions."""

from dataclasses import replace
from types import SimpleNamespace

from sim.parts import FAMILIES
from sim.parts.family import Element


def set_part(
    lab: SimpleNamespace,
    kind: str,
    position: str,
    *,
    positions: tuple[str, ...] = (),
    **values: object,
) -> tuple[Element, ...]:
    """Give the elements of a part whose control stands in a position, others taken out."""
    part = replace(lab.part(kind, **values), settings=tuple(positions) or (position, "else"))
    return tuple(
        replace(element, conductance=element.conductance * (position in element.positions))
        if element.positions
        else element
        for element in FAMILIES[kind].elements(part, 20.0)
    )
