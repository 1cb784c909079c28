"""How long from a click to what it shows, in JupyterLab: a new value, a case that is opened."""

from pathlib import Path
from time import perf_counter

import pytest
from playwright.sync_api import Page

from lessons.server import Server
from tests.browser.conftest import CASE
from tests.browser.test_workbench import (
    number_of_cell,
    open_lesson,
    run_all,
    setup_of,
    work_order,
)
from tests.browser.waits import until_answered, until_idle

pytestmark = pytest.mark.long
READINGS = 200
#: Click, wait for the read-out to name the next step, and for the picture after that.
CLICK = """async (bench, readings) => {
  const label = () => bench.querySelector(".hs-readout").textContent;
  const took = [];
  for (let k = 0; k < readings; k += 1) {
    const before = label();
    const begun = performance.now();
    bench.querySelector('[data-key="take"]').click();
    await new Promise((done) => {
      const watcher = new MutationObserver(() => {
        if (label() === before) return;
        watcher.disconnect();
        requestAnimationFrame(() => done());
      });
      watcher.observe(bench, { subtree: true, childList: true, characterData: true });
    });
    took.push(performance.now() - begun);
    await new Promise((done) => setTimeout(done, 20));
  }
  return took;
}"""


def test_two_hundred_readings(page: Page, server: Server, school: Path) -> None:
    page.set_default_timeout(600_000)
    open_lesson(page, server, "dan")
    bench = run_all(page, setup_of(school, "dan"))
    bench.get_by_label("Red lead", exact=True).select_option("C41.1a")
    bench.get_by_label("Black lead", exact=True).select_option("body")
    until_answered(bench)
    took = bench.evaluate(CLICK, READINGS)
    assert bench.locator(".hs-evidence tbody tr").count() == READINGS
    ordered = sorted(took)
    median, p95 = ordered[READINGS // 2], ordered[READINGS * 95 // 100]
    first, last = sorted(took[:50])[25], sorted(took[-50:])[25]
    print(  # noqa: T201 -- measured, not asserted
        f"click to value over {READINGS} readings: median {median:.0f} ms, p95 {p95:.0f} ms; "
        f"median of the first 50 {first:.0f} ms, of the last 50 {last:.0f} ms"
    )


def test_a_case_is_opened(page: Page, server: Server, school: Path) -> None:
    """From the keys that run its cell to its bench; kernel and other benches are there."""
    open_lesson(page, server, "eve")
    setup = setup_of(school, "eve")
    for _cell in range(number_of_cell(school / "eve", f'open_case("{CASE}")')):
        page.keyboard.press("Shift+Enter")
    page.locator(".hs-bench").first.wait_for(timeout=600_000)
    until_idle(page)
    begun = perf_counter()
    page.keyboard.press("Shift+Enter")
    work_order(page, setup)
    print(f"a case is opened in {perf_counter() - begun:.2f} s")  # noqa: T201 -- measured
