"""The current-flow diagram: everything on it, in its place, readable, the same every time."""

import itertools
import json
import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from sim.access import probe_points
from sim.circuit import BODY, Circuit, Fault, Part
from sim.circuitfile import read_circuit
from sim.diagram import Drawing, draw
from sim.diagram.lettering import COLOURS, text_width
from sim.diagram.symbol import Symbol
from sim.diagram.symbols import on_axis_first, symbol_of
from sim.errors import CircuitFileError
from sim.faults import with_faults
from sim.parts import FAMILIES
from tests.sim.parts.rig import make

TOP = Path(__file__).parent.parent.parent
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


@pytest.fixture(scope="module", params=NAMES)
def circuit(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Circuit:
    """Give every shipped circuit, and two of other shapes."""
    own = {"stop lamps": STOP_LAMPS, "relief": RELIEF}
    if request.param in own:
        return written(tmp_path_factory.mktemp("circuit"), own[request.param])
    return read_circuit(SHIPPED[NAMES.index(request.param)])


@pytest.fixture(scope="module")
def drawing(circuit: Circuit) -> Drawing:
    """Give its diagram."""
    return draw(circuit)


@pytest.fixture
def heater() -> Circuit:
    """Give the circuit whose wiring the tests below know by heart."""
    return read_circuit(TOP / "lessons" / "circuits" / "rear-window-heater.circuit.yaml")


@pytest.fixture
def stop_lamps(tmp_path: Path) -> Circuit:
    """Give three tracks, two of them through one connector, the second fed from the first."""
    return written(tmp_path, STOP_LAMPS)


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


# Everything is there


def test_every_probe_point_has_a_place(circuit: Circuit, drawing: Drawing) -> None:
    for state in (circuit.parts, ()):
        assert probe_points(circuit, state).keys() <= drawing.points.keys()


def test_every_probe_point_is_drawn_there_and_shown_if_it_can_be_reached(
    circuit: Circuit, drawing: Drawing
) -> None:
    fitted = probe_points(circuit)
    drawn = {e.get("data-point", ""): e for e in elements(drawing, "circle") if e.get("data-point")}
    assert drawn.keys() == probe_points(circuit, circuit.parts).keys()
    for name, element in drawn.items():
        at = float(element.get("cx", "")), float(element.get("cy", ""))
        assert at == pytest.approx(drawing.points[name], abs=0.05)
        assert element.get("class") == ("point" if name in fitted else "point closed")
        place = probe_points(circuit, circuit.parts)[name].place
        assert (element.findtext(f"{SVG}title") or "").endswith(place or "bare metal")


def test_every_part_is_drawn_with_its_name_and_place(circuit: Circuit, drawing: Drawing) -> None:
    drawn = elements(drawing, "g", role="img")
    for part in circuit.parts.values():
        own = [e for e in drawn if e.get("data-part") == part.name]
        if part.kind == "wire":
            continue
        assert own, part.name
        keys = {e.get("data-item", "") for e in own}
        assert keys <= drawing.parts.keys()
        if part.kind == "relay":
            assert keys == {f"{part.name} coil", f"{part.name} contact"}
        for element in own:
            title = element.findtext(f"{SVG}title") or ""
            assert title.startswith(part.name)
            assert title.endswith(part.at)


def test_every_wire_is_drawn_from_end_to_end(circuit: Circuit, drawing: Drawing) -> None:
    wires = {name: part for name, part in circuit.parts.items() if part.kind == "wire"}
    assert drawing.wires.keys() == wires.keys()
    ground = drawing.points[BODY][1]
    for name, wire in wires.items():
        line = drawing.wires[name]
        for key, at in (("from", line[0]), ("to", line[-1])):
            end = str(wire.values[key])
            if circuit.point(end) == BODY:
                assert at[1] == ground, name
            elif end in circuit.rails:
                assert at[1] == rail_height(drawing, end), name
            else:
                assert at == drawing.points[end], name
        assert all(a[0] == b[0] or a[1] == b[1] for a, b in pieces(line)), name


def rail_height(drawing: Drawing, name: str) -> float:
    """Give y of a rail as drawn."""
    (group,) = elements(drawing, "g", data_rail=name)
    path = group.find(f"{SVG}path")
    assert path is not None
    return float(re.findall(r"[-\d.]+", path.get("d", ""))[1])


def test_rails_reach_every_wire_that_hangs_on_them(circuit: Circuit, drawing: Drawing) -> None:
    for name, point in circuit.rails.items():
        if point == BODY:
            continue
        (group,) = elements(drawing, "g", data_rail=name)
        path = group.find(f"{SVG}path")
        assert path is not None
        left, _, right, _ = (float(n) for n in re.findall(r"[-\d.]+", path.get("d", "")))
        for wire in (part for part in circuit.parts.values() if part.kind == "wire"):
            line = drawing.wires[wire.name]
            for key, at in (("from", line[0]), ("to", line[-1])):
                if wire.values[key] == name:
                    assert left < at[0] < right


def test_the_wire_as_drawn_is_the_wire_as_told(drawing: Drawing) -> None:
    for group in elements(drawing, "g"):
        name = group.get("data-wire")
        path = None if name is None else group.find(f"{SVG}path")
        if name is None or path is None:
            continue
        numbers = [float(n) for n in re.findall(r"[-\d.]+", path.get("d", ""))]
        first, last = drawing.wires[name][0], drawing.wires[name][-1]
        assert numbers[:2] == pytest.approx(first)
        assert numbers[-2:] == pytest.approx(last)


# Nothing is in the way of anything else


def test_no_two_symbols_overlap(drawing: Drawing) -> None:
    for (one, a), (other, b) in itertools.combinations(drawing.parts.items(), 2):
        assert not meet(a, b), (one, other)


def test_no_two_texts_overlap(drawing: Drawing) -> None:
    for (one, a), (other, b) in itertools.combinations(texts(drawing).items(), 2):
        assert not meet(a, b), (one, other)


def test_no_text_lies_on_a_symbol_of_another_part(drawing: Drawing) -> None:
    for group in elements(drawing, "g"):
        for element in group.findall(f"{SVG}text"):
            for key, box in drawing.parts.items():
                if key != group.get("data-item"):
                    assert not meet(text_box(element), box), ("".join(element.itertext()), key)


def test_no_text_lies_on_a_wire_or_a_point(drawing: Drawing) -> None:
    for text, box in texts(drawing).items():
        for wire, line in drawing.wires.items():
            for piece in pieces(line):
                assert not meet(box, stroke(*piece, INK_OF_WIRE)), (text, wire)
        for point, (x, y) in drawing.points.items():
            assert not meet(box, (x - 6.0, y - 6.0, 12.0, 12.0)), (text, point)


def test_no_wire_runs_through_a_symbol(circuit: Circuit, drawing: Drawing) -> None:
    for wire, line in drawing.wires.items():
        values = circuit.parts[wire].values
        own = {circuit.point(str(values[key])).partition(".")[0] for key in ("from", "to")}
        for key, (x, y, w, h) in drawing.parts.items():
            if key.partition(" ")[0].partition(".")[0] in own:
                continue
            inside = x + 1.0, y + 1.0, w - 2.0, h - 2.0
            assert not any(meet(stroke(*piece, 2.0), inside) for piece in pieces(line)), (wire, key)


def test_no_two_wires_share_a_piece(drawing: Drawing) -> None:
    for (one, a), (other, b) in itertools.combinations(drawing.wires.items(), 2):
        for first, last in itertools.product(pieces(a), pieces(b)):
            for axis in (0, 1):
                if first[0][axis] == first[1][axis] == last[0][axis] == last[1][axis]:
                    spans = [sorted(p[1 - axis] for p in piece) for piece in (first, last)]
                    common = min(s[1] for s in spans) - max(s[0] for s in spans)
                    assert common <= 0.0, (one, other)


def test_no_wire_passes_through_a_point_of_another(circuit: Circuit, drawing: Drawing) -> None:
    for wire, line in drawing.wires.items():
        values = circuit.parts[wire].values
        own = {circuit.point(str(values[key])) for key in ("from", "to")} | {BODY}
        for point, (x, y) in drawing.points.items():
            if point not in own:
                box = x - 2.0, y - 2.0, 4.0, 4.0
                assert not any(meet(stroke(*p, 2.0), box) for p in pieces(line)), (wire, point)


def test_points_can_be_aimed_at_apart(drawing: Drawing) -> None:
    for (one, a), (other, b) in itertools.combinations(drawing.points.items(), 2):
        assert math.dist(a, b) >= TARGET, (one, other)


def test_everything_is_on_the_page(drawing: Drawing) -> None:
    page = (0.0, 0.0, drawing.width, drawing.height)
    boxes = [*texts(drawing).values(), *drawing.parts.values()]
    boxes += [(x - 6.0, y - 6.0, 12.0, 12.0) for x, y in drawing.points.values()]
    for x, y, w, h in boxes:
        assert x >= 0.0
        assert y >= 0.0
        assert x + w <= page[2]
        assert y + h <= page[3]


REAL_BOXES = """
const box = (e) => { const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; };
const found = { texts: [], marks: [] };
for (const e of document.querySelectorAll("svg text"))
  found.texts.push([e.textContent, e.closest("[data-item]")?.dataset.item ?? "", box(e)]);
for (const e of document.querySelectorAll("svg .part path, svg .part circle"))
  found.marks.push([e.closest("[data-item]").dataset.item, box(e)]);
document.body.textContent = JSON.stringify(found);
"""


def test_a_browser_finds_the_writing_no_wider_and_clear_of_symbols(
    drawing: Drawing, chromium: str, tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    style = "<style>body{margin:0}</style>"
    html = f"<!doctype html><meta charset=utf-8>{style}{drawing.svg}<script>{REAL_BOXES}</script>"
    page.write_text(html, encoding="utf-8")
    line = [chromium, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path}"]
    shown = subprocess.run(
        [*line, "--dump-dom", page.as_uri()], check=True, capture_output=True, text=True
    ).stdout
    body = re.search(r"<body>(.*)</body>", shown, re.DOTALL)
    assert body, shown[:500]
    found = json.loads(ET.fromstring(f"<b>{body[1]}</b>").text or "")  # noqa: S314 -- our own
    reckoned = list(texts(drawing).values())
    assert len(found["texts"]) == len(reckoned) > 0
    for (text, _, (_, _, width, height)), box in zip(found["texts"], reckoned, strict=True):
        assert max(width, height) <= max(box[2], box[3]) + 1.0, text
    for (text, _, (x, y, w, h)), (mark, other) in itertools.product(found["texts"], found["marks"]):
        letters = x + 0.5, y + 3.0, w - 1.0, h - 6.0  # without the line's own spacing
        assert not meet(letters, tuple(other)), (text, mark)


# It reads well


def test_the_picture_is_well_formed_and_says_what_it_is(circuit: Circuit, drawing: Drawing) -> None:
    root = ET.fromstring(drawing.svg)  # noqa: S314 -- our own
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("aria-label") == f"Current-flow diagram: {circuit.title}"
    assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}"
    assert float(root.get("width", "")) == pytest.approx(drawing.width, abs=0.05)


def test_it_needs_nothing_from_outside(drawing: Drawing) -> None:
    without = drawing.svg.replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"href|url\(|@import|<script|https?:", without)


