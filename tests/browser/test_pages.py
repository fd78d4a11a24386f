"""Every page in a real browser: axe-core, and what of JOB §4 can be measured, in both sizes and schemes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from browseline.chain.accounts import PAGES as ACCOUNTS
from browseline.events.verbs import ENTRIES
from browseline.web.context import MORE
from tests.browser.conftest import DESK, HERE, PHONE, Served, profile

FIXED = ("today", "walk", "walk/1", "enter", "shut", "more", "why/today.mobs.heifers.lines.grass",
         "enter/look?at=trees&paddock=2", "enter/look?at=ground", "enter/look?at=animals",
         "enter/look?at=plants", "enter/split?mob=heifers", "enter/pen?mob=heifers",
         "enter/move?mob=heifers&to=10", "people")  # fmt: skip
PAGES = tuple(dict.fromkeys(
    [*FIXED, *(page for pages in MORE.values() for page in pages), *ACCOUNTS,
     *(f"enter/{verb}" for verb in ENTRIES)]
))  # fmt: skip
SLOW = ("compare", "decades", "brief", "try")
"""Pages that a browser is told to ask for again; a program waits till they are there."""
WAIT_MS = 600_000
SIZES = {"phone": PHONE, "desk": DESK}
FEW = ("today", "walk/1", "season", "map", "canopy", "enter/move?mob=heifers&to=1",
       "why/today.mobs.heifers.lines.grass")  # fmt: skip
"""Pages on which two hundred per cent is tried."""
AXE = """async () => (await axe.run({rules: {
  "color-contrast-enhanced": {enabled: true}, "target-size": {enabled: true}}})).violations"""
OPEN = "for (const one of document.querySelectorAll('details')) one.open = true"


def wrong_on(page: Page) -> list[str]:
    """Return what axe-core finds, contrast of 7:1 among it."""
    page.evaluate((HERE / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8") + "; null")
    found: list[Any] = page.evaluate(AXE)
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found]


def measured(page: Page) -> dict[str, Any]:
    """Return targets that are too small or too near, letters that are too small, and what sticks out."""
    found: dict[str, Any] = page.evaluate(Path(HERE / "measures.js").read_text(encoding="utf-8"))
    return found


def words_of(page: Page) -> list[str]:
    """Return the words of a page; those in drawings stand beside them in a list."""
    page.evaluate("for (const one of document.querySelectorAll('svg')) one.remove()")
    return page.inner_text("main").split()


@pytest.fixture(params=[(size, scheme) for size in SIZES for scheme in ("light", "dark")], ids="-".join)
def opened(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """Open a page of one size in one scheme."""
    size, scheme = request.param
    context = profile(browser, viewport=SIZES[size], color_scheme=scheme, has_touch=size == "phone")
    yield context.new_page()
    context.close()


def test_axe_finds_nothing_and_all_can_be_read_and_hit(served: Served, opened: Page) -> None:
    found: dict[str, object] = {}
    for name in SLOW:
        assert opened.request.get(f"{served.address}/{name}?as=json", timeout=WAIT_MS).status == 200, name
    for name in PAGES:
        answer = opened.goto(f"{served.address}/{name}")
        assert answer is not None
        assert answer.status == 200, name
        opened.wait_for_selector("h1")  # the pocket's page is made by its script
        opened.evaluate(OPEN)
        sizes = measured(opened)
        wrong = [f"{kind}: {one}" for kind in ("small", "close", "type") for one in sizes[kind]]
        wrong += wrong_on(opened)
        wrong += [f"{sizes['wide']} px stick out"] if sizes["wide"] > 0 else []
        found |= {name: wrong} if wrong else {}
    assert found == {}


def test_the_measure_sees_what_is_wrong(page390: Page) -> None:
    page390.set_content(
        "<p style='font-size: 12px'>small</p><a href='#a' style='font-size: 20px'>x</a><a href='#b'>y</a>"
        "<div style='width: 900px; height: 1px'></div>"
    )
    sizes = measured(page390)
    assert len(sizes["small"]) == 2
    assert sizes["close"]
    assert sizes["type"]
    assert sizes["wide"] > 400


@pytest.mark.parametrize("wide", [320, 640])
def test_at_two_hundred_per_cent_nothing_is_lost(served: Served, browser: Browser, wide: int) -> None:
    """640 is a desk of 1280 at 200 %; 320 is the narrowest that WCAG 2.2, 1.4.10 asks for."""
    context = profile(browser, viewport={"width": wide, "height": 450}, device_scale_factor=2)
    page = context.new_page()
    for name in FEW:
        page.goto(f"{served.address}/{name}")
        whole = words_of(page)
        assert measured(page)["wide"] <= 0, name
        clipped = page.evaluate(
            "[...document.querySelectorAll('main *:not(.unseen)')].filter("
            "(e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX === 'hidden').length"
        )
        assert clipped == 0, name
        page.set_viewport_size(DESK)
        assert words_of(page) == whole, name
        page.set_viewport_size({"width": wide, "height": 450})
    context.close()


@pytest.mark.parametrize("name", ["today", "enter/move?mob=heifers&to=1"])
def test_nothing_moves_fades_or_times_out(served: Served, page390: Page, name: str) -> None:
    page390.goto(f"{served.address}/{name}")
    styled = page390.evaluate(
        "[...document.querySelectorAll('*')].filter((e) => { const s = getComputedStyle(e);"
        " return s.animationName !== 'none' || s.transitionDuration !== '0s'; }).length"
    )
    assert styled == 0
    assert page390.locator("meta[http-equiv=refresh], [draggable=true], marquee, blink").count() == 0
