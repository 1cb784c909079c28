"""Lines of writing with their boxes, and what is written beside an item."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sim.circuit import Circuit
from sim.diagram.geometry import Box, Point
from sim.diagram.lettering import RAILS, SMALL, TEXT, text_width, wording
from sim.diagram.symbol import Symbol
from sim.diagram.tracks import Item
from sim.language import say

Words = tuple[tuple[str, str], ...]
ASCENT, LINE = 10.0, 13.0  # px above the baseline, and in all


@dataclass(frozen=True, slots=True)
class Text:
    """A line of writing: words with the class of each, baseline, anchor, and its box.

    `turned` text reads upward.
    """

    words: Words
    at: Point
    anchor: str
    box: Box
    turned: bool = False

    def moved(self, by: Point) -> Text:
        """Return the line elsewhere."""
        at = self.at[0] + by[0], self.at[1] + by[1]
        return replace(self, at=at, box=self.box.moved(by))


def write_line(words: Words, at: Point, anchor: str = "start") -> Text:
    """Return a line of writing with its box; classes are name, text, soft, pin, code."""
    width = 0.0
    for word, kind in words:
        size = TEXT if kind in {"name", "text"} else SMALL
        width += text_width(word, size, bold=kind == "name", mono=kind == "code")
    left = {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return Text(words, at, anchor, Box(at[0] - left, at[1] - ASCENT, width, LINE))


def write_upward(words: Words, at: Point) -> Text:
    """Return a line of writing that reads upward, centred on a point of its baseline."""
    level = write_line(words, at, "middle").box
    box = Box(at[0] - ASCENT, at[1] - level.width / 2, level.height, level.width)
    return Text(words, at, "middle", box, turned=True)


def rail_words(name: str) -> str:
    """Return what is written at a rail."""
    return f"{name} {say(RAILS.get(name, ''))}".strip()


def item_texts(circuit: Circuit, item: Item, symbol: Symbol, *, linked: bool) -> list[Text]:
    """Return what is written beside an item, in coordinates of its symbol.

    A link that leaves to the right (`linked`) passes below the name.
    """
    pins = [pin for pin in symbol.pins if pin.text]
    texts = [write_line(((pin.text, "pin"),), pin.text_at, pin.anchor) for pin in pins]
    name, noun, rating = wording(circuit, item.part, item.key)
    right = max(body.right for body in symbol.bodies) + 10.0
    if item.part.kind == "key switch":
        low = symbol.bodies[0].bottom + 18.0
        return [*texts, write_line(((name, "name"), (f" {noun}", "text")), (24.0, low))]
    if item.part.kind in {"connector", "ground stud", "splice"}:
        y = symbol.middle + (14.0 if linked else 4.0)
        return [*texts, write_line(((name, "name"), (f" {rating}", "soft")), (right, y))]
    if not noun or not rating:
        second = (f" {noun or rating}".rstrip(), "text")
        y = symbol.middle + (-6.0 if linked else 4.0)
        return [*texts, write_line(((name, "name"), second), (right, y))]
    y = symbol.middle + (-20.0 if linked else -3.0)
    first = write_line(((name, "name"), (f" {noun}", "text")), (right, y))
    return [*texts, first, write_line(((rating, "soft"),), (right, y + 14.0))]