def test_a_theme_can_set_every_colour_but_those_of_insulation(drawing: Drawing) -> None:
    (style,) = elements(drawing, "style")
    bare = re.sub(r"var\(--hs-[a-z]+,[^)]*\)", "", style.text or "")
    assert not re.search(r"#[0-9a-f]{3}|rgb|: ?(white|black)", bare)
    shown = {e.get("stroke") for e in elements(drawing, "path")} - {None}
    assert shown <= {colour for _, colour in COLOURS.values()}


def test_colour_codes_are_those_of_iec_60757() -> None:
    # IEC 60757, table of letter codes; from memory
    assert {name: code for name, (code, _) in COLOURS.items()} == {
        "black": "BK",
        "brown": "BN",
        "red": "RD",
        "orange": "OG",
        "yellow": "YE",
        "green": "GN",
        "blue": "BU",
        "violet": "VT",
        "grey": "GY",
        "white": "WH",
        "pink": "PK",
        "turquoise": "TQ",
    }


@pytest.mark.parametrize(
    ("wire", "code"),
    [
        ("wire 1", "GY 0.75"),
        ("wire 4", "BN 0.5"),
        ("wire 6", "RD 6.0"),
        ("wire 8", "BK/WH 4.0"),
        ("wire 11", "RD/BK 2.5"),
        ("wire 12", "BK 25"),
        ("strap 30", "RD 16"),
    ],
)
def test_a_wire_has_its_code_and_its_colours(heater: Circuit, wire: str, code: str) -> None:
    drawing = draw(heater)
    (group,) = elements(drawing, "g", data_wire=wire)
    assert group.findtext(f"{SVG}text") == code
    strokes = [p.get("stroke") for p in group.findall(f"{SVG}path") if p.get("stroke")]
    shown = {colour: short for short, colour in COLOURS.values()}
    assert [shown[s] for s in strokes if s] == code.partition(" ")[0].split("/")


