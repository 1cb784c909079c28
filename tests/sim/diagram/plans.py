"""What the tests of diagrams draw, and how they measure a drawing."""

import itertools
import re
import xml.etree.ElementTree as ET
from pathlib import Path

from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.diagram import Drawing
from sim.diagram.lettering import text_width

TOP = Path(__file__).parents[3]
SHIPPED = sorted((TOP / "lessons" / "circuits").glob("*.circuit.yaml"))
SVG = "{http://www.w3.org/2000/svg}"
TARGET = 24.0  # px, least distance of two targets: WCAG 2.2, success criterion 2.5.8
INK_OF_WIRE = 5.8  # px

STOP_LAMPS = """
format: circuit
version: 1
id: stop-lamps
title: Stop lamps & "tail" <of> a trailer
vehicle: Brammel Tow 2
places:
  front: {reach: 1 min, again: 0.5 min}
  rear:  {reach: 2 min, again: 0.5 min}
parts:
  B1: {kind: battery, at: front}
  X1: {kind: ground stud, at: front}
  X2: {kind: ground stud, at: rear}
  F1: {kind: blade fuse, rating: 10 A, at: front}
  K1: {kind: relay, contact: normally closed, at: front, serves: stop lamps}
  S1: {kind: switch, lamp: 12 V 2 W, at: front}
  C5: {kind: connector, pins: 3, at: rear}
  E1: {kind: lamp, power: 21 W, at: rear}
  E2: {kind: lamp, power: 21 W, at: rear}
rails: {"30": B1.+, "31": body}
controls:
  pedal: {released, pressed, sets: S1}
wires:
  1: [F1.1, 30, red, 1.5 mm2, 1 m]
  2: [F1.2, S1.in, red/yellow, 1 mm2, 1 m]
  3: [S1.out, K1.85, black/red, 1 mm2, 1 m]
  4: [31, K1.86, brown, 1 mm2, 1 m]
  5: [F1.2, K1.30, red, 1 mm2, 1 m]
  6: [K1.87, C5.1a, green, 1 mm2, 4 m]
  7: [K1.87, C5.2a, white/green, 1 mm2, 4 m]
  8: [C5.1b, E1.1, green, 1 mm2, 1 m]
  9: [E2.2, C5.2b, white/green, 1 mm2, 1 m]
  10: [E1.2, X2.ring, brown, 1 mm2, 1 m]
  11: [E2.1, X2.ring, brown, 1 mm2, 1 m]
  12: [B1.-, X1.ring, black, 16 mm2, 1 m]
  13: [31, S1.lamp, brown, 0.5 mm2, 1 m]
effects:
  stop lamp lights: E1 power >= 50 % of nominal
diagram:
  1: [30, F1, S1, K1 coil, 31]
  2: [K1 contact, C5, E1, X2, 31]
  3: [C5, E2]
"""

