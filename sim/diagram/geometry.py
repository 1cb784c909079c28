"""Points and boxes of a drawing, in px of 1/96 inch; x to the right, y down."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

Point = tuple[float, float]
Line = tuple[Point, ...]


class Box(NamedTuple):
    """A rectangle by its upper left corner, width and height."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.y + self.height

    def moved(self, by: Point) -> Box:
        """Return the box elsewhere."""
        return Box(self.x + by[0], self.y + by[1], self.width, self.height)

    def grown(self, margin: float) -> Box:
        """Return the box with a margin all round."""
        wider, higher = self.width + 2 * margin, self.height + 2 * margin
        return Box(self.x - margin, self.y - margin, wider, higher)

    def meets(self, other: Box) -> bool:
        """Tell whether two boxes have more than an edge in common."""
        beside = self.right <= other.x or other.right <= self.x
        return not (beside or self.bottom <= other.y or other.bottom <= self.y)


def between(first: Point, last: Point, thickness: float) -> Box:
    """Return the box of a level or upright stroke of some thickness."""
    left, right = sorted((first[0], last[0]))
    top, bottom = sorted((first[1], last[1]))
    return Box(left, top, right - left, bottom - top).grown(thickness / 2)


def round_about(boxes: Iterable[Box]) -> Box:
    """Return the smallest box that holds all of these (at least one)."""
    found = tuple(boxes)
    left, top = min(box.x for box in found), min(box.y for box in found)
    right, bottom = max(box.right for box in found), max(box.bottom for box in found)
    return Box(left, top, right - left, bottom - top)


def strokes(line: Line, thickness: float) -> list[Box]:
    """Return the boxes of the pieces of a polyline whose pieces are level or upright."""
    return [between(a, b, thickness) for a, b in pairwise(line)]


def tidy(line: Line) -> Line:
    """Return a polyline without repeated points and without points between corners."""
    found: list[Point] = []
    for point in line:
        if found and found[-1] == point:
            continue
        if len(found) > 1 and any(found[-2][i] == found[-1][i] == point[i] for i in (0, 1)):
            found.pop()
        found.append(point)
    return tuple(found)