@pytest.mark.parametrize(
    ("item", "pins"),
    [
        ("K3 coil", ["86", "85"]),
        ("K3 contact", ["30", "87"]),
        ("F7", ["1", "2"]),
        ("S4", ["in", "out", "lamp"]),
        ("C41", ["1"]),
        ("S1", ["30", "75", "15", "50"]),  # DIN 72552
        ("B1", ["+", "−"]),
    ],
)
def test_terminals_are_numbered(heater: Circuit, item: str, pins: list[str]) -> None:
    (group,) = elements(draw(heater), "g", data_item=item)
    found = [e.text for e in group.findall(f"{SVG}text") if e.get("class") == "pin"]
    assert found == pins


@pytest.mark.parametrize(
    ("item", "words"),
    [
        ("F7", "F7 30 A"),
        ("S4", "S4 heater switch"),
        ("K3 contact", "K3 contact"),
        ("C41", "C41 tailgate hinge"),
        ("E9", "E9 heater grid"),
        ("X7", "X7 tailgate inside"),
    ],
)
def test_parts_are_named(heater: Circuit, item: str, words: str) -> None:
    (group,) = elements(draw(heater), "g", data_item=item)
    assert words in ["".join(e.itertext()) for e in group.findall(f"{SVG}text")]


def test_current_flows_down(heater: Circuit) -> None:
    drawing = draw(heater)
    for names in heater.diagram.values():
        items = [name for name in names if name not in heater.rails]
        heights = [drawing.parts[name][1] for name in items]
        assert heights == sorted(heights)
    ground = drawing.points[BODY][1]
    assert all(y <= ground for _, y in drawing.points.values())
    assert rail_height(drawing, "30") < rail_height(drawing, "15")
    assert rail_height(drawing, "15") == drawing.points["S1.run"][1]


