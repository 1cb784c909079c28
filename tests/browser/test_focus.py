"""The keyboard is never sent back to the top of the page: it stands on what comes next."""

from pathlib import Path

from playwright.sync_api import Locator, Page

from tests.browser.bench_page import show
from tests.browser.test_panels import (
    VERIFY,
    at_rest,  # noqa: F401 -- benches are put to rest
    desk_in,
)
from tests.browser.waits import SLOW, until_answered
from tests.lessons.workbench.cases import HINGE


def press(page: Page, name: str) -> None:
    """Press a button of this name by keys alone."""
    page.get_by_role("button", name=name).first.focus()
    page.keyboard.press("Enter")
    until_answered(page.locator(".hs-bench"))


def has_focus(target: Locator) -> None:
    target.and_(target.page.locator(":focus")).wait_for(timeout=SLOW)


def call(page: Page, unit: str, cause: str) -> None:
    press(page, "Make the call")
    page.get_by_label("Unit to repair").select_option(unit)
    page.get_by_label("Cause", exact=True).select_option(cause)
    press(page, f"Repair: {unit}")


def test_from_the_call_to_the_sheet_by_keys(page: Page, tmp_path: Path) -> None:
    desk = desk_in("hinge", tmp_path)
    show(page, desk, tmp_path)
    button = page.get_by_role("button", name="Make the call")
    press(page, "Make the call")
    has_focus(page.get_by_label("Unit to repair"))
    press(page, "Not yet")
    has_focus(button)
    call(page, "hinge joint", HINGE)
    has_focus(page.get_by_role("heading", name="Is it repaired?"))
    for do in VERIFY:
        desk.handle({"do": do})
    press(page, "Close the work order")
    has_focus(page.get_by_role("button", name="Not yet"))
    press(page, "Not yet")
    has_focus(page.get_by_role("button", name="Close the work order"))
    press(page, "Close the work order")
    press(page, "Close for good")
    has_focus(page.get_by_role("region", name="Score sheet"))


def test_a_grey_button_says_what_it_waits_for(page: Page, tmp_path: Path) -> None:
    show(page, desk_in("hinge", tmp_path), tmp_path)
    press(page, "Make the call")
    repair = page.locator('.hs-call [data-key="confirm"]')

    def waits_for() -> str:
        said = repair.get_attribute("aria-describedby")
        return page.locator(f"#{said}").inner_text() if said else ""

    assert waits_for() == "Choose a unit and its cause first."
    page.get_by_label("Unit to repair").select_option("hinge joint")
    assert waits_for() == "Choose the cause first."
    page.get_by_label("Cause", exact=True).select_option(HINGE)
    assert waits_for() == ""
    assert repair.get_attribute("aria-disabled") is None


def test_a_sheet_that_is_worked_out_keeps_the_focus(page: Page, tmp_path: Path) -> None:
    """The sheet comes after the answer, first as a line that it is being worked out."""
    show(page, desk_in("called", tmp_path), tmp_path)
    page.evaluate(
        """() => {
          const kernel = window.kernel;
          window.kernel = async (message) => {
            const state = await kernel(message);
            if ("close" in message) [window.later, state.sheet] = [state.sheet, {}];
            return state;
          };
        }"""
    )
    press(page, "Close the work order")
    press(page, "Close for good")
    assert page.locator(".hs-sheet").count() == 0
    for sheet in ("{ state: 'working', text: 'wait' }", "window.later"):
        page.evaluate(f"() => {{ window.state.sheet = {sheet}; window.tell('change:sheet'); }}")
        has_focus(page.get_by_role("region", name="Score sheet"))
    page.get_by_text("Right call: hinge joint").wait_for()


def test_nobody_is_taken_away_from_where_they_have_gone(page: Page, tmp_path: Path) -> None:
    show(page, desk_in("called", tmp_path), tmp_path)
    page.evaluate("document.body.append(Object.assign(document.createElement('input'), {id: 'x'}))")
    press(page, "Close the work order")
    page.locator("#x").focus()
    page.get_by_role("button", name="Close for good").dispatch_event("click")
    page.get_by_role("region", name="Score sheet").wait_for(timeout=SLOW)
    has_focus(page.locator("#x"))


def test_a_button_that_becomes_another_keeps_its_place(page: Page, tmp_path: Path) -> None:
    show(page, desk_in("hinge", tmp_path), tmp_path)
    press(page, "Unplug")
    has_focus(page.get_by_role("button", name="Plug together").first)


def test_a_question_that_is_asked_leaves_the_keyboard_among_the_others(
    page: Page, tmp_path: Path
) -> None:
    show(page, desk_in("hinge", tmp_path), tmp_path)
    page.locator(".hs-customer button").first.focus()
    page.keyboard.press("Enter")
    until_answered(page.locator(".hs-bench"))
    assert page.evaluate("document.activeElement.closest('.hs-order, .hs-vehicle') !== null")
