"""Every lesson in real JupyterLab: run from top to bottom, its graded case worked by clicks."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from lessons.catalogue import shipped_lessons
from lessons.course import case_setup, cases_in, release_lesson
from lessons.folder import Home, write_home
from lessons.points import case_points
from lessons.server import Server
from tests.browser.clicks import Mouse, work_best_path
from tests.browser.conftest import window
from tests.browser.test_workbench import open_page, run_cells, work_order
from tests.browser.waits import SLOW, menu, until_idle, until_says
from tests.lessons import pages

STUDENT = "hal"
#: A theme changes colours only: the first lesson is looked at in both. The server keeps the last
#: one for whoever comes next.
THEMES = ("Dark", "Light")


class Lab:
    """One JupyterLab in which a student goes from lesson to lesson."""

    def __init__(self, page: Page, server: Server) -> None:
        self.page, self.server, self.ready = page, server, False

    def open(self, notebook: str) -> None:
        """Open a notebook by the menu; by its address where JupyterLab is not up."""
        if not self.ready:
            open_page(self.page, self.server, notebook)
            return
        self.ready = False
        menu(self.page, "File", "filebrowser:open-path")
        path = self.page.locator(".jp-Dialog input")
        path.fill(notebook)
        path.press("Enter")
        until_idle(self.page)

    def leave(self) -> None:
        """Save and close the notebook, and shut its kernel down."""
        menu(self.page, "File", "docmanager:save")
        menu(self.page, "File", "filemenu:close-and-cleanup")
        self.page.locator(".jp-Dialog .jp-mod-accept").click()
        self.page.locator(".jp-NotebookPanel").wait_for(state="detached")
        self.ready = True


@pytest.fixture(scope="module")
def lab(browser: Browser, server: Server) -> Iterator[Lab]:
    with window(browser) as page:
        yield Lab(page, server)


#: Its graded case is worked by mouse and by keys in `test_workbench`; here only in the long line.
WORKED = "06-two-circuits-in-one-can"


@pytest.fixture(
    params=[
        pytest.param(name, marks=pytest.mark.long) if name == WORKED else name
        for name in shipped_lessons()
    ]
)
def lesson(request: pytest.FixtureRequest) -> str:
    return request.param


def released(school: Path, lesson: str) -> Path:
    """Give the lesson's folder among the student's things."""
    home = Home(school / STUDENT, STUDENT)
    if not home.folder.exists():
        write_home(home)
    release_lesson(shipped_lessons()[lesson], home.folder / lesson, b"a secret for tests")
    return home.folder / lesson


def opened(lesson: str) -> list[str]:
    """Give the cases that the notebook opens, in order; the last one counts."""
    return re.findall(r'open_case\("([\w-]+)"', "\n".join(pages.cells(lesson, "code").values()))


def test_it_runs_and_its_best_path_by_clicks_gets_full_marks(
    lab: Lab, school: Path, pictures: Path, lesson: str
) -> None:
    folder, page = released(school, lesson), lab.page
    lab.open(f"{STUDENT}/{lesson}/{lesson}.ipynb")
    run_cells(page)
    cases = opened(lesson)
    assert sorted(cases) == sorted(cases_in(folder))
    mouse = Mouse(work_order(page, case_setup(folder, cases[-1])), case_setup(folder, cases[-1]))
    shows_no_failure(page, lesson)
    work_best_path(mouse)
    sheet = mouse.bench.locator(".hs-sheet")
    until_says(sheet, "Right call", SLOW)
    assert case_points(cases[-1], folder) == 100.0
    demonstration = page.locator(".jp-OutputArea-output .hs-bench").first
    for theme in THEMES if lesson == next(iter(shipped_lessons())) else THEMES[-1:]:
        choose_theme(page, theme)
        for name, part in (("finished", sheet), ("demonstration", demonstration)):
            part.evaluate("(part) => part.scrollIntoView({ block: 'start' })")
            page.screenshot(path=pictures / f"{lesson}-{name}-{theme.lower()}.png")
    lab.leave()


def choose_theme(page: Page, name: str) -> None:
    """Choose one of JupyterLab's themes by its menu, unless it is worn."""
    worn = page.locator(f'body[data-jp-theme-light="{"true" if name == "Light" else "false"}"]')
    if worn.count():
        return
    page.locator(".lm-MenuBar").get_by_role("menuitem", name="Settings", exact=True).click()
    page.locator('.lm-Menu-item[data-type="submenu"]', has_text="Theme").first.click()
    themes = page.locator('.lm-Menu-item[data-command="apputils:change-theme"]')
    themes.filter(has_text=re.compile(f"^JupyterLab {name}$")).click()
    worn.wait_for(state="attached", timeout=SLOW)


def shows_no_failure(page: Page, lesson: str) -> None:
    """Wait until the last cell has run; every bench is there, no cell has stopped."""
    code = pages.cells(lesson, "code")
    benches = [name for name in code if "open_case(" in code[name] or name.startswith("demo")]
    expect(page.locator(".jp-OutputArea-output .hs-bench")).to_have_count(
        len(benches), timeout=SLOW
    )
    until_idle(page)
    points = page.locator(".jp-OutputArea-output").get_by_text("0.0", exact=True)
    expect(points).to_have_count(1)  # of the graded case, before anything is done
    assert page.locator(".jp-RenderedText[data-mime-type*=stderr]").all_inner_texts() == []
    assert page.locator(".jp-RenderedText[data-mime-type*=error]").all_inner_texts() == []
