"""The diagram reads well: names, codes, symbols of every kind; what is wrong is refused."""

import itertools
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from sim.circuit import BODY, Circuit, Part
from sim.circuitfile import read_circuit
from sim.diagram import Drawing, draw
from sim.diagram.lettering import COLOURS
from sim.diagram.symbol import Symbol
from sim.diagram.symbols import on_axis_first, symbol_of
from sim.errors import CircuitFileError
from sim.parts import FAMILIES
from tests.sim.diagram.plans import (
    STOP_LAMPS,
    SVG,
    TARGET,
    TOP,
    elements,
    rail_height,
    written,
)
from tests.sim.parts.rig import make

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
