"""Graphical symbols after IEC 60617, each in its own coordinates.

The upper terminal's wire ends at (0, 0) and the axis runs down from there, all in steps of 8 px.
From the end of a wire to the part's own terminal there are 24 px, so that the two can be aimed at
apart (WCAG 2.2, 2.5.8: targets of 24 px).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sim.circuit import Part
from sim.diagram.geometry import Box, Point
from sim.diagram.lettering import pin_text

REACH = 24.0  # px from the end of a wire to the part's own terminal
SIDE = 48.0  # px from the axis to a terminal on the left
BODY = 32.0  # px between a part's own terminals
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


def _on_axis(part: Part, names: tuple[str, ...], height: float = BODY) -> tuple[Pin, Pin]:
    """Return the upper and the lower pin of a part `height` px high between its own terminals."""
    (top, bottom), low = names[:2], 2 * REACH + height
    texts = pin_text(part, top), pin_text(part, bottom)
    upper = Pin(top, (0.0, 0.0), (0.0, REACH), texts[0], (-10.0, 16.0))
    lower = Pin(bottom, (0.0, low), (0.0, low - REACH), texts[1], (-10.0, low - 8.0))
    return upper, lower


def _fuse(part: Part, names: tuple[str, ...]) -> Symbol:
    marks = stroke("M-9 26h18v36h-18z", "sym") + stroke("M0 24v40")
    return Symbol(_on_axis(part, names, 40.0), (Box(-9, 24, 18, 40),), marks, 44.0)


def _link(_part: Part, names: tuple[str, ...]) -> Symbol:
    pins = (Pin(names[0], (0.0, 0.0)), Pin(names[1], (0.0, 48.0)))
    marks = stroke("M-9 6h18v36h-18z", "sym") + stroke("M0 0v48")
    return Symbol(pins, (Box(-9, 6, 18, 36),), marks, 24.0)


def _lamp(part: Part, names: tuple[str, ...]) -> Symbol:
    marks = stroke("M0 24v32") + circle((0, 40), 13) + stroke("M-9 31l18 18M9 31l-18 18")
    return Symbol(_on_axis(part, names), (Box(-13, 24, 26, BODY),), marks, 40.0)


def _grid(part: Part, names: tuple[str, ...]) -> Symbol:
    bars = "".join(f"M-14 {y}h28" for y in (34, 41, 48, 55, 62))
    marks = stroke("M0 24v4M0 68v4") + stroke("M-20 28h40v40h-40z", "sym") + stroke(bars, "fine")
    return Symbol(_on_axis(part, names, 48.0), (Box(-20, 24, 40, 48),), marks, 48.0)


def _horn(part: Part, names: tuple[str, ...]) -> Symbol:
    marks = stroke("M0 24v6M0 50v6")
    marks += stroke("M7 35l15 -9v28l-15 -9z", "sym") + stroke("M-7 30h14v20h-14z", "sym")
    return Symbol(_on_axis(part, names), (Box(-7, 24, 29, BODY),), marks, 40.0)


def _battery(part: Part, names: tuple[str, ...]) -> Symbol:
    plus, minus = (pin_text(part, name) for name in names[:2])
    pins = (
        Pin(names[0], (0.0, 0.0), None, plus, (-12.0, 15.0)),
        Pin(names[1], (0.0, 64.0), None, minus, (-12.0, 60.0)),
    )
    marks = (
        stroke("M0 0v22M0 42v22")
        + stroke("M-16 22h32M-16 36h32")
        + stroke("M-8 29h16M-8 42h16", "thick")
    )
    return Symbol(pins, (Box(-16, 20, 32, 24), Box(-1, 6, 2, 52)), marks, 32.0)


def _stud(_part: Part, names: tuple[str, ...]) -> Symbol:
    bodies = Box(-14, 22, 28, 12), Box(-1, 6, 2, 18)
    return Symbol((Pin(names[0], (0.0, 0.0)),), bodies, stroke("M0 0v24") + FRAME, 12.0)


def _coil(part: Part, names: tuple[str, ...], *, link_left: bool) -> Symbol:
    """Coil; the diode across it stands on the side that no link leaves from."""
    marks = stroke("M0 24v32") + stroke("M-20 30h40v20h-40z", "sym")
    bodies, grip = (Box(-20, 24, 40, BODY),), (-20.0, 20.0)
    if part.values["suppression"] == "diode":
        side = 32 if link_left else -32
        up = names[0] == "86"  # its cathode lies at 86
        bar, base = (35, 46) if up else (45, 34)
        marks += stroke(f"M0 24H{side}V56H0M{side - 7} {bar}h14")
        marks += stroke(f"M{side - 7} {base}h14L{side} {bar}z", "solid")
        bodies = (Box(-20 if link_left else -40, 23, 60, BODY + 2),)
        grip = (-20.0, 40.0) if link_left else (-40.0, 20.0)
    return Symbol(_on_axis(part, names), bodies, marks, 40.0, grip=grip)


def _contact_marks(*, closed: bool) -> str:
    """Return a contact between y = 24 and y = 56, at rest closed or open."""
    if closed:
        return stroke("M0 24v8h10M0 56v-6L7 28")
    return stroke("M0 24v8M0 56v-6L-12 31")


def _contact(part: Part, names: tuple[str, ...]) -> Symbol:
    closed = part.values["contact"] == "normally closed"
    grip = (3.5, 3.5) if closed else (-6.0, -6.0)
    body = (Box(-13, 24, 26, BODY),)
    return Symbol(_on_axis(part, names), body, _contact_marks(closed=closed), 40.0, grip=grip)


def _switch(part: Part, names: tuple[str, ...]) -> Symbol:
    """Contact worked by hand; an indicator lamp hangs on its switched side, to the left."""
    marks = _contact_marks(closed=False) + stroke("M-6 40H-26", "dash")
    marks += stroke("M-26 33v14") if part.values["latching"] else stroke("M-22 33h-4v14h4")
    pins: tuple[Pin, ...] = _on_axis(part, names)
    bodies: tuple[Box, ...] = (Box(-27, 24, 37, BODY),)
    if "lamp" in names:
        marks += stroke("M0 56h-48") + stroke("M-48 56v40") + circle((-48, 76), 10)
        marks += stroke("M-55 69l14 14m0 -14l-14 14")
        pins += (Pin("lamp", (-SIDE, 120.0), (-SIDE, 96.0), "lamp", (-39.0, 112.0), "start"),)
        bodies += (Box(-58, 55, 58, 42),)
    return Symbol(pins, bodies, marks, 40.0)


def _key(part: Part, names: tuple[str, ...]) -> Symbol:
    """Key switch, drawn across: feed on the left, its positions one above the other, key off."""
    first = Pin(names[0], (0.0, 0.0), (24.0, 0.0), pin_text(part, names[0]), (13.0, -9.0), "middle")
    pins, marks = [first], stroke("M24 0h13L57 -13")
    for place, name in enumerate(names[1:]):
        y = PLUG * (place - 1)
        text = pin_text(part, name)
        pins.append(Pin(name, (96.0, y), (72.0, y), text, (84.0, y - 9.0), "middle"))
        marks += stroke(f"M62 {y:g}h10") + circle((60, y), 2.5)
    low = PLUG * (len(names) - 3)
    marks += stroke("M46 -6V-21", "dash") + stroke("M40 -21h12")
    return Symbol(tuple(pins), (Box(24, -PLUG - 4, 48, low + PLUG + 8),), marks, 0.0)


def _connector(_part: Part, names: tuple[str, ...]) -> Symbol:
    """Socket over plug; the two halves of a pin follow each other in `names`, the upper first."""
    pins: list[Pin] = []
    count = len(names) // 2
    marks = ""
    for place in range(count):
        x = PLUG * place
        text_at = (x - 11.0, 20.0)
        pins.append(Pin(names[2 * place], (x, 0.0), None, names[2 * place][:-1], text_at))
        pins.append(Pin(names[2 * place + 1], (x, PLUG)))
        marks += stroke(f"M{x:g} 0v10M{x - 8:g} 18a8 8 0 0 1 16 0") + stroke(f"M{x:g} 20v12")
        marks += stroke(f"M{x - 2.5:g} 14h5v12h-5z", "solid")
    width = PLUG * (count - 1) + 20
    return Symbol(tuple(pins), (Box(-10, 6, width, 20),), "", 16.0, marks, (-10.0, width - 10.0))


def _plain(part: Part, names: tuple[str, ...]) -> Symbol:
    """Any other part: a rectangle, further terminals on its left."""
    rows = max(0, len(names) - 2)
    height = BODY + REACH * max(0, rows - 1)
    pins: tuple[Pin, ...] = _on_axis(part, names, height)
    marks = stroke(f"M0 24v{height:g}") + stroke(f"M-16 28h32v{height - 8:g}h-32z", "sym")
    for row, name in enumerate(names[2:]):
        y = 40.0 + REACH * row
        text = pin_text(part, name)
        pins += (Pin(name, (-SIDE, y), (-24.0, y), text, (-36.0, y - 8.0), "middle"),)
        marks += stroke(f"M-24 {y:g}h8")
    left = 24.0 if rows else 16.0
    return Symbol(pins, (Box(-left, 24, left + 16, height),), marks, REACH + height / 2)


Builder = Callable[[Part, tuple[str, ...]], Symbol]
_BUILDERS: Mapping[str, Builder] = MappingProxyType(
    {
        "blade fuse": _fuse,
        "fusible link": _link,
        "lamp": _lamp,
        "heater grid": _grid,
        "horn": _horn,
        "battery": _battery,
        "ground stud": _stud,
        "switch": _switch,
        "key switch": _key,
        "connector": _connector,
    }
)


def symbol_of(part: Part, key: str, names: tuple[str, ...], *, link_left: bool) -> Symbol:
    """Return how an item of the diagram is drawn.

    Parameters
    ----------
    part : Part
    key : str
        The item: the part's name, for a relay followed by `coil` or `contact`.
    names : tuple of str
        Its terminals: upper, lower, further ones.
    link_left : bool
        Whether the mechanical link of a relay's coil leaves to the left.
    """
    if part.kind == "relay":
        return (
            _coil(part, names, link_left=link_left)
            if key.endswith(" coil")
            else _contact(part, names)
        )
    return _BUILDERS.get(part.kind, _plain)(part, names)
