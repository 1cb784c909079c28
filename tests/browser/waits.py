"""Waiting until a page says what is expected, without asking much of it.

An `expect` of playwright's that does not hold yet writes down how the page reads to a screen
reader, each time it looks again: on JupyterLab's page with eight benches that took half of the time
of every test here. So what takes a while is waited for by its selector, which asks for that alone.
`to_have_count` writes nothing down and stays.
"""

from playwright.sync_api import Locator, Page, expect

SLOW = 120_000  # ms, for a kernel that begins, and for a score sheet, on a slow machine


def until_answered(bench: Locator) -> None:
    """Wait until a bench waits for no answer of its kernel."""
    bench.and_(bench.page.locator(":not([aria-busy])")).wait_for(timeout=SLOW)


def until_says(target: Locator, text: str, timeout: float | None = None) -> None:
    """Wait until what is found says a text, among others."""
    target.filter(has_text=text).wait_for(state="attached", timeout=timeout)
    expect(target).to_contain_text(text)  # to the letter, and in one place


def until_idle(page: Page) -> None:
    """Wait until JupyterLab's status bar says that the notebook's kernel is ready.

    The indicator in the toolbar says idle before there is a kernel; the status bar does not.
    """
    bar = page.locator("#jp-main-statusbar")
    bar.get_by_text("Python 3 (ipykernel) | Idle").wait_for(timeout=SLOW)


def menu(page: Page, name: str, command: str, where: str = "") -> None:
    """Choose a command of JupyterLab's menus."""
    bar = page.locator(".lm-MenuBar")
    bar.get_by_role("menuitem", name=name, exact=True).click()
    page.locator(f'.lm-Menu-item[data-command="{command}"]{where}').click()