def test_the_upper_terminal_is_the_one_that_is_fed(stop_lamps: Circuit) -> None:
    points = draw(stop_lamps).points
    assert points["K1.85"][1] < points["K1.86"][1]  # fed at 85, grounded at 86
    assert points["E2.2"][1] < points["E2.1"][1]
    assert points["C5.2a"][1] < points["C5.2b"][1]


def test_a_switched_rail_is_dashed_and_battery_feed_is_not(heater: Circuit) -> None:
    drawing = draw(heater)
    kinds = {}
    for name in heater.rails:
        (group,) = elements(drawing, "g", data_rail=name)
        kinds[name] = group.findall(f"{SVG}path")[0].get("class")
    assert kinds == {"30": "rail", "15": "rail switched", "31": "rail"}


def test_a_link_joins_coil_and_contact(heater: Circuit) -> None:
    drawing = draw(heater)
    for relay in ("K3", "K5"):
        (path,) = elements(drawing, "path", data_link=relay)
        numbers = [float(n) for n in re.findall(r"[-\d.]+", path.get("d", ""))]
        ends = {tuple(numbers[:2]), tuple(numbers[-2:])}
        for item in (f"{relay} coil", f"{relay} contact"):
            x, y, w, h = drawing.parts[item]
            assert any(x <= u <= x + w and y <= v <= y + h for u, v in ends), item


def test_the_pins_of_one_connector_stand_level_in_their_tracks(stop_lamps: Circuit) -> None:
    drawing = draw(stop_lamps)
    points = drawing.points
    assert points["C5.1a"][1] == points["C5.2a"][1]
    assert points["C5.1a"][0] == points["E1.1"][0] != points["C5.2a"][0] == points["E2.2"][0]
    assert {"C5.1", "C5.2"} <= drawing.parts.keys()
    assert "C5.3b" in points  # the unwired pin can be probed too


def test_the_order_of_tracks_is_that_of_the_file(heater: Circuit) -> None:
    turned = dict(reversed(heater.diagram.items()))
    here, there = draw(heater).points, draw(replace(heater, diagram=turned)).points
    assert here["F12.1"][0] < here["F7.1"][0] < here["F9.1"][0]
    assert there["F12.1"][0] > there["F7.1"][0] > there["F9.1"][0]


def test_a_kind_without_a_symbol_of_its_own_is_a_rectangle_with_all_its_terminals() -> None:
    symbol = symbol_of(Part("M1", "kettle", "", {}), "M1", ("1", "2", "3", "4"), link_left=False)
    assert [pin.name for pin in symbol.pins] == ["1", "2", "3", "4"]
    ends = [point for pin in symbol.pins for point in (pin.outer, pin.inner) if point]
    assert all(math.dist(a, b) >= TARGET for a, b in itertools.combinations(ends, 2))


