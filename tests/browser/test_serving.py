"""The pages open in a real browser, and nothing is fetched from elsewhere."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.conftest import Served


def test_today_opens_and_fetches_nothing_from_elsewhere(served: Served, page390: Page) -> None:
    asked: list[str] = []
    page390.on("request", lambda request: asked.append(request.url))
    page390.goto(f"{served.address}/today")
    assert "Stile" in page390.inner_text("main")
    assert asked
    assert all(url.startswith(served.address) for url in asked), asked
