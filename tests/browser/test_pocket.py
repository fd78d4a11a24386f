"""The pocket in a real browser: entries without a signal, the browser killed, the signal back."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from browseline.events import Moved
from browseline.record.store import Record
from tests.browser.conftest import Server
from tests.browser.phone import Phone, free_port


@pytest.fixture
def phone(play: Playwright, tmp_path: Path) -> Iterator[Phone]:
    made = Phone(play, tmp_path / "phone")
    yield made
    made.kill()


def test_a_move_without_a_signal_is_in_the_record_though_the_browser_was_killed(
    phone: Phone, own_farm: Path
) -> None:
    port = free_port()
    with Server(own_farm, port=port) as address:
        page = phone.open(f"{address}/pocket")
        page.wait_for_selector("section.mob", timeout=60_000)
        page.wait_for_function("navigator.serviceWorker.controller !== null", timeout=20_000)
    page = phone.open(f"{address}/today")
    page.wait_for_selector("section.mob")
    begun = time.monotonic()
    page.click("section[data-mob=heifers] a[href^='#move']")
    page.click("a.choice >> nth=0")
    page.click("button.keep")
    page.wait_for_selector("p.kept")
    assert time.monotonic() - begun < 5
    phone.kill()

    page = phone.open(f"{address}/pocket")
    assert page.inner_text("a[href='#list'] >> nth=0") == "Unsent: 1"
    with Server(own_farm, port=port):
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_selector("text=Nothing unsent", timeout=30_000)
    with Record.open(own_farm) as record:
        event = record.events()[-1]
    assert isinstance(event.body, Moved)
    assert event.subject == "heifers"
    assert event.device.startswith("p-")