@pytest.mark.parametrize("kind", [k for k in FAMILIES if k not in {"wire", "relay", "connector"}])
def test_every_kind_of_part_has_a_symbol(kind: str) -> None:
    family, part = FAMILIES[kind], make(kind, {})
    symbol = symbol_of(part, "P1", family.pins(part), link_left=False)
    assert {pin.name for pin in symbol.pins} == set(family.pins(part))


# The same every time, whatever is broken


def test_what_is_broken_does_not_show(heater: Circuit) -> None:
    faults = (Fault("K3", "wrong part"), Fault("F7", "open"), Fault("wire 8", "open"))
    assert draw(with_faults(heater, faults)) == draw(heater)


def test_another_run_draws_the_same() -> None:
    code = "from pathlib import Path; from sim.circuitfile import read_circuit; "
    code += "from sim.diagram import draw; import sys; "
    code += "print(draw(read_circuit(Path(sys.argv[1]))).svg)"
    pictures = set()
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(TOP)}
        command = [sys.executable, "-c", code, str(SHIPPED[0])]
        ran = subprocess.run(command, check=True, capture_output=True, text=True, env=environment)
        pictures.add(ran.stdout)
    assert len(pictures) == 1


@pytest.mark.parametrize("order", [*itertools.permutations("1234")], ids="".join)
def test_tracks_in_any_order_find_room(heater: Circuit, order: tuple[str, ...]) -> None:
    circuit = replace(heater, diagram={number: heater.diagram[number] for number in order})
    drawing = draw(circuit)
    test_every_wire_is_drawn_from_end_to_end(circuit, drawing)
    test_rails_reach_every_wire_that_hangs_on_them(circuit, drawing)
    test_no_two_symbols_overlap(drawing)
    test_no_two_texts_overlap(drawing)
    test_no_text_lies_on_a_symbol_of_another_part(drawing)
    test_no_text_lies_on_a_wire_or_a_point(drawing)
    test_no_wire_runs_through_a_symbol(circuit, drawing)
    test_no_two_wires_share_a_piece(drawing)


# What is refused


@pytest.mark.parametrize(
    ("track", "items", "complaint"),
    [
        ("4", ["K5 coil", "31"], "S9 in no track"),
        ("4", ["K5 coil", "S8", "S9"], "track 4: 'S8' unknown"),
        ("4", ["K5", "S9"], "track 4: 'K5': a relay is written `K5 coil` and `K5 contact`"),
        ("4", ["K5 coil", "S9 lamp"], "track 4: 'S9 lamp': a relay is written"),
        ("4", ["K5 coil", "S9", "S1"], "S1: a key switch is placed by itself"),
        ("4", ["K5 coil", "S9", "F7"], "F7 stands in the diagram twice"),
        ("4", ["K5 coil", "S9", "wire 8"], "'wire 8' unknown"),
        ("4", ["K5 coil", "S9.in"], "'S9.in': only a connector's pin"),
        ("4", ["K5 coil", "S9", "C41.2"], "'C41.2': only a connector's pin"),
        ("4", ["K5 coil", "S9", "C41"], "C41: no pin of it is left for this track"),
        ("2", ["30", "F7", "C41", "E9", "X7", "31"], "K3 contact in no track"),
    ],
)
def test_a_wrong_diagram_is_refused_by_name(
    heater: Circuit, track: str, items: list[str], complaint: str
) -> None:
    wrong = replace(heater, diagram={**heater.diagram, track: tuple(items)})
    with pytest.raises(CircuitFileError) as caught:
        draw(wrong)
    assert complaint in str(caught.value)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("rear-window-heater: diagram")


def test_a_circuit_without_a_diagram_is_refused(heater: Circuit) -> None:
    with pytest.raises(CircuitFileError, match="F12, F7, F9, K3 coil"):
        draw(replace(heater, diagram={}))


def test_an_unknown_colour_is_refused_with_the_known_ones(heater: Circuit) -> None:
    with pytest.raises(CircuitFileError, match=r"wire 8: colour 'blakc' unknown; .*black, brown"):
        draw(heater.changed("wire 8", colour="blakc/white"))


# Kinds with more than two terminals


def drawn_relay(contact: str, names: tuple[str, ...]) -> Symbol:
    """Give the contact of a relay of a kind with its terminals in an order."""
    part = Part("K1", "relay", "", {"contact": contact, "suppression": "none"})
    return symbol_of(part, "K1 contact", names, link_left=False)


