"""Numbers of a table stand on the line of their row's label, on a phone and on a desk."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import PATIENCE_MS, Served

# Rows that stack on a phone have their labels in front of each number, in the same cell.
OFF = """() => [...document.querySelectorAll('table')].filter(t => t.offsetParent).flatMap(table =>
  [...table.querySelectorAll('tbody tr')].flatMap(row => {
    if (getComputedStyle(row).display === 'block') return [];
    const top = cell => {
      const range = document.createRange(); range.selectNodeContents(cell);
      const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
      let text = walker.nextNode();
      while (text && !text.textContent.trim()) text = walker.nextNode();
      if (!text) return null;
      range.setStart(text, 0); range.setEnd(text, Math.max(text.textContent.trim().length, 1));
      return range.getClientRects()[0];
    };
    const label = top(row.querySelector('th'));
    return [...row.querySelectorAll('td')].map(top).filter(Boolean)
      .filter(box => label && Math.abs(box.bottom - label.bottom) > 2)
      .map(box => `${row.innerText.slice(0, 40)}: ${box.bottom - label.bottom}`);
  }))"""


@pytest.mark.parametrize("size", ["page390", "page1280"])
def test_numbers_stand_on_the_line_of_their_label(
    request: pytest.FixtureRequest, served: Served, size: str
) -> None:
    page: Page = request.getfixturevalue(size)
    seen = 0
    for way in ("/money", "/balance"):
        page.goto(served.address + way)
        for summary in page.locator("summary").all():
            summary.click()
        seen += page.locator("tbody tr").count()
        assert page.evaluate(OFF) == [], way
    assert seen > 10


def worked_out(page: Page, address: str) -> None:
    """Open a page, and wait until it is no longer one that stands in for it."""
    page.goto(address)
    page.wait_for_selector("meta[http-equiv=refresh]", state="detached", timeout=PATIENCE_MS)


@pytest.mark.parametrize("way", ["balance", "carbon", "compare"])
def test_on_a_phone_every_number_is_in_sight_beside_its_heading(
    served: Served, page390: Page, way: str
) -> None:
    worked_out(page390, f"{served.address}/{way}")
    for summary in page390.locator("summary").all():
        summary.click()
    cells = page390.locator("tbody td").all()
    assert len(cells) > 20
    for cell in cells:
        if cell.is_visible():
            assert cell.evaluate("one => one.getBoundingClientRect().right") <= 390
            head = cell.evaluate("one => getComputedStyle(one, '::before').content")
            assert len(head.strip('" :')) > 1


SCREEN_PX = 844


def test_what_differs_comes_on_the_first_two_screens(served: Served, page390: Page) -> None:
    """The answer stands first: money, range and reason of each use; what is secondary is folded."""
    worked_out(page390, f"{served.address}/compare")
    firsts = page390.locator(".differs .first").all()
    assert len(firsts) > 2
    for first in firsts:
        box = first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < 2 * SCREEN_PX
        assert " to " in first.inner_text()
    assert page390.locator("details[open]").count() == 0
    assert page390.evaluate("document.documentElement.scrollHeight") < 4 * SCREEN_PX


def test_cases_stand_side_by_side_and_the_rest_is_folded(served: Served, page390: Page) -> None:
    page390.goto(f"{served.address}/money")
    heads = page390.locator("table.cases thead th").all_inner_texts()
    assert heads[:3] == ["case", "As planned", "If it goes wrong"]
    assert page390.locator("details[open]").count() == 0
    first = page390.locator("main p").first.inner_text()
    assert first.startswith("The deepest hole is")
    assert page390.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page390.locator("table.cases tbody td a").first.click()
    assert "/why/money." in page390.url


def test_on_a_phone_no_case_lies_beyond_the_edge(served: Served, page390: Page) -> None:
    """Every case of Money is in sight under its own name, however many there are."""
    page390.goto(f"{served.address}/money")
    cells = page390.locator("table.cases tbody td").all()
    assert len(cells) > 30
    for cell in cells:
        assert cell.evaluate("one => one.getBoundingClientRect().right") <= 390
        assert len(cell.evaluate("one => getComputedStyle(one, '::before').content").strip('"')) > 2


@pytest.mark.parametrize("way", ["layout", "purpose", "balance"])
def test_on_a_desk_a_table_takes_the_windows_width_before_it_scrolls(
    served: Served, page1280: Page, way: str
) -> None:
    worked_out(page1280, f"{served.address}/{way}")
    for summary in page1280.locator("summary").all():
        summary.click()
    wide = page1280.locator(".wide")
    assert wide.count()
    for box in wide.all():
        assert box.evaluate("one => one.scrollWidth - one.clientWidth") <= 1
    assert page1280.evaluate("document.documentElement.scrollWidth <= innerWidth")
