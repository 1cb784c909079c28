"""What every graphical symbol is made of: pins, covered boxes, strokes.

The upper terminal's wire ends at (0, 0) and the axis runs down from there, all in steps of 8 px.
From the end of a wire to the part's own terminal there are 24 px, so that the two can be aimed at
apart (WCAG 2.2, 2.5.8: targets of 24 px).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sim.circuit import Part
from sim.diagram.geometry import Box, Point
from sim.diagram.lettering import pin_text

REACH = 24.0  # px from the end of a wire to the part's own terminal
SIDE = 48.0  # px from the axis to a terminal on the left
BODY = 32.0  # px between a part's own terminals
APART = 32.0  # px between pins on the left: room for names of three characters
PLUG = 32.0  # px from one half of a connector to the other, and between terminals side by side


@dataclass(frozen=True, slots=True)
class Pin:
    """A terminal: where its wire ends, where the part's own terminal is (if apart from it).

    `name` is that of the wire's end in the circuit (`1a` for half a of a connector's pin 1); `text`
    is written at `text_at`, anchored at its start, middle or end.
    """

    name: str
    outer: Point
    inner: Point | None = None
    text: str = ""
    text_at: Point = (0.0, 0.0)
    anchor: str = "end"


@dataclass(frozen=True, slots=True)
class Symbol:
    """How a part is drawn.

    Attributes
    ----------
    pins : tuple of Pin
        The upper and the lower one on the axis first.
    bodies : tuple of Box
        What is covered by strokes other than the stubs at the pins; the main one first.
    marks, joints : str
        SVG of the part, and of what comes apart when it is unplugged.
    middle : float
        y at which a mechanical link arrives and the name is written.
    grip : (float, float)
        x at which a link arrives from the left and from the right.
    """

    pins: tuple[Pin, ...]
    bodies: tuple[Box, ...]
    marks: str
    middle: float
    joints: str = ""
    grip: tuple[float, float] = (-20.0, 20.0)

    @property
    def height(self) -> float:
        """Return y of the lower terminal on the axis."""
        return max(pin.outer[1] for pin in self.pins if pin.outer[0] == 0.0)

    @property
    def bottom(self) -> float:
        """Return y of the lowest stroke."""
        reach = [point[1] for pin in self.pins for point in (pin.outer, pin.inner) if point]
        return max(*reach, *(body.bottom for body in self.bodies))


def stroke(path: str, kind: str = "ink") -> str:
    """Return an SVG path of class `ink` (a line), `sym` (an outline) or `solid` (filled)."""
    return f'<path class="{kind}" d="{path}"/>'


def circle(at: Point, radius: float, kind: str = "sym") -> str:
    """Return an SVG circle."""
    return f'<circle class="{kind}" cx="{at[0]:g}" cy="{at[1]:g}" r="{radius:g}"/>'


#: Frame (vehicle body) with its bar at y = 24.
FRAME = stroke("M-13 24h26", "thick") + stroke("M-9 25l-6 8M1 25l-6 8M11 25l-6 8")


def on_axis(part: Part, names: tuple[str, ...], height: float = BODY) -> tuple[Pin, Pin]:
    """Return the upper and the lower pin of a part `height` px high between its own terminals."""
    (top, bottom), low = names[:2], 2 * REACH + height
    texts = pin_text(part, top), pin_text(part, bottom)
    upper = Pin(top, (0.0, 0.0), (0.0, REACH), texts[0], (-10.0, 16.0))
    lower = Pin(bottom, (0.0, low), (0.0, low - REACH), texts[1], (-10.0, low - 8.0))
    return upper, lower


def side_pin(part: Part, name: str, y: float, edge: float) -> Pin:
    """Return a terminal on the left of a body whose left edge is at x = -edge."""
    text_at = (-edge - REACH / 2, y - 10.0)
    outer, inner = (-edge - REACH, y), (-edge, y)
    return Pin(name, outer, inner, pin_text(part, name), text_at, "middle")


def mirrored(symbol: Symbol) -> Symbol:
    """Return a symbol upside down: what was above is below; its marks hold no letters."""
    low = symbol.height

    def over(point: Point) -> Point:
        return point[0], low - point[1]

    pins = tuple(
        replace(
            pin,
            outer=over(pin.outer),
            inner=over(pin.inner) if pin.inner else None,
            text_at=(pin.text_at[0], low - pin.text_at[1] + 8.0),
        )
        for pin in symbol.pins
    )
    bodies = tuple(Box(b.x, low - b.bottom, b.width, b.height) for b in symbol.bodies)
    marks = f'<g transform="translate(0 {low:g}) scale(1 -1)">{symbol.marks}</g>'
    return replace(symbol, pins=pins, bodies=bodies, marks=marks, middle=low - symbol.middle)


def letter_m(x: float, y: float) -> str:
    """Return a capital M centred on a point, as strokes: marks hold no writing."""
    return stroke(f"M{x - 6:g} {y + 6:g}v-12l6 8l6 -8v12")


def letter_g(x: float, y: float) -> str:
    """Return a capital G centred on a point, as strokes."""
    return stroke(f"M{x + 5:g} {y - 4:g}a6.5 7 0 1 0 0 8v-4h-4")