@pytest.mark.parametrize(("contact", "second"), [("changeover", "87a"), ("double", "87b")])
def test_a_second_contact_stands_beside_the_first(contact: str, second: str) -> None:
    down = drawn_relay(contact, ("30", "87", second))
    up = drawn_relay(contact, ("87", "30", second))
    assert [pin.name for pin in down.pins] == ["30", "87", second]
    assert down.pins[1].outer[1] == down.pins[2].outer[1] > down.pins[0].outer[1]
    assert [pin.name for pin in up.pins] == ["87", "30", second]
    assert up.pins[0].outer[1] == up.pins[2].outer[1] < up.pins[1].outer[1]


@pytest.mark.parametrize("kind", [k for k in FAMILIES if k not in {"wire", "relay"}])
def test_terminals_of_every_kind_can_be_aimed_at_apart_and_stand_on_the_lattice(kind: str) -> None:
    part = make(kind, {"pins": 3.0} if kind in {"connector", "splice"} else {})
    pins = FAMILIES[kind].pins(part)
    names = tuple(f"{p}{h}" for p in pins for h in "ab") if kind == "connector" else pins
    symbol = symbol_of(part, "P1", on_axis_first(part, names), link_left=False)
    assert {pin.name for pin in symbol.pins} == set(names)
    ends = [point for pin in symbol.pins for point in (pin.outer, pin.inner) if point]
    assert all(math.dist(a, b) >= TARGET for a, b in itertools.combinations(ends, 2))
    assert all(x % 8.0 == y % 8.0 == 0.0 for pin in symbol.pins for x, y in [pin.outer])
    assert symbol.pins[0].outer == (0.0, 0.0)


def test_a_control_unit_stands_between_its_power_pins_and_says_what_each_pin_does() -> None:
    words = {"pin 4": "input", "pin 31": "ground", "pin 9": "switches to ground, up to 2 A"}
    unit = Part("A3", "control unit", "", {**words, "pin 30": "supply", "pin 13": "LIN master"})
    names = on_axis_first(unit, FAMILIES["control unit"].pins(unit))
    assert names == ("30", "31", "4", "9", "13")
    symbol = symbol_of(unit, "A3", names, link_left=False)
    heads = re.findall(r'solid" d="M(-\d+) ([\d.]+)', symbol.marks)
    rows = {pin.name: pin.outer[1] for pin in symbol.pins}
    into = [y + 3.5 for x, y in ((x, float(y)) for x, y in heads) if x == "-22"]
    out_of = [y + 3.5 for x, y in ((x, float(y)) for x, y in heads) if x == "-9"]
    assert (into, out_of) == ([rows["4"], rows["13"]], [rows["9"], rows["13"]])


def test_a_diode_points_the_way_its_current_flows() -> None:
    forward, backward = (
        symbol_of(Part("V1", "diode", "", {}), "V1", names, link_left=False).marks
        for names in (("a", "k"), ("k", "a"))
    )
    assert forward != backward


def test_a_splice_shows_its_wires_and_no_points(tmp_path: Path) -> None:
    text = STOP_LAMPS.replace("parts:", "parts:\n  D1: {kind: splice, pins: 3, at: rear}")
    text = text.replace("6: [K1.87, C5.1a,", "6: [K1.87, D1.1,").replace(
        "7: [K1.87, C5.2a,", "7: [D1.2, C5.1a,"
    )
    text = text.replace("wires:", "wires:\n  14: [D1.3, C5.2a, white/green, 1 mm2, 1 m]")
    text = text.replace("[K1 contact, C5,", "[K1 contact, D1, C5,")
    drawing = draw(written(tmp_path, text))
    assert {"D1.1", "D1.2", "D1.3"} <= drawing.points.keys()
    assert not [e for e in elements(drawing, "circle") if e.get("data-owner") == "D1"]


def test_a_main_fuse_at_the_battery_stands_above_it_and_feeds_a_solid_rail() -> None:
    circuit = read_circuit(TOP / "lessons" / "circuits" / "night-draw.circuit.yaml")
    drawing = draw(circuit)
    assert drawing.points["F1.2"][1] < drawing.points["F1.1"][1] < drawing.points["B1.+"][1]
    (group,) = elements(drawing, "g", data_rail="30")
    assert group.findall(f"{SVG}path")[0].get("class") == "rail"
