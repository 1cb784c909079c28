"""Everything is on the diagram, in its place, and nothing in the way of anything else."""

import itertools
import math
import os
import re
import subprocess
import sys
from dataclasses import replace

import pytest
from playwright.sync_api import Browser

from sim.access import probe_points
from sim.circuit import BODY, Circuit, Fault
from sim.diagram import Drawing, draw
from sim.faults import with_faults
from tests.sim.diagram.plans import (
    INK_OF_WIRE,
    SHIPPED,
    SVG,
    TARGET,
    TOP,
    elements,
    meet,
    pieces,
    rail_height,
    stroke,
    text_box,
    texts,
)

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


REAL_BOXES = """() => {
const box = (e) => { const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; };
const found = { texts: [], marks: [] };
for (const e of document.querySelectorAll("svg text"))
  found.texts.push([e.textContent, e.closest("[data-item]")?.dataset.item ?? "", box(e)]);
for (const e of document.querySelectorAll("svg .part path, svg .part circle"))
  found.marks.push([e.closest("[data-item]").dataset.item, box(e)]);
return found;
}"""


def test_a_browser_finds_the_writing_no_wider_and_clear_of_symbols(
    drawing: Drawing, browser: Browser
) -> None:
    style = "<style>body{margin:0}</style>"
    page = browser.new_page(viewport={"width": 800, "height": 600})
    page.set_content(f"<!doctype html><meta charset=utf-8>{style}{drawing.svg}")
    found = page.evaluate(REAL_BOXES)
    page.close()
    reckoned = list(texts(drawing).values())
    assert len(found["texts"]) == len(reckoned) > 0
    for (text, _, (_, _, width, height)), box in zip(found["texts"], reckoned, strict=True):
        assert max(width, height) <= max(box[2], box[3]) + 1.0, text
    for (text, _, (x, y, w, h)), (mark, other) in itertools.product(found["texts"], found["marks"]):
        letters = x + 0.5, y + 3.0, w - 1.0, h - 6.0  # without the line's own spacing
        assert not meet(letters, tuple(other)), (text, mark)


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
