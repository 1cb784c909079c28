"""A vehicle of 120 parts: its diagram is clear, it is searched and moved about, and it is quick."""

import json
import time
from pathlib import Path

import pytest
from playwright.sync_api import Page

from lessons.workbench import open_bench
from lessons.workbench.desk import Desk
from lessons.workbench.panels.diagram import drawing
from lessons.workbench.view import view_of
from sim.checks import check_circuit_file
from sim.diagram import draw, overlaps
from tests.browser.bench_page import show
from tests.browser.large_vehicle import large_vehicle
from tests.browser.test_panels import at_rest  # noqa: F401 -- benches are put to rest

CLICKS = 11
#: Milliseconds from each click on "Take the reading" to the picture with its value.
CLICK = """async (clicks) => {
  const bench = document.querySelector(".hs-bench");
  const label = () => bench.querySelector(".hs-readout").textContent;
  const took = [];
  for (let k = 0; k < clicks; k += 1) {
    const before = label();
    const begun = performance.now();
    bench.querySelector('[data-key="take"]').click();
    while (label() === before) await new Promise((done) => requestAnimationFrame(done));
    took.push(performance.now() - begun);
  }
  return took.sort((a, b) => a - b);
}"""


@pytest.fixture(scope="module")
def circuit_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the circuit file of the vehicle."""
    file = tmp_path_factory.mktemp("large") / "large.circuit.yaml"
    file.write_text(large_vehicle(), "utf-8")
    return file


def desk_of(circuit: str, red: str) -> Desk:
    desk = open_bench(circuit).desk
    desk.handle({"choose": {"view": "diagram", "red": red, "black": "body"}})
    return desk


def measured(name: str, desk: Desk, page: Page, folder: Path) -> float:
    """Open a desk's page and take readings; print how long it takes and how much is sent."""
    begun = time.process_time()
    drawn = drawing(desk.circuit)
    laid = time.process_time() - begun
    begun = time.process_time()
    view = view_of(desk)
    viewed = time.process_time() - begun
    begun = time.monotonic()
    show(page, desk, folder)
    opened = time.monotonic() - begun
    took = page.evaluate(CLICK, CLICKS)
    parts = sum(part.kind != "wire" for part in desk.circuit.parts.values())
    print(  # noqa: T201 -- measured, not asserted
        f"{name}: {parts} parts; diagram {laid:.2f} s of processor time, {len(json.dumps(drawn))} "
        f"bytes once; view {1000 * viewed:.1f} ms, {len(json.dumps(view))} bytes; page open after "
        f"{opened:.2f} s; click to value median {took[CLICKS // 2]:.0f} ms, "
        f"slowest {took[-1]:.0f} ms"
    )
    return took[CLICKS // 2]


def test_the_vehicle_is_valid_and_nothing_overlaps(circuit_file: Path) -> None:
    checked = check_circuit_file(circuit_file)
    assert checked.sound, checked.mistakes
    parts = checked.circuit.parts.values()
    assert sum(part.kind != "wire" for part in parts) >= 120
    assert not overlaps(draw(checked.circuit))


def test_it_is_searched_moved_and_measured(
    page: Page, tmp_path: Path, pictures: Path, circuit_file: Path
) -> None:
    desk = desk_of(str(circuit_file), "K51.87")
    show(page, desk, tmp_path)
    scroller, paper = page.locator(".hs-paper-scroll"), page.locator(".hs-paper")
    frame = scroller.bounding_box()
    page.screenshot(path=pictures / "large-begin.png")
    for part in ("K101", "B1", "H61"):
        page.get_by_label("Find").fill(part)
        page.get_by_text("1 of", exact=False).first.wait_for()
        found = page.locator(".hs-paper-drawing .found-now").first.bounding_box()
        assert frame["x"] <= found["x"] <= frame["x"] + frame["width"] - found["width"]
        assert frame["y"] <= found["y"] <= frame["y"] + frame["height"] - found["height"]
    page.screenshot(path=pictures / "large-found.png")
    before = paper.bounding_box()["width"]
    page.get_by_role("button", name="Zoom in", exact=True).click()
    assert paper.bounding_box()["width"] == pytest.approx(1.25 * before, rel=0.01)
    left = scroller.evaluate("(one) => one.scrollLeft")
    page.mouse.move(frame["x"] + 300, frame["y"] + 40)
    page.mouse.down()
    page.mouse.move(frame["x"] + 400, frame["y"] + 60, steps=3)
    page.mouse.up()
    assert scroller.evaluate("(one) => one.scrollLeft") == pytest.approx(left - 100, abs=2)
    page.get_by_role("button", name="Fit the whole diagram").click()
    assert paper.bounding_box()["width"] <= frame["width"]
    page.screenshot(path=pictures / "large-fit.png")
    page.get_by_role("button", name="Readable size").click()
    letters = page.locator(".hs-paper-drawing text").first
    assert letters.evaluate("(one) => one.getBoundingClientRect().height") >= 10
    page.get_by_role("button", name="Take the reading").click()
    page.locator(".hs-readout", has_text="Volts from K51 socket 87 to body").wait_for()
    page.screenshot(path=pictures / "large-reading.png")


def test_a_click_takes_no_more_than_on_an_ordinary_vehicle(
    page: Page, tmp_path: Path, circuit_file: Path
) -> None:
    ordinary = measured("headlamps", desk_of("headlamps", "E1.1"), page, tmp_path)
    page.close()
    other = page.context.browser.new_page(viewport={"width": 1366, "height": 768})
    large = measured("large", desk_of(str(circuit_file), "K51.87"), other, tmp_path)
    other.close()
    assert large < 8 * ordinary
