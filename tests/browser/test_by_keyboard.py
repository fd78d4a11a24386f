"""Five tasks with no mouse: by keyboard alone, at two hundred per cent, by what a screen reader says."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, ViewportSize

from browseline.chain import look
from tests.browser.conftest import NOW, Served, profile

MOST_TABS = 160
HALF: ViewportSize = {"width": 640, "height": 450}
"""A desk of 1280 by 900 at 200 %."""
NAMED = """() => {
  const el = document.activeElement;
  if (!el || el === document.body) return "";
  const label = el.labels && el.labels.length ? el.labels[0].innerText : "";
  return (el.getAttribute("aria-label") || label || el.innerText || "").replace(/\\s+/g, " ").trim();
}"""


class Keys:
    """A person at a keyboard: goes on by Tab, and knows where they are by the name that is read out."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def to(self, name: str) -> None:
        """Go on until what has the focus is called so, and can be seen to have it."""
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if name in self.page.evaluate(NAMED):
                outline = self.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert outline != "none", name
                return
        raise AssertionError(f"no Tab reaches {name}")

    def go(self, name: str) -> None:
        """Follow the link or press the button of a name."""
        self.to(name)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def open(self, name: str) -> None:
        """Open what is folded under a name."""
        self.to(name)
        self.page.keyboard.press("Enter")

    def write(self, name: str, text: str) -> None:
        """Type into the field of a name."""
        self.to(name)
        self.page.keyboard.type(text)

    def choose(self, name: str, text: str) -> None:
        """Choose in the list of a name by typing how the choice begins."""
        self.to(name)
        self.page.keyboard.type(text)

    def read(self) -> str:
        """Return what stands on the page, as its accessibility tree has it."""
        return self.page.locator("main").aria_snapshot()


@pytest.fixture
def keys(own: Served, browser: Browser) -> Iterator[Keys]:
    """Open Today at two hundred per cent, with no mouse."""
    context = profile(browser, viewport=HALF, device_scale_factor=2)
    page = context.new_page()
    page.goto(f"{own.address}/today")
    yield Keys(page)
    context.close()


def state_of(folder: Path) -> str:
    """Return where the mobs stand and what is shut, as the record has it."""
    seen = look(folder, NOW).state
    places = [f"{mob.id} in {mob.place}" for mob in seen.living()]
    return ", ".join([*places, *(f"{shut.paddock} shut" for shut in seen.shut)])


def test_a_move_and_its_undo(keys: Keys, own: Served) -> None:
    before = state_of(own.folder)
    keys.go("Moved to Gate")
    keys.go("Keep it")
    assert "heifers in 1" in state_of(own.folder)
    assert 'heading "Written down"' in keys.read()
    keys.go("Undo")
    assert state_of(own.folder) == before
    assert "Taken back: move" in keys.read()


def test_a_walk_over_two_paddocks(keys: Keys, own: Served) -> None:
    keys.go("Walk")
    keys.go("Begin in")
    keys.write("Height", "7")
    keys.go("Keep it, on to")
    assert "Kept: height - Gate: 7 in" in keys.read()
    keys.write("Height", "5.5")
    keys.go("Keep it, on to")
    heights = look(own.folder, NOW).state.heights
    assert {h.height.text for h in heights if h.at.end == NOW} == {"7 in", "5.5 in"}


def test_a_gate_is_shut_and_opened(keys: Keys, own: Served) -> None:
    keys.go("Gates")
    keys.go("Shut a gate")
    keys.choose("Which paddock", "Well")
    keys.write("Why it is shut", "limb down")
    keys.write("Until when", "cleared")
    keys.go("Keep it")
    assert "4 shut" in state_of(own.folder)
    keys.go("Gates")
    assert "limb down" in keys.read()
    keys.go("Open Well")
    keys.to("Met: cleared")
    keys.page.keyboard.press("Space")
    keys.go("Keep it")
    assert "4 shut" not in state_of(own.folder)


def test_a_look_at_trees(keys: Keys, own: Served) -> None:
    keys.go("Write")
    keys.go("Looked at")
    keys.go("Trees: bitten, barked")
    keys.choose("Which paddock", "Old")
    keys.write("Trees looked at", "30")
    keys.write("bitten", "5")
    keys.write("barked", "2")
    keys.go("Keep it")
    last = look(own.folder, NOW).state.looks[-1]
    assert (last.paddock, last.seen, last.bitten, last.barked) == ("2", 30, 5, 2)
    assert "17 %" in keys.read()


def test_a_count_that_differs_and_why(keys: Keys, own: Served) -> None:
    keys.go("Write")
    keys.go("Counted")
    keys.go("Heifers")
    keys.write("dairy heifer", "45")
    keys.go("Keep it")
    assert [q.code for q in look(own.folder, NOW).state.questions if q.subject == "heifers"] == ["count"]
    keys.go("Today")
    assert "45" in keys.read()
    keys.go("regrowth bitten again")
    assert 'heading "Why"' in keys.read()


def test_the_clock_of_the_tests_stands_still() -> None:
    assert datetime.fromisoformat("2026-06-10T12:00-04:00") == NOW
