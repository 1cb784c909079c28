"""Every panel, in both themes and down to half the width: large enough, named, legible."""

from collections.abc import Iterator, Sequence
from importlib import resources
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from lessons.workbench import Workbench, open_bench, open_setup
from lessons.workbench.desk import Desk
from tests.browser.bench_page import THEMES, show, wear
from tests.browser.clicks import Mouse, work_best_path
from tests.browser.conftest import window
from tests.browser.waits import SLOW, until_says
from tests.lessons.workbench.cases import HINGE, ON, lineup, setup_of

VERIFY = [
    {"set": ON},
    {"wait": "5 min"},
    {"watch": "rear window clears"},
    {"clamp": "wire 8"},
    {"set": {"heater switch": "off"}},
    {"clamp": "wire 8"},
]
CALL = {"call": {"unit": "hinge joint", "cause": HINGE, "option": ""}}
BENCH = [
    {"do": {"set": ON}},
    {"do": {"ask": "Since when?"}},
    {"do": {"look": "tailgate hinge"}},
    {"choose": {"knob": {"measure": "ohms"}, "red": "C41.1a", "black": "C41.1b"}},
    {"do": {"measure": "ohms", "red": "C41.1a", "black": "C41.1b"}},
    {"strike": ["F7=open"], "reason": "by eye"},
]
STATES = {
    "hinge": [*BENCH, {"choose": {"place": "tailgate hinge"}}],
    "fuses": [*BENCH, {"do": {"pull": "K3"}}, {"choose": {"place": "fuse panel"}}],
    "clamp": [*BENCH, {"choose": {"place": "engine bay", "instrument": "clamp"}}],
    "diagram": [*BENCH, {"do": {"unplug": "C41"}}, {"choose": {"view": "diagram"}}],
    "load": [
        *BENCH,
        {"choose": {"instrument": "load", "red": "B1.+", "black": "B1.-", "place": "engine bay"}},
        {"do": {"load": "55 W", "red": "B1.+", "black": "B1.-"}},
    ],
    "scope": [
        *BENCH,
        {"choose": {"instrument": "scope", "A red": "C41.1a", "A black": "body"}},
        {"choose": {"B clamp": "wire 8", "knob": {"trigger channel": "A"}}},
        {
            "do": {
                "scope": {"A": ["C41.1a", "body"], "B": {"clamp": "wire 8"}},
                "time": "100 ms",
                "while": {"heater switch": "off"},
            }
        },
    ],
    "part": [
        *BENCH,
        {"do": {"bridge": ["F7.1b", "F7.2b"]}},
        {"choose": {"view": "diagram", "instrument": "bridge", "part": "K3"}},
    ],
    "vehicle": [*BENCH, {"choose": {"view": "vehicle"}}],
    "connectors": [*BENCH, {"choose": {"view": "connectors", "instrument": "temperature"}}],
    "refused": [*BENCH, {"do": {"plug": "C41"}}],
    "called": [*BENCH, CALL, *({"do": do} for do in VERIFY[:3])],
    "closed": [*BENCH, CALL, *({"do": do} for do in VERIFY), {"close": True}],
}
#: States of a bench without a work order: circuit, fault, messages after the scan tool is taken.
BENCHES = {
    "codes": ("engine-sensors", "R4.1=open", [{"do": {"scan": "codes"}}]),
    "data": ("engine-sensors", "", [{"do": {"scan": "live data", "unit": "A1"}}]),
    "graph": (
        "coolant-pump-last",
        "",
        [
            {"choose": {"aim": "A1", "knob": {"scan": "routine"}}},
            {"do": {"scan": "routine", "unit": "A1", "what": "pump test"}},
            {"choose": {"knob": {"scan": "graph", "what": "pump wanted", "over": "2 min"}}},
            {"do": {"scan": "graph", "unit": "A1", "what": "pump wanted", "over": "2 min"}},
        ],
    ),
}
AXE = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")  # the tags of WCAG 2.2 AA
OF_COLOUR = ("color-contrast", "link-in-text-block")  # rules that hang on the theme
#: What holds is not told in full, and nothing by a selector: that takes most of the time.
RUN_AXE = """([include, rules]) => axe.run(".hs-bench",
  { runOnly: include, rules, resultTypes: ["violations"], selectors: false })"""
