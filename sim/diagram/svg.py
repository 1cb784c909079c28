"""Sheet -> SVG that a page can embed, restyle and animate.

Colours that depend on the theme are CSS variables with a light fallback (`--hs-ink`, `--hs-soft`,
`--hs-paper`, `--hs-focus`, `--hs-sans`, `--hs-mono`): a page sets them for a dark theme. Insulation
keeps its colour in both and has an outline in the colour of ink, so that black shows on dark and
white on light.

Hooks: parts `g.part[data-part][data-item]`, their joints `.joint`, wires `g.wire[data-wire]`, rails
`g[data-rail]`, links `path[data-link]`, points `circle.point[data-point][data-owner]`. A point that
no lead reaches while its part is fitted has class `closed` and is hidden; a part that gets class
`apart` shows its joints open. The whole has role `img`; a page that lets points take the focus
gives it role `group`.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from sim.access import probe_points
from sim.circuit import BODY, Circuit, Part
from sim.diagram.geometry import Line, Point
from sim.diagram.layout import Placed
from sim.diagram.lettering import COLOURS, described, pin_text, wire_area, wire_colours
from sim.diagram.sheet import POINT_RADIUS, Rail, Sheet
from sim.diagram.symbol import FRAME
from sim.diagram.writing import Text
from sim.language import say

CORNER = 5.0  # px, radius of a wire's bends

STYLE = """
.hs-diagram{font:12px var(--hs-sans,system-ui,"DejaVu Sans",sans-serif);color:var(--hs-ink,#1d2733)}
.hs-diagram text{fill:var(--hs-ink,#1d2733);white-space:pre}
.hs-diagram .name{font-weight:600}
.hs-diagram .soft{font-size:11px;fill:var(--hs-soft,#5a6675)}
.hs-diagram .pin{font-size:11px}
.hs-diagram .code{font:11px var(--hs-mono,ui-monospace,"DejaVu Sans Mono",monospace)}
.hs-diagram .code{fill:var(--hs-soft,#5a6675)}
.hs-diagram path,.hs-diagram circle{fill:none;stroke-linejoin:round}
.hs-diagram .ink,.hs-diagram .sym,.hs-diagram .joint{stroke:var(--hs-ink,#1d2733);stroke-width:1.6}
.hs-diagram .sym{fill:var(--hs-paper,#fff)}
.hs-diagram .fine{stroke:var(--hs-ink,#1d2733);stroke-width:1}
.hs-diagram .thick{stroke:var(--hs-ink,#1d2733);stroke-width:3.4}
.hs-diagram .solid,.hs-diagram .dot{fill:var(--hs-ink,#1d2733)}
.hs-diagram .dash{stroke:var(--hs-ink,#1d2733);stroke-width:1.2;stroke-dasharray:3 3}
.hs-diagram .link{stroke:var(--hs-faint,#8793a1);stroke-width:1.4;stroke-dasharray:3 4}
.hs-diagram .rail{stroke:var(--hs-ink,#1d2733);stroke-width:2}
.hs-diagram .rail.switched{stroke-width:1.4;stroke-dasharray:6 4}
.hs-diagram .end{fill:var(--hs-ink,#1d2733)}
.hs-diagram .edge{stroke:var(--hs-ink,#1d2733);stroke-opacity:.7;stroke-width:5.8}
.hs-diagram .jacket{stroke-width:4}
.hs-diagram .tracer{stroke-width:1.8;stroke-dasharray:5 5}
.hs-diagram .point{fill:var(--hs-paper,#fff);stroke:var(--hs-focus,#0b5cad);stroke-width:1.8}
.hs-diagram .point.closed{display:none}
.hs-diagram .part.apart .joint{stroke-dasharray:5 14}
.hs-diagram .part.apart .plug .solid{transform:translateY(6px)}
""".replace("\n", "")


def number(value: float) -> str:
    """Return a coordinate as short text."""
    return f"{value:.1f}".removesuffix(".0")


def path_of(line: Line) -> str:
    """Return a polyline as SVG path data with rounded corners."""
    steps = [f"M{number(line[0][0])} {number(line[0][1])}"]
    for before, corner, after in zip(line[:-2], line[1:-1], line[2:], strict=True):
        near, far = _toward(corner, before), _toward(corner, after)
        steps.append(f"L{number(near[0])} {number(near[1])}")
        steps.append(f"Q{number(corner[0])} {number(corner[1])} {number(far[0])} {number(far[1])}")
    return "".join([*steps, f"L{number(line[-1][0])} {number(line[-1][1])}"])


def _toward(corner: Point, other: Point) -> Point:
    """Return the point `CORNER` (at most half-way) from a corner toward another point."""
    length = abs(other[0] - corner[0]) + abs(other[1] - corner[1])
    share = min(CORNER, length / 2) / length
    return corner[0] + share * (other[0] - corner[0]), corner[1] + share * (other[1] - corner[1])


def write_svg(circuit: Circuit, sheet: Sheet) -> str:
    """Return the diagram as one SVG element."""
    width, height = number(sheet.width), number(sheet.height)
    label = quoteattr(say("Current-flow diagram: {title}", title=circuit.title))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="hs-diagram" role="img" aria-label={label}'
    )
    lines = [
        f'{head} viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<style>{escape(STYLE)}</style>",
        *_links(sheet),
        *(_rail(rail) for rail in sheet.rails),
        *_wires(circuit, sheet),
        *(_part(placed) for placed in sheet.plan.placed.values()),
        *(_text(text) for text in sheet.notes),
        *_points(circuit, sheet),
        "</svg>",
    ]
    return "\n".join(lines)


def _text(text: Text) -> str:
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    x, y = number(text.at[0]), number(text.at[1])
    turn = f' transform="rotate(-90 {x} {y})"' if text.turned else ""
    place = f'x="{x}" y="{y}"{anchor}{turn}'
    if len(text.words) == 1:
        ((words, kind),) = text.words
        return f'<text class="{kind}" {place}>{escape(words)}</text>'
    spans = "".join(f'<tspan class="{kind}">{escape(word)}</tspan>' for word, kind in text.words)
    return f"<text {place}>{spans}</text>"


def _links(sheet: Sheet) -> Iterator[str]:
    for part, line in sheet.links:
        yield f'<path class="link" data-link={quoteattr(part)} d="{path_of(line)}"/>'


def _rail(rail: Rail) -> str:
    kind = "rail switched" if rail.switched else "rail"
    paths = "".join(
        f'<path class="{kind}" d="{path_of(line)}"/>' for line in (rail.line, rail.riser) if line
    )
    return f"<g data-rail={quoteattr(rail.name)}>{paths}{_text(rail.text)}</g>"


def _wires(circuit: Circuit, sheet: Sheet) -> Iterator[str]:
    rails = {run.wire.name: [bool(end.rail) for end in run.ends] for run in sheet.plan.frame.runs}
    for name, line in sheet.wires.items():
        wire, path = circuit.parts[name], path_of(line)
        marks = f'<path class="edge" d="{path}"/>'
        for colour, kind in zip(wire_colours(wire), ("jacket", "tracer"), strict=False):
            marks += f'<path class="{kind}" stroke="{COLOURS[colour][1]}" d="{path}"/>'
        for at, on_rail in zip((line[0], line[-1]), rails[name], strict=True):
            if on_rail:
                marks += f'<circle class="end" cx="{number(at[0])}" cy="{number(at[1])}" r="3.6"/>'
        title, code = f"<title>{escape(_wire_title(wire))}</title>", _text(sheet.codes[name])
        yield f'<g class="wire" role="img" data-wire={quoteattr(name)}>{title}{marks}{code}</g>'


def _wire_title(wire: Part) -> str:
    length, area = wire.number("length"), wire_area(wire)
    colours = "/".join(say(colour) for colour in str(wire.values["colour"]).split("/"))
    ends = say("{one} to {two}", one=wire.values["from"], two=wire.values["to"])
    return f"{wire.name}: {colours}, {area} mm², {length:g} m, {ends}"


def _part(placed: Placed) -> str:
    part, (x, y) = placed.item.part, placed.origin
    joints = "".join(
        f'<path class="joint" d="M{number(pin.outer[0])} {number(pin.outer[1])}'
        f'L{number(pin.inner[0])} {number(pin.inner[1])}"/>'
        for pin in placed.symbol.pins
        if pin.inner is not None
    )
    ends = "".join(
        f'<circle class="sym" cx="{number(pin.outer[0])}" cy="{number(pin.outer[1])}" r="2.8"/>'
        for pin in placed.symbol.pins
        if part.kind != "splice"  # its wires end in the dot
    )
    plug = f'<g class="plug">{placed.symbol.joints}</g>' if placed.symbol.joints else ""
    names = f"data-part={quoteattr(part.name)} data-item={quoteattr(placed.item.key)}"
    return (
        f'<g class="part" role="img" {names}><title>{escape(described(part))}</title>'
        f'<g transform="translate({number(x)} {number(y)})">'
        f"{joints}{placed.symbol.marks}{plug}{ends}</g>"
        f"{''.join(_text(text) for text in placed.texts)}</g>"
    )


def _points(circuit: Circuit, sheet: Sheet) -> Iterator[str]:
    at = sheet.points[BODY]
    move = f"translate({number(at[0])} {number(at[1] - 24.0)})"
    yield f'<g class="ink" transform="{move}">{FRAME}</g>'
    fitted = probe_points(circuit)
    for name in probe_points(circuit, circuit.parts):
        x, y = sheet.points[name]
        kind = "point" if name in fitted else "point closed"
        owner = name.partition(".")[0]
        yield (
            f'<circle class="{kind}" data-point={quoteattr(name)} data-owner={quoteattr(owner)} '
            f'cx="{number(x)}" cy="{number(y)}" r="{POINT_RADIUS:g}">'
            f"<title>{escape(_point_title(circuit, name))}</title></circle>"
        )


def _point_title(circuit: Circuit, name: str) -> str:
    if name == BODY:
        return say("vehicle body, bare metal")
    part = circuit.parts[name.partition(".")[0]]
    pin = name.partition(".")[2]
    number_text = pin_text(part, pin)
    if number_text in {pin, "−"}:
        return f"{name}, {part.at}"
    return say("{point}, terminal {number}, {place}", point=name, number=number_text, place=part.at)
