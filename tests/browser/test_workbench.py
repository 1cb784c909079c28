"""The shipped work order in real JupyterLab: by mouse, by keys alone, after a restart."""

import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import psutil
from playwright.sync_api import Locator, Page, expect

from grader.record import Writer, read_record
from grader.replay import replay
from lessons.course import Setup, case_setup
from lessons.server import Server
from tests.browser.conftest import CASE, LESSON
from tests.browser.waits import SLOW, menu, until_idle, until_says


def open_lesson(page: Page, server: Server, student: str, name: str = LESSON) -> None:
    """Open the student's lesson and wait until its kernel is ready."""
    open_page(page, server, f"{student}/{LESSON}/{name}.ipynb")


def open_page(page: Page, server: Server, notebook: str) -> None:
    """Open a notebook of the school and wait until its kernel is ready."""
    page.goto(server.address.page(notebook).replace("?token", "?reset&token"))
    until_idle(page)


def run_all(page: Page, setup: Setup) -> Locator:
    """Run all cells by the menu; give the bench of one work order."""
    run_cells(page)
    return work_order(page, setup)


def run_cells(page: Page) -> None:
    menu(page, "Run", "runmenu:run-all")


def work_order(page: Page, setup: Setup) -> Locator:
    """Give the bench of one work order among those of the lesson, once it is there."""
    title = page.locator(".hs-order h2", has_text=f"Work order {setup.case.order}")
    bench = page.locator(".hs-bench", has=title)
    bench.wait_for(timeout=SLOW)
    return bench


def setup_of(school: Path, student: str) -> Setup:
    return case_setup(school / student / LESSON, CASE)


def truth(setup: Setup) -> tuple[str, str]:
    """Give the unit and the cause that this student's van has."""
    suspect = setup.lineup.suspects[setup.lineup.index(setup.drawn.cause)]
    return suspect.unit.name, suspect.name


def number_of_cell(home: Path, text: str) -> int:
    """Give the number of the first code cell that begins with a text."""
    cells = json.loads((home / LESSON / f"{LESSON}.ipynb").read_text("utf-8"))["cells"]
    sources = ["".join(cell["source"]) for cell in cells]
    return next(k for k, source in enumerate(sources) if source.startswith(text))


def check_record(setup: Setup, unit: str) -> list[dict]:
    """Check a closed record with the right call in it; give what was done."""
    entries = read_record(setup.record)
    assert replay(setup.lineup, setup.drawn, setup.student, entries).mismatches == ()
    calls = [entry.data["unit"] for entry in entries if entry.kind == "call"]
    assert calls == [unit]
    assert entries[-1].kind == "close"
    return [entry.data["do"] for entry in entries if entry.kind == "act"]


def test_a_case_by_mouse(page: Page, server: Server, school: Path, tmp_path: Path) -> None:
    open_lesson(page, server, "ada")
    setup = setup_of(school, "ada")
    bench = run_all(page, setup)
    unit, cause = truth(setup)

    def button(name: str) -> Locator:
        return bench.get_by_role("button", name=name, exact=True)

    def reads(text: str) -> None:
        until_says(bench.locator(".hs-readout"), text)

    bench.get_by_role("group", name="key").get_by_role("button", name="run").click()
    bench.get_by_role("group", name="heater switch").get_by_role("button", name="on").click()
    bench.get_by_role("button", name="Wait", exact=True).click()
    bench.get_by_role("button", name="rear window clears?").click()
    reads("Watched: rear window clears")
    bench.get_by_role("button", name="switch lamp lights?").click()
    reads("Watched: switch lamp lights")
    bench.get_by_role("button", name="Tailgate hinge").click()
    button("C41 pin 1, half a, back-probe").click()
    button("Diagram").click()
    bench.locator(".hs-paper").get_by_role("button", name="body (31)").click()
    page.screenshot(path=tmp_path / "diagram.png")
    bench.get_by_role("button", name="Take the reading").click()
    reads("Volts from C41 pin 1, half a to body")
    bench.get_by_label("Because").fill("seen by the test")
    bench.locator("details", has=page.get_by_text("ground X1", exact=True)).click()
    bench.get_by_role("button", name="X1 high resistance, 0.4 Ω").click()
    until_says(bench.locator(".hs-reasons"), "(1)")
    button("Make the call").click()
    bench.get_by_label("Unit to repair").select_option(unit)
    bench.get_by_label("Cause", exact=True).select_option(cause)
    bench.get_by_role("button", name=f"Repair: {unit}").click()
    until_says(bench.locator(".hs-checks"), "still to do")
    bench.get_by_role("button", name="Wait", exact=True).click()
    bench.get_by_role("button", name="rear window clears?").click()
    button("Clamp").click()
    bench.get_by_label("Around", exact=True).select_option("wire 8")
    bench.get_by_role("button", name="Take the reading").click()
    reads("Clamp on wire 8")
    bench.get_by_role("group", name="heater switch").get_by_role("button", name="off").click()
    bench.get_by_role("button", name="Take the reading").click()
    expect(bench.locator('.hs-checks [data-state="holds"]')).to_have_count(3)
    page.screenshot(path=tmp_path / "verified.png")
    button("Close the work order").click()
    button("Close for good").click()
    until_says(bench.locator(".hs-sheet"), "Right call: " + unit, SLOW)
    page.screenshot(path=tmp_path / "sheet.png")
    did = check_record(setup, unit)
    assert {"measure": "volts", "red": "C41.1a", "black": "body"} in did