#: Smaller than 24 px in one direction (WCAG 2.2, 2.5.8), or without a name.
FAULTS = """() => {
  const found = [];
  for (const one of document.querySelectorAll("button, select, input, summary")) {
    const box = one.getBoundingClientRect();
    if (!box.width) continue;
    if (box.width < 23.9 || box.height < 23.9)
      found.push(`${box.width} x ${box.height}: ${one.outerHTML.slice(0, 120)}`);
    const label = one.id && document.querySelector(`label[for="${one.id}"]`);
    const named = one.getAttribute("aria-label") || (label && label.textContent)
        || (one.matches("button, summary") && one.textContent.trim());
    if (!named) found.push(`no name: ${one.outerHTML.slice(0, 120)}`);
  }
  const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
  for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) found.push(`twice: ${id}`);
  return found;
}"""
#: Text whose colour stands out less than 4.5 to 1 from what lies behind it (WCAG 2.2, 1.4.3).
PALE = """() => {
  const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const mixed = new Map();  // a colour over a ground; drawing it takes long
  const over = (colour, ground) => {
    const key = `${colour} over ${ground}`;
    if (!mixed.has(key)) {
      canvas.fillStyle = `rgb(${ground.join(",")})`;
      canvas.fillRect(0, 0, 1, 1);
      canvas.fillStyle = colour;
      canvas.fillRect(0, 0, 1, 1);
      mixed.set(key, [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3));
    }
    return mixed.get(key);
  };
  const light = (rgb) => rgb.map((c) => c / 255)
    .map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, k) => sum + c * [0.2126, 0.7152, 0.0722][k], 0);
  const grounds = new Map([[null, [255, 255, 255]]]);
  const ground = (one) => {
    if (!grounds.has(one))
      grounds.set(one, over(getComputedStyle(one).backgroundColor, ground(one.parentElement)));
    return grounds.get(one);
  };
  const found = [];
  const bench = document.querySelector(".hs-bench");
  const walker = document.createTreeWalker(bench, NodeFilter.SHOW_TEXT);
  const beside = "svg, .hs-unseen, :disabled, [aria-disabled], style";
  while (walker.nextNode()) {
    const one = walker.currentNode.parentElement;
    const text = walker.currentNode.nodeValue.trim();
    const box = one.getBoundingClientRect();
    if (!text || !box.width || one.closest(beside)) continue;
    const back = ground(one);
    const style = getComputedStyle(one);
    const [a, b] = [light(over(style.color, back)), light(back)];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) found.push(`${ratio.toFixed(2)}: ${text.slice(0, 40)} (${one.className})`);
  }
  return [...new Set(found)];
}"""
#: What sticks out of the bench to the right.
WIDE = """() => {
  const edge = document.querySelector(".hs-bench").getBoundingClientRect().right + 1;
  const scrolling = ".hs-scroll, .hs-scroll-x, .hs-paper-scroll, .hs-tree, .hs-unseen";
  return [...document.querySelectorAll(".hs-bench *")]
    .filter((one) => one.getBoundingClientRect().right > edge)
    .filter((one) => !one.closest(scrolling))
    .map((one) => one.outerHTML.slice(0, 100));
}"""


def desk_in(state: str, folder: Path) -> Desk:
    if state in BENCHES:
        circuit, fault, messages = BENCHES[state]
        bench = open_bench(circuit, fault, settings={"key": "run"})
        messages = [{"choose": {"instrument": "scan"}}, *messages]
    else:
        bench, messages = open_setup(setup_of(folder)), STATES[state]
    for message in messages:
        bench.desk.handle(message)
        assert state == "refused" or bench.desk.notice == ""
    return bench.desk


@pytest.fixture(autouse=True)
def at_rest() -> Iterator[None]:
    before = set(Workbench.at_work)
    yield
    for record, bench in list(Workbench.at_work.items()):
        if record not in before:
            bench.rest()


