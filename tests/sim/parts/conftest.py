"""Parts that a control sets: their elements as they stand in one of its positions."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES
from sim.parts.family import Element


@pytest.fixture(scope="session")
def set_part(lab: SimpleNamespace) -> Callable[..., tuple[Element, ...]]:
    """Give the elements of a part whose control stands in a position, others taken out."""

    def elements(
        kind: str, position: str, *, positions: tuple[str, ...] = (), **values: object
    ) -> tuple[Element, ...]:
        part = replace(lab.part(kind, **values), settings=tuple(positions) or (position, "else"))
        return tuple(
            replace(element, conductance=element.conductance * (position in element.positions))
            if element.positions
            else element
            for element in FAMILIES[kind].elements(part, 20.0)
        )

    return elements
