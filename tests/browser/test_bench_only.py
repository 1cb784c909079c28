"""`halfsplit learn --bench-only`: a lesson without code, and a practice case worked to its end."""

from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from grader.replay import replay
from lessons.benchonly import THEMES
from lessons.course import Setup, case_setup
from lessons.server import Server
from tests.browser.conftest import LESSON
from tests.browser.test_workbench import read_record, truth, work_order
from tests.browser.waits import SLOW, until_says

PRACTICE = "hoarse-horn"
CONFIRM = {"interior lamp": "on", "horn button": "pressed"}
WORKER = "fay"
LIGHT, DARK = THEMES
#: What would be code, prompts or a menu, where it can be seen.
CODE = ".jp-CodeCell :is(.jp-InputArea, .jp-InputPrompt, .highlight), .cm-editor, .lm-MenuBar"


def open_page(page: Page, server: Server, student: str, theme: str) -> Setup:
    """Open the lesson's page without code; give the practice case that is on it."""
    page.goto(server.address.page(f"{student}/{LESSON}/{LESSON}.ipynb", theme), timeout=SLOW)
    return case_setup(Path(server.home.folder) / student / LESSON, PRACTICE)


def test_a_practice_case_without_code(page: Page, server: Server, pictures: Path) -> None:
    """Begun on the light page and finished on the dark one, which a closed page leaves it to."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    setup = open_page(page, server, WORKER, LIGHT)
    bench = work_order(page, setup)
    shows_no_code(page, LIGHT, pictures)
    diagnose(page, bench, pictures / "bench-only-work.png")

    open_page(page, server, WORKER, DARK)
    bench = work_order(page, setup)
    shows_no_code(page, DARK, pictures)
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(3)
    repair(bench, setup)
    verify(bench)
    bench.scroll_into_view_if_needed()
    page.screenshot(path=pictures / "bench-only-verified.png")
    bench.get_by_role("button", name="Close the work order", exact=True).click()
    bench.get_by_role("button", name="Close for good", exact=True).click()
    right = "Right call: " + truth(setup)[0]
    until_says(bench.locator(".hs-sheet"), right, SLOW)
    page.screenshot(path=pictures / "bench-only-sheet.png")

    entries = read_record(setup.record)
    assert replay(setup.lineup, setup.drawn, setup.student, entries).mismatches == ()
    assert entries[-1].kind == "close"
    web = [url for url in asked if not url.startswith(("data:", "blob:"))]
    assert {url.partition("/")[0] + "//" + url.split("/")[2] for url in web} == {
        f"http://127.0.0.1:{server.address.port}"
    }


def shows_no_code(page: Page, theme: str, pictures: Path) -> None:
    """See that there is nothing to run on the page, and that it is as dark as asked."""
    assert page.locator(CODE).filter(visible=True).count() == 0
    assert "open_case(" not in page.locator("body").inner_text()
    dark = "() => getComputedStyle(document.body).backgroundColor === 'rgb(17, 17, 17)'"
    assert page.evaluate(dark) == (theme == DARK)
    page.screenshot(path=pictures / f"bench-only-top-{theme}.png")


def diagnose(page: Page, bench: Locator, picture: Path) -> None:
    """Confirm the complaint, and read the volts at the horns' plug while they croak."""
    for control, position in CONFIRM.items():
        group = bench.get_by_role("group", name=control, exact=True)
        group.get_by_role("button", name=position, exact=True).click()
    for number, effect in enumerate(("high horn sounds", "horn croaks"), start=1):
        bench.get_by_role("button", name=f"{effect}?").click()
        expect(bench.locator(".hs-evidence tbody tr")).to_have_count(number)
    bench.get_by_label("Red lead", exact=True).select_option("C12.1a")
    bench.get_by_label("Black lead", exact=True).select_option("body")
    bench.get_by_role("button", name="Take the reading").click()
    until_says(bench.locator(".hs-readout"), "Volts from C12 pin 1, half a to body")
    bench.scroll_into_view_if_needed()
    page.screenshot(path=picture)


def repair(bench: Locator, setup: Setup) -> None:
    """Make the right call."""
    unit, cause = truth(setup)
    bench.get_by_role("button", name="Make the call", exact=True).click()
    bench.get_by_label("Unit to repair").select_option(unit)
    bench.get_by_label("Cause", exact=True).select_option(cause)
    bench.get_by_role("button", name=f"Repair: {unit}").click()
    until_says(bench.locator(".hs-checks"), "still to do")


def verify(bench: Locator) -> None:
    """Check that the horns sound when they should, and only then."""
    for effect in ("high horn sounds", "low horn sounds"):
        bench.get_by_role("button", name=f"{effect}?").click()
    bench.get_by_role("button", name="Clamp", exact=True).click()
    bench.get_by_label("Around", exact=True).select_option("wire 8")
    bench.get_by_role("button", name="Take the reading").click()
    until_says(bench.locator(".hs-readout"), "Clamp on wire 8")
    group = bench.get_by_role("group", name="horn button", exact=True)
    group.get_by_role("button", name="released", exact=True).click()
    bench.get_by_role("button", name="horn croaks?").click()
    expect(bench.locator('.hs-checks [data-state="holds"]')).to_have_count(4)
