"""The pages open in a real browser, and nothing is fetched from elsewhere."""

from __future__ import annotations

from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE, Served, profile


def test_today_opens_and_fetches_nothing_from_elsewhere(served: Served, page390: Page) -> None:
    asked: list[str] = []
    page390.on("request", lambda request: asked.append(request.url))
    page390.goto(f"{served.address}/today")
    assert "Stile" in page390.inner_text("main")
    assert asked
    assert all(url.startswith(served.address) for url in asked), asked


def test_back_from_what_was_kept_shows_the_form_again(own: Served, browser: Browser) -> None:
    """Where no service worker stands between, the browser itself would say that the page is gone."""
    context = profile(browser, viewport=PHONE, service_workers="block")
    page = context.new_page()
    page.goto(f"{own.address}/enter")
    page.fill("[name=words]", "walk 9 10 in")
    page.click("form.typed button")
    page.click("text=Keep it")
    page.wait_for_selector("p.kept:has-text('10')")
    page.go_back()
    page.wait_for_selector("form.typed")
    assert page.url == f"{own.address}/enter"
    context.close()