class Keys:
    """Hands that have a keyboard and nothing else."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, target: Locator) -> None:
        """Go to a control with Tab, or with Shift+Tab where that is the way."""
        target.wait_for()
        handle = target.element_handle()
        way = """(to) => { const at = document.activeElement;
            if (at === to) return '';
            return at.compareDocumentPosition(to) & Node.DOCUMENT_POSITION_PRECEDING
                ? 'Shift+Tab' : 'Tab' }"""
        for _press in range(400):
            key = self.page.evaluate(way, handle)
            if not key:
                return
            self.page.keyboard.press(key)
        raise AssertionError(f"Tab never reaches {target}")

    def press(self, target: Locator) -> None:
        """Press a button."""
        self.reach(target)
        self.page.keyboard.press("Enter")

    def choose(self, target: Locator, value: str) -> None:
        """Choose an entry of a list with the arrow keys."""
        self.reach(target)
        gap = """(list, value) => [...list.options].findIndex((o) => o.value === value)
            - list.selectedIndex"""
        steps = target.evaluate(gap, value)
        for _step in range(abs(steps)):
            self.page.keyboard.press("ArrowDown" if steps > 0 else "ArrowUp")
        expect(target).to_have_value(value)


def test_a_case_by_keys_alone(page: Page, server: Server, school: Path) -> None:
    open_lesson(page, server, "bea")
    setup = setup_of(school, "bea")
    unit, cause = truth(setup)
    keys = Keys(page)
    for _cell in range(number_of_cell(school / "bea", f'open_case("{CASE}")') + 1):
        page.keyboard.press("Shift+Enter")
    bench = work_order(page, setup)
    page.keyboard.press("ArrowUp")

    def button(name: str) -> Locator:
        return bench.get_by_role("button", name=name)

    def exactly(name: str) -> Locator:
        return bench.get_by_role("button", name=name, exact=True)

    def reads(text: str) -> None:
        until_says(bench.locator(".hs-readout"), text)

    keys.press(bench.get_by_role("group", name="key").get_by_role("button", name="run"))
    keys.press(bench.get_by_role("group", name="heater switch").get_by_role("button", name="on"))
    keys.press(exactly("Wait"))
    keys.press(button("rear window clears?"))
    reads("Watched: rear window clears")
    keys.press(button("switch lamp lights?"))
    reads("Watched: switch lamp lights")
    keys.choose(bench.get_by_label("Red lead", exact=True), "K3.87")
    keys.choose(bench.get_by_label("Black lead", exact=True), "body")
    keys.press(button("Take the reading"))
    reads("Volts from K3 socket 87 to body")
    keys.press(button("Tailgate hinge"))
    keys.press(button("Unplug"))
    keys.press(button("Plug together"))
    keys.reach(bench.get_by_label("Because"))
    page.keyboard.type("dd by keys")  # in the notebook's own command mode this deletes a cell
    keys.press(bench.get_by_role("group", name="Path 30 to 31").get_by_role("button", name="F7"))
    keys.press(button("Strike"))
    until_says(bench.locator(".hs-reasons"), "(1)")
    keys.press(exactly("Make the call"))
    keys.choose(bench.get_by_label("Unit to repair"), unit)
    keys.choose(bench.get_by_label("Cause", exact=True), cause)
    keys.press(button(f"Repair: {unit}"))
    bench.locator(".hs-checks").wait_for()
    keys.press(exactly("Wait"))
    keys.press(button("rear window clears?"))
    keys.press(exactly("Clamp"))
    keys.choose(bench.get_by_label("Around", exact=True), "wire 8")
    keys.press(button("Take the reading"))
    reads("Clamp on wire 8")
    keys.press(bench.get_by_role("group", name="heater switch").get_by_role("button", name="off"))
    keys.press(button("Take the reading"))
    expect(bench.locator('.hs-checks [data-state="holds"]')).to_have_count(3)
    keys.press(exactly("Close the work order"))
    keys.press(exactly("Close for good"))
    until_says(bench.locator(".hs-sheet"), "Right call: " + unit, SLOW)
    did = check_record(setup, unit)
    assert {"measure": "volts", "red": "K3.87", "black": "body"} in did


def test_reload_restart_and_run_again(page: Page, server: Server, school: Path) -> None:
    open_lesson(page, server, "cai")
    setup = setup_of(school, "cai")
    bench = run_all(page, setup)
    bench.get_by_role("button", name="Fuse panel").click()
    bench.get_by_role("button", name="Go there and look around").click()
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(1)

    def stands(again: Callable[[], Locator], lines: int) -> Locator:
        found = again()
        expect(found.locator(".hs-evidence tbody tr")).to_have_count(lines)
        until_says(found.locator(".hs-place[aria-current]"), "Fuse panel")
        return found

    page.get_by_role("button", name="Save and create checkpoint").first.click()
    page.reload()
    bench = stands(lambda: work_order(page, setup), 1)
    bench.get_by_role("button", name="Feel 0.2 min").first.click()
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(2)

    restart_kernel(page)
    bench = stands(lambda: run_all(page, setup), 2)
    bench.get_by_role("button", name="Feel 0.2 min").first.click()
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(3)

    # the same cell run again takes over
    bench = stands(lambda: run_all(page, setup), 3)
    assert len(read_record(setup.record)) == 4


def test_a_kernel_that_is_killed_loses_nothing(page: Page, server: Server, school: Path) -> None:
    """SIGKILL while a step is being done: it stands in the evidence whole, or not at all."""
    open_lesson(page, server, "ida")
    setup = setup_of(school, "ida")
    bench = run_all(page, setup)
    bench.get_by_role("button", name="Fuse panel").click()
    bench.get_by_role("button", name="Go there and look around").click()
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(1)
    bench.get_by_role("button", name="Feel 0.2 min").first.click(no_wait_after=True)
    kernel_of(school / "ida").kill()
    page.get_by_role("button", name="Ok", exact=True).click()  # JupyterLab tells that it has died
    until_idle(page)
    bench = run_all(page, setup)
    done = [entry for entry in read_record(setup.record) if entry.kind == "act"]
    assert len(done) in (1, 2)
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(len(done))
    bench.get_by_role("button", name="Feel 0.2 min").first.click()
    expect(bench.locator(".hs-evidence tbody tr")).to_have_count(len(done) + 1)


def kernel_of(home: Path) -> psutil.Process:
    """Give the process of the kernel that works in a student's folder."""
    found = []
    for one in psutil.process_iter():
        with suppress(psutil.Error):  # others come and go meanwhile
            if "ipykernel_launcher" in " ".join(one.cmdline()) and home in Path(one.cwd()).parents:
                found.append(one)
    (kernel,) = found
    return kernel


def restart_kernel(page: Page) -> None:
    menu(page, "Kernel", "kernelmenu:restart-and-clear")
    page.get_by_role("button", name="Confirm Kernel Restart").click()
    expect(page.locator(".hs-bench")).to_have_count(0)
    until_idle(page)


def test_a_second_window_is_told_so(page: Page, server: Server, school: Path) -> None:
    setup = setup_of(school, "dan")
    copy = setup.record.with_name("copy.ipynb")
    copy.write_bytes(copy.with_name(f"{LESSON}.ipynb").read_bytes())
    with Writer(setup.record):
        open_lesson(page, server, "dan", "copy")
        run_cells(page)
        told = page.get_by_role("alert").filter(has_text="open in another window")
        told.wait_for(timeout=SLOW)
    run_all(page, setup)
