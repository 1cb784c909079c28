"""Nothing on the bench is said by colour alone: text, shape, dash or pattern say it as well.

Chromium shows each state as eyes that lack one kind of cone see it: pictures to be looked at.
"""

from collections import Counter
from pathlib import Path

import pytest
from playwright.sync_api import Page

from lessons.workbench import demonstrate
from lessons.workbench.desk import Desk
from sim.diagram.lettering import wire_code
from tests.browser.bench_page import THEMES, show
from tests.browser.test_panels import STATES, at_rest, desk_in  # noqa: F401 -- put to rest
from tests.lessons.workbench.cases import HINGE, ON

KINDS = ("protanopia", "deuteranopia", "tritanopia")
ACROSS = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}
#: Style of the first element that a selector finds.
STYLE = "([what, name]) => getComputedStyle(document.querySelector(what))[name]"
#: Rows as [text, has its arrow, ...] of the currents that are drawn.
FLOWS = """() => [...document.querySelectorAll(".hs-flow-figure")]
  .map((one) => [one.textContent, one.querySelectorAll("path[transform*=rotate]").length])"""


def opened(page: Page, desk: Desk, folder: Path, theme: str) -> None:
    page.set_viewport_size({"width": 1250, "height": 800})
    show(page, desk, folder, theme)


def pictures_of(page: Page, file: Path) -> None:
    """Take the picture as seen by each kind of eye; it must be another one than without."""
    eyes = page.context.new_cdp_session(page)
    seen = {page.screenshot(full_page=True, animations="disabled")}
    for kind in KINDS:
        eyes.send("Emulation.setEmulatedVisionDeficiency", {"type": kind})
        path = file.with_name(f"{file.name}-{kind}.png")
        seen.add(page.screenshot(path=path, full_page=True, animations="disabled"))
    eyes.send("Emulation.setEmulatedVisionDeficiency", {"type": "none"})
    assert len(seen) == 1 + len(KINDS)


def style(page: Page, what: str, name: str) -> str:
    return page.evaluate(STYLE, [what, name])


@pytest.mark.parametrize("theme", THEMES)
def test_wires_and_leads(page: Page, tmp_path: Path, pictures: Path, theme: str) -> None:
    desk = desk_in("diagram", tmp_path)
    opened(page, desk, tmp_path, theme)
    pictures_of(page, pictures / f"eyes-diagram-{theme}")
    said = Counter(page.locator(".hs-paper-drawing text").all_text_contents())
    names = page.locator(".hs-paper-drawing [data-wire]").evaluate_all(
        "(all) => [...new Set(all.map((one) => one.getAttribute('data-wire')))]"
    )
    codes = Counter(wire_code(desk.circuit.parts[name]) for name in names)
    assert codes
    assert codes <= said
    for end, sign, corner in (("red", "+", "50%"), ("black", "−", "0px")):
        leads = page.locator(f'[data-end="{end}"]')
        assert set(leads.all_text_contents()) == {sign}
        assert style(page, f".hs-lead-{end}", "borderRadius") == corner
    assert style(page, ".hs-cable-red", "strokeDasharray") == "none"
    assert style(page, ".hs-cable-black", "strokeDasharray") != "none"
    assert page.locator(".hs-apart").all_inner_texts() == ["apart"]
    assert style(page, ".hs-apart", "borderStyle") == "dashed"


@pytest.mark.parametrize("theme", THEMES)
def test_currents(page: Page, tmp_path: Path, pictures: Path, theme: str) -> None:
    desk = demonstrate("rear-window-heater", HINGE, ON, do=ACROSS).desk
    desk.handle({"predict": "12 V"})
    opened(page, desk, tmp_path, theme)
    pictures_of(page, pictures / f"eyes-currents-{theme}")
    flows = page.evaluate(FLOWS)
    assert len(flows) > 4
    assert all(text.endswith("A") and arrows == 1 for text, arrows in flows)
    dashes = page.locator(".hs-flow-dashes").count()
    assert dashes == page.locator(".hs-flow-band").count() > 0
    assert style(page, ".hs-flow-dashes", "strokeDasharray") != "none"
    assert page.locator(".hs-odd-mark").first.text_content().endswith("lost here")
    odd = page.locator(".hs-losses [data-odd] th").all_inner_texts()
    assert odd
    assert all(text.startswith("▶") for text in odd)
    bars = page.locator(".hs-losses tr", has=page.locator(".hs-loss-bar")).all_inner_texts()
    assert all("V" in text for text in bars)


@pytest.mark.parametrize("theme", THEMES)
def test_evidence_suspects_and_checks(
    page: Page, tmp_path: Path, pictures: Path, theme: str
) -> None:
    opened(page, desk_in("called", tmp_path), tmp_path, theme)
    for one in page.locator("details.hs-unit").all():
        one.evaluate("(one) => { one.open = true }")
    pictures_of(page, pictures / f"eyes-called-{theme}")
    struck = page.locator('.hs-chip[aria-pressed="true"]')
    assert struck.all_text_contents()
    assert all(text.startswith("struck: ") for text in struck.all_text_contents())
    name = '.hs-chip[aria-pressed="true"] .hs-chip-name'
    assert "line-through" in style(page, name, "textDecoration")
    row = page.locator('.hs-unit[data-struck="true"] summary').all_inner_texts()
    assert row
    assert all("struck" in text for text in row)
    checks = page.locator(".hs-checks li")
    states = checks.evaluate_all(
        """(all) => all.map((one) => [one.dataset.state,
          one.querySelector(".hs-check-sign").textContent,
          one.querySelector(".hs-check-state").textContent])"""
    )
    assert {state for state, _sign, _text in states} == {"holds", "open"}
    for carrier in (1, 2):
        assert len({(one[0], one[carrier]) for one in states}) == 2
        assert len({one[carrier] for one in states}) == 2


@pytest.mark.parametrize("theme", THEMES)
def test_score_sheet(page: Page, tmp_path: Path, pictures: Path, theme: str) -> None:
    opened(page, desk_in("closed", tmp_path), tmp_path, theme)
    page.locator(".hs-sheet .hs-marks").wait_for()
    pictures_of(page, pictures / f"eyes-sheet-{theme}")
    marks = page.locator(".hs-mark-points").all_inner_texts()
    assert marks
    assert all(" / " in text for text in marks)
    minutes = page.locator(".hs-regret .hs-number").all_inner_texts()
    assert len(minutes) == page.locator(".hs-regret .hs-bar").count()
    assert all("min" in text for text in minutes)
    assert "gradient" in style(page, ".hs-regret .hs-bar[data-free] i", "backgroundImage")
    left_out = page.locator(".hs-sheet td").filter(has_text="○")
    assert left_out.count() > 0
    assert "○ you had struck it" in page.locator(".hs-sheet").inner_text()
    was = page.locator(".hs-could [data-was] .hs-could-sign").all_text_contents()
    assert was
    assert all(text.startswith("▶") for text in was)


def test_two_channels(page: Page, tmp_path: Path, pictures: Path) -> None:
    assert "scope" in STATES
    opened(page, desk_in("scope", tmp_path), tmp_path, "light")
    pictures_of(page, pictures / "eyes-scope")
    rows = page.locator(".hs-screen tbody th").all_inner_texts()
    for channel in "AB":
        assert any(row == channel or row.startswith(f"{channel} ") for row in rows), rows
