"""The bench in German: every panel, nothing of the English catalogue left, nothing cut off."""

import re
from pathlib import Path

import pytest
from babel.messages.catalog import Message
from playwright.sync_api import Page

from lessons.workbench import open_bench, open_setup
from lessons.workbench.desk import Desk
from sim.language import catalogue, languages
from sim.parts import FAMILIES
from tests.browser.bench_page import show
from tests.browser.test_panels import (
    AXE,
    FAULTS,
    OF_COLOUR,
    STATES,
    WIDE,
    open_all,
    violations,
)
from tests.lessons.workbench.cases import ON, lineup, setup_of

#: Every piece of text of the page, names for screen readers and hints included.
TEXTS = """() => {
  const found = [];
  const bench = document.querySelector(".hs-bench");
  const walker = document.createTreeWalker(bench, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const one = walker.currentNode;
    if (!one.parentElement.closest("style, [lang=en]")) found.push(one.nodeValue);
  }
  for (const one of bench.querySelectorAll("*"))
    for (const name of ["aria-label", "title", "placeholder", "aria-valuetext", "label"])
      if (one.hasAttribute(name)) found.push(one.getAttribute(name));
  return found.map((text) => text.trim()).filter(Boolean);
}"""
#: Messages whose places leave fewer letters than this say nothing by themselves ("{a} {b}").
TELLING = 6


def english() -> dict[str, re.Pattern[str]]:
    """Give every English message that is another in German, as what it looks like on the page."""
    found: dict[str, re.Pattern[str]] = {}
    said = [pair for message in catalogue("de") for pair in pairs(message)]
    german = {told.casefold() for _text, told in said}  # a diode is a Diode
    for text, _told in said:
        if text.casefold() not in german:
            parts = re.split(r"\{\w+\}", text)
            if len(parts) == 1 or telling(parts):
                shape = ".+".join(re.escape(part.strip()) for part in parts)
                found[text] = re.compile(shape, re.IGNORECASE | re.DOTALL)
    return found


def pairs(message: Message) -> list[tuple[str, str]]:
    """Give English and German of a message, singular and plural apart."""
    if isinstance(message.id, str):
        return [(message.id, str(message.string))] if message.id else []
    return list(zip(message.id, message.string, strict=True))


def telling(parts: list[str]) -> bool:
    return sum(len(re.sub(r"\W", "", part)) for part in parts) >= TELLING


def own_words() -> set[str]:
    """Give what the circuit and the case of the bench say in their own words."""
    circuit = lineup().case.circuit
    words = {*circuit.places, *circuit.effects, *circuit.controls}
    words |= {p for control in circuit.controls.values() for p in control.positions}
    words |= {pin for part in circuit.parts.values() for pin in FAMILIES[part.kind].pins(part)}
    words |= {unit.name for unit in lineup().case.units}
    words |= {option.name for unit in lineup().case.units for option in unit.options}
    return {word.casefold() for word in words}


def left_in_english(texts: list[str]) -> list[str]:
    """Give every text of the page that is one of the catalogue's, in English."""
    messages, own = english(), own_words()
    return sorted(
        {
            f"{text!r} is {name!r}"
            for text in texts
            if text.casefold() not in own
            for name, shape in messages.items()
            if shape.fullmatch(text) or (len(name) > 24 and name in text)
        }
    )


def german(state: str, folder: Path) -> Desk:
    bench = open_setup(setup_of(folder))
    for message in STATES[state]:
        bench.desk.handle(message)
    return bench.desk


@pytest.mark.parametrize("state", STATES)
def test_no_panel_says_anything_in_english(
    page: Page, tmp_path: Path, pictures: Path, state: str
) -> None:
    page.set_viewport_size({"width": 1280, "height": 800})
    show(page, german(state, tmp_path), tmp_path, language="de")
    open_all(page)
    page.screenshot(path=pictures / f"{state}-de.png", full_page=True)
    texts = page.evaluate(TEXTS)
    assert "Befunde" in texts
    assert left_in_english(texts) == []
    assert page.evaluate(WIDE) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    assert page.evaluate(FAULTS) == []
    # a language changes words only: colours are looked at in English, other rules once, with all
    if state == "closed":
        assert violations(page, AXE, without=OF_COLOUR) == []


def test_english_on_a_page_is_seen(page: Page, tmp_path: Path) -> None:
    show(page, german("hinge", tmp_path), tmp_path)
    found = left_in_english(page.evaluate(TEXTS))
    assert len(found) > 40
    assert "'Evidence' is 'Evidence'" in found


def test_the_language_is_changed_on_the_page_and_changed_back(page: Page, tmp_path: Path) -> None:
    show(page, open_bench("rear-window-heater", settings=ON).desk, tmp_path)
    before = page.evaluate(TEXTS)
    for code, name, take in (("de", "Deutsch", "Messen"), ("en", "English", "Take the reading")):
        assert languages()[code] == name
        page.get_by_role("button", name=name).click()
        page.get_by_role("button", name=take).wait_for()
        assert page.locator(".hs-bench").get_attribute("lang") == code
        if code == "de":
            assert left_in_english(page.evaluate(TEXTS)) == []
    assert page.evaluate(TEXTS) == before
