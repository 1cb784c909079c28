"""A spot for the colour code of a wire: free, and nearer to it than to others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from sim.diagram.geometry import Box, Line, Point, round_about, strokes
from sim.diagram.layout import CODE_ASIDE
from sim.diagram.lettering import SMALL, text_width
from sim.diagram.writing import Text, write_line, write_upward

WIRE_WIDTH = 6.0  # px, outline included
MARGINS = (9.0, 2.0)  # px to other wires, tried in this order
SHIFT = 4.0


def free_spot(words: str, line: Line, taken: Sequence[Box], others: Sequence[Box]) -> Text | None:
    """Return the code of a wire in the first free spot along it, or None.

    Parameters
    ----------
    words : str
        What is written.
    line : Line
        The wire.
    taken, others : sequences of Box
        What must not be touched: everything but wires, and the other wires.
    """
    reach = text_width(words, SMALL, mono=True) + 4 * CODE_ASIDE
    around = round_about([Box(*point, 0.0, 0.0) for point in line]).grown(reach)
    near = [box for box in (*taken, *strokes(line, WIRE_WIDTH)) if box.meets(around)]
    wires = [box for box in others if box.meets(around)]
    for margin in MARGINS:
        for text in _spots(words, line):
            tight, wide = text.box.grown(1.0), text.box.grown(margin)
            if any(tight.meets(box) for box in near):
                continue
            if not any(wide.meets(box) for box in wires):
                return text
    return None


def _spots(words: str, line: Line) -> Iterator[Text]:
    """Give places along a line: beside upright pieces, along level ones, turned beside upright."""
    code = ((words, "code"),)
    width = text_width(words, SMALL, mono=True)
    pieces = sorted(pairwise(line), key=_length, reverse=True)
    upright = [(a[0], (a[1] + b[1]) / 2, _length((a, b))) for a, b in pieces if a[0] == b[0]]
    level = [((a[0] + b[0]) / 2, a[1], _length((a, b))) for a, b in pieces if a[1] == b[1]]
    for x, middle, length in upright:
        for shift in _shifts(length / 2 - 6.0):
            yield write_line(code, (x + CODE_ASIDE, middle + shift + 4.0))
            yield write_line(code, (x - CODE_ASIDE, middle + shift + 4.0), "end")
    for middle, y, length in level:
        for shift in _shifts((length - width) / 2):
            yield write_line(code, (middle + shift, y - 7.0), "middle")
            yield write_line(code, (middle + shift, y + 16.0), "middle")
    for x, middle, length in upright:
        for shift in _shifts((length - width) / 2):
            yield write_upward(code, (x - 7.0, middle + shift))
            yield write_upward(code, (x + 16.0, middle + shift))


def _length(piece: tuple[Point, Point]) -> float:
    (x, y), (u, v) = piece
    return abs(x - u) + abs(y - v)


def _shifts(most: float) -> Iterator[float]:
    """Give 0, then steps away from it on both sides, up to `most`."""
    yield 0.0
    shift = SHIFT
    while shift <= most:
        yield shift
        yield -shift
        shift += SHIFT