RELIEF = """
format: circuit
version: 1
id: load-relief
title: A rail behind a relay
vehicle: Brammel Tow 2
places:
  front: {reach: 1 min, again: 0.5 min}
parts:
  B1: {kind: battery, at: front}
  X1: {kind: ground stud, at: front}
  X2: {kind: ground stud, at: front}
  S1: {kind: key switch, at: front}
  K1: {kind: relay, at: front, suppression: diode, serves: load relief}
  F1: {kind: blade fuse, rating: 10 A, at: front}
  E1: {kind: lamp, power: 55 W, at: front}
  E2: {kind: lamp, power: 55 W, at: front}
  H1: {kind: horn, power: 55 W, at: front}
  S2: {kind: switch, at: front}
rails: {"30": B1.+ through a 100 A link, "15": S1.run, "75": S1.accessory, "75x": K1.87, "31": body}
controls:
  key: {off, accessory, run, crank, sets: S1}
  button: {off, on, sets: S2}
wires:
  1: [15, K1.86, red, 0.75 mm2, 1 m]
  2: [K1.85, 31, brown, 0.75 mm2, 1 m]
  3: [30, K1.30, red/violet, 4 mm2, 1 m]
  4: [75x, F1.1, violet, 1 mm2, 1 m]
  5: [F1.2, E1.1, violet/white, 1 mm2, 1 m]
  6: [F1.2, E2.1, violet/pink, 1 mm2, 1 m]
  7: [E1.2, X2.ring, brown, 1 mm2, 1 m]
  8: [E2.2, X2.ring, brown, 1 mm2, 1 m]
  9: [B1.-, X1.ring, black, 16 mm2, 1 m]
  10: [B1.-, X2.ring, black, 16 mm2, 1 m]
  11: [75, S2.in, orange, 1 mm2, 1 m]
  12: [S2.out, H1.1, orange/blue, 1 mm2, 1 m]
  13: [H1.2, 31, brown, 1 mm2, 1 m]
  14: [B1.+, S2.in, turquoise, 1 mm2, 1 m]
  15: [30, S1.in, red, 4 mm2, 1 m]
effects:
  lamp lights: E1 power >= 50 % of nominal
diagram:
  1: [15, K1 coil, 31]
  2: [30, K1 contact]
  3: [75x, F1, E1, X2, 31]
  4: [E2]
  5: [75, S2, H1, 31]
"""


def written(folder: Path, text: str) -> Circuit:
    """Give the circuit of a text."""
    path = folder / "own.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    return read_circuit(path)


NAMES = [*(path.name.removesuffix(".circuit.yaml") for path in SHIPPED), "stop lamps", "relief"]


Box = tuple[float, float, float, float]
Line = tuple[tuple[float, float], ...]


def meet(one: Box, other: Box) -> bool:
    """Tell whether two boxes (x, y, width, height) have more than an edge in common."""
    (x, y, w, h), (u, v, s, t) = one, other
    return x < u + s and u < x + w and y < v + t and v < y + h


def stroke(first: tuple[float, float], last: tuple[float, float], width: float) -> Box:
    """Give what a piece of a line covers."""
    (x, y), (u, v) = first, last
    half = width / 2
    return min(x, u) - half, min(y, v) - half, abs(x - u) + width, abs(y - v) + width


def pieces(line: Line) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Give the pieces of a line."""
    return list(itertools.pairwise(line))


def elements(drawing: Drawing, tag: str, **attributes: str) -> list[ET.Element]:
    """Give the elements of a kind that have these attributes (data-part is data_part)."""
    wanted = {name.replace("_", "-"): value for name, value in attributes.items()}
    found = ET.fromstring(drawing.svg).iter(SVG + tag)  # noqa: S314 -- our own
    return [e for e in found if all(e.get(k) == v for k, v in wanted.items())]


def text_box(element: ET.Element) -> Box:
    """Give what a text covers: 10 px above its baseline, 3 below, as wide as reckoned."""
    spans = list(element) or [element]
    width = 0.0
    for span in spans:
        kind = span.get("class", "")
        size = 12.0 if kind in {"name", "text"} else 11.0
        bold, mono = kind == "name", kind == "code"
        width += text_width(span.text or "", size, bold=bold, mono=mono)
    x, y = float(element.get("x", "")), float(element.get("y", ""))
    left = {"start": 0.0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
    if element.get("transform", "").startswith("rotate(-90"):
        return x - 10.0, y - width + left, 13.0, width
    return x - left, y - 10.0, width, 13.0


def texts(drawing: Drawing) -> dict[str, Box]:
    """Give everything written, with its box."""
    return {
        f"{number} {''.join(e.itertext())}": text_box(e)
        for number, e in enumerate(elements(drawing, "text"))
    }


def rail_height(drawing: Drawing, name: str) -> float:
    """Give y of a rail as drawn."""
    (group,) = elements(drawing, "g", data_rail=name)
    path = group.find(f"{SVG}path")
    assert path is not None
    return float(re.findall(r"[-\d.]+", path.get("d", ""))[1])
