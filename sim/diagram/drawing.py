"""A finished diagram as data, and what on it lies over something else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from sim.diagram.geometry import Box

TOUCH = 0.5  # px by which two things may reach into each other before it shows


@dataclass(frozen=True, slots=True)
class Writing:
    """A line of writing and its box; `owner` is the item or wire it belongs to, if any."""

    owner: str
    words: str
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A diagram, and where things are on it: px from the upper left corner, y down.

    Attributes
    ----------
    svg : str
        One SVG element (`sim.diagram.svg` says which hooks it has).
    width, height : float
        Its size.
    points : mapping
        Every point on which leads can be put in some state of the plugs -> (x, y).
    parts : mapping
        Item (a part's name; `K3 coil`, `K3 contact`; `C5.1` where a connector stands in several
        tracks) -> (x, y, width, height) of its symbol.
    wires : mapping
        Wire -> its line from the first end in the circuit file to the last.
    texts : tuple of Writing
        Everything written on it.
    """

    svg: str
    width: float
    height: float
    points: Mapping[str, tuple[float, float]]
    parts: Mapping[str, tuple[float, float, float, float]]
    wires: Mapping[str, tuple[tuple[float, float], ...]]
    texts: tuple[Writing, ...] = ()


def overlaps(drawing: Drawing) -> tuple[str, ...]:
    """Return, in words, every two things of a diagram that lie over each other.

    Symbols, lines of writing, and writing on the symbol of another part; boxes count, with half a
    px of grace.
    """
    symbols = [(f"the symbol of {key}", key, box) for key, box in drawing.parts.items()]
    texts = [(f"the writing {t.words!r}", t.owner, t.box) for t in drawing.texts]
    pairs = [*combinations(symbols, 2), *combinations(texts, 2)]
    pairs += [(text, one) for text in texts for one in symbols if text[1] != one[1]]
    return tuple(_meeting(pairs))


Thing = tuple[str, str, tuple[float, float, float, float]]


def _meeting(pairs: list[tuple[Thing, Thing]]) -> Iterator[str]:
    for (one, _, first), (other, _, second) in pairs:
        if Box(*first).grown(-TOUCH).meets(Box(*second).grown(-TOUCH)):
            yield f"{one} lies over {other}"