@pytest.fixture(scope="module")
def state(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture(scope="module")
def standing(state: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Give a desk in one state for all tests that only look at it."""
    desk = desk_in(state, tmp_path_factory.mktemp(state))
    yield desk
    for bench in list(Workbench.at_work.values()):
        bench.rest()


@pytest.fixture(scope="module")
def panel(
    browser: Browser, standing: Desk, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Page]:
    """Give a page that shows the desk with all sections open, for all tests that only look."""
    with window(browser) as page:
        page.set_viewport_size({"width": 1000, "height": 800})
        show(page, standing, tmp_path_factory.mktemp("panel"))
        open_all(page)
        yield page


def open_all(page: Page) -> None:
    """Open every section of a page."""
    page.locator("details").evaluate_all("(all) => all.forEach((one) => { one.open = true })")


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", [*STATES, *BENCHES], indirect=True, scope="module")
def test_panels_can_be_read_and_hit(panel: Page, pictures: Path, state: str, theme: str) -> None:
    wear(panel, theme)
    panel.screenshot(path=pictures / f"{state}-{theme}.png", full_page=True)
    assert panel.evaluate(FAULTS) == []
    assert panel.evaluate(PALE) == []
    assert panel.evaluate(WIDE) == []
    # a theme changes colours only: what is no colour is looked at in the light one
    assert violations(panel, OF_COLOUR if theme == "dark" else AXE) == []


def violations(page: Page, include: Sequence[str], without: Sequence[str] = ()) -> list[str]:
    """Give what axe-core finds on the bench by some of its rules, one line each."""
    if not page.evaluate("'axe' in window"):
        axe = resources.files("axe_playwright_python").joinpath("axe.min.js")
        page.add_script_tag(content=axe.read_text("utf-8"))
    found = page.evaluate(RUN_AXE, [list(include), {rule: {"enabled": False} for rule in without}])
    return [
        f"{one['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


@pytest.mark.parametrize("state", [*STATES, *BENCHES], indirect=True, scope="module")
def test_at_twice_the_size_nothing_is_cut_off(panel: Page, pictures: Path, state: str) -> None:
    wear(panel, "light")
    panel.set_viewport_size({"width": 500, "height": 400})
    panel.screenshot(path=pictures / f"{state}-twice.png", full_page=True)
    assert panel.evaluate(WIDE) == []
    assert panel.evaluate("document.documentElement.scrollWidth") <= 500
    assert panel.evaluate(FAULTS) == []


def test_a_whole_case_is_worked_at_twice_the_size(
    page: Page, tmp_path: Path, pictures: Path
) -> None:
    """A window of 1366 x 768 at 200 % has room for half as much."""
    setup = setup_of(tmp_path)
    page.set_viewport_size({"width": 683, "height": 384})
    desk = open_setup(setup).desk
    show(page, desk, tmp_path)
    work_best_path(Mouse(page.locator(".hs-bench"), setup))
    until_says(page.locator(".hs-sheet"), "100 / 100", SLOW)
    page.screenshot(path=pictures / "whole-case-twice.png")
    assert page.evaluate("document.documentElement.scrollWidth") <= 683


def test_a_double_click_takes_one_reading(page: Page, tmp_path: Path) -> None:
    desk = desk_in("hinge", tmp_path)
    before = len(desk.entries)
    show(page, desk, tmp_path)
    page.get_by_role("button", name="Take the reading").dblclick()
    page.locator(".hs-bench:not([aria-busy])").wait_for()
    assert len(desk.entries) - before in (1, 2)
    assert len(desk.entries) == page.locator(".hs-evidence tbody tr").count() + 3


def test_what_is_typed_stays_while_the_page_is_drawn_anew(page: Page, tmp_path: Path) -> None:
    show(page, desk_in("hinge", tmp_path), tmp_path)
    field = page.get_by_label("Because")
    field.fill("half a reas")
    field.focus()
    page.evaluate("document.querySelector('[data-key=take]').click()")
    page.locator(".hs-readout[data-fresh]").wait_for()
    assert field.input_value() == "half a reas"
    assert field.evaluate("(one) => document.activeElement === one")


def test_a_notice_stands_by_what_was_used(page: Page, tmp_path: Path) -> None:
    desk = open_bench("rear-window-heater", settings=ON, predict=True).desk
    show(page, desk, tmp_path)
    page.get_by_label("Red lead", exact=True).select_option("C41.1a")
    page.get_by_label("Black lead", exact=True).select_option("body")
    take = page.get_by_role("button", name="Take the reading")
    take.click()
    notice = page.get_by_role("alert").get_by_text("what you expect")
    notice.wait_for()
    gap = notice.bounding_box()["y"] - take.bounding_box()["y"]
    assert 0 < gap < 100
    page.get_by_role("button", name="Understood").click()
    notice.wait_for(state="hidden")
    page.get_by_label("I expect").fill("12 V")
    take.click()
    page.get_by_text("You expected: 12 V").wait_for()


def test_leads_run_from_their_points_to_the_instrument(page: Page, tmp_path: Path) -> None:
    show(page, desk_in("hinge", tmp_path), tmp_path)
    assert page.locator(".hs-leads .hs-cable-red").count() == 1
    assert page.locator(".hs-leads .hs-cable-black").count() == 1
    page.get_by_role("button", name="Engine bay").click()
    page.get_by_text("B1 battery").wait_for()
    assert page.locator(".hs-leads .hs-cable").count() == 0
    assert page.locator(".hs-place", has_text="Tailgate hinge").locator(".hs-lead").count() == 2


def test_a_section_is_struck_by_its_last_stop(page: Page, tmp_path: Path) -> None:
    desk = desk_in("hinge", tmp_path)
    show(page, desk, tmp_path)
    page.get_by_label("Because").fill("12 V at the hinge under load")
    load = page.get_by_role("group", name="Path 30 to 31")
    load.get_by_role("button", name="w8", exact=True).click()
    page.get_by_role("button", name="Strike", exact=False).first.click()
    page.get_by_text("12 V at the hinge under load").first.wait_for(state="attached")
    assert page.get_by_label("Because").input_value() == ""  # the next strike has its own reason
    struck = desk.attempt.progress.struck
    feed = {"fuse F7", "holder of F7", "wire 6", "wire 7", "wire 8"}
    assert {s.name for s in lineup().suspects if s.unit.name in feed} <= struck
    assert "K3=coil open" not in struck
    assert HINGE not in struck


def test_the_shares_of_the_suspects_say_what_they_follow(page: Page, tmp_path: Path) -> None:
    desk = desk_in("hinge", tmp_path)
    show(page, desk, tmp_path)
    panel = page.get_by_role("region", name="Suspects")
    panel.get_by_text("what you strike, not what you read. A hint counts your readings").wait_for()
    shares = panel.locator(".hs-unit .hs-number")
    stood = shares.all_inner_texts()
    desk.handle({"do": {"measure": "volts", "red": "C41.1a", "black": "body"}})
    page.get_by_role("button", name="Engine bay").click()  # drawn anew
    page.locator(".hs-bench:not([aria-busy])").wait_for()
    assert shares.all_inner_texts() == stood
    desk.handle({"strike": ["K3=coil open"], "reason": "it clicks"})
    page.get_by_role("button", name="Tailgate hinge").click()
    page.locator(".hs-bench:not([aria-busy])").wait_for()
    assert shares.all_inner_texts() != stood


def test_a_bar_is_as_long_as_its_share(page: Page, tmp_path: Path) -> None:
    desk = desk_in("hinge", tmp_path)
    others = [s.name for s in lineup().suspects if s.unit.name not in ("hinge joint", "relay K3")]
    desk.handle({"strike": others, "reason": ""})
    show(page, desk, tmp_path)
    measured = page.locator(".hs-unit:not([data-struck])").evaluate_all(
        """(units) => units.map((unit) => {
          const wide = (one) => one.getBoundingClientRect().width;
          const share = parseFloat(unit.querySelector(".hs-number").textContent) / 100;
          const [bar, all] = [".hs-bar i", ".hs-bar"].map((name) => unit.querySelector(name));
          return [wide(bar) / wide(all), share];
        })"""
    )
    assert len(measured) == 2
    assert max(share for _wide, share in measured) > 0.5  # nothing is cut off on the way up
    for wide, share in measured:
        assert wide == pytest.approx(share, abs=0.01)


def test_a_kernel_that_does_not_answer_is_named(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    show(page, desk_in("hinge", tmp_path), tmp_path)
    page.evaluate("() => { window.kernel = () => new Promise(() => {}); }")
    page.get_by_role("button", name="Engine bay").click()
    page.clock.fast_forward(10_000)
    page.get_by_role("alert").get_by_text("run this cell again").wait_for()


def test_a_kernel_that_is_at_work_is_not_called_silent(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    show(page, desk_in("hinge", tmp_path), tmp_path)
    page.evaluate(
        """() => {
          const kernel = window.kernel;
          window.kernel = async (message) => {
            window.asked = message;
            await new Promise((done) => { window.finish = done; });
            return kernel(message);
          };
          window.sign = (working) => window.tell("msg:custom", { ...window.asked, working });
        }"""
    )
    page.get_by_role("button", name="Give me a hint").click()
    alert = page.get_by_role("alert")
    silent = alert.get_by_text("No answer from the kernel")
    for text in ("Working out the hint.", "Working out the hint: 40 % of the readings"):
        page.clock.run_for(5_000)
        page.evaluate("(text) => window.sign(text)", text)
        alert.get_by_text(text).wait_for()
        page.clock.run_for(20_000)  # compiled work holds the next sign up
        assert silent.count() == 0
    page.clock.run_for(20_000)  # no sign for too long: that is no work any more
    silent.wait_for()
    page.evaluate("() => window.sign('Working out the hint.')")
    silent.wait_for(state="detached")
    page.evaluate("() => window.finish()")
    page.locator(".hs-hints", has_text="Hint:").wait_for(timeout=SLOW)
    assert alert.get_by_text("Working out").count() == 0
