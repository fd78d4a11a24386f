"""What a first visit loads, how soon the phone shows Today without a signal, and that the sheet prints."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Playwright
from starlette.types import Message, Receive, Scope, Send

from tests.browser.conftest import Server
from tests.browser.phone import Carried, Phone, carry, keep

FIRST_LOAD_BYTES = 500_000
COLD_START_MS = 2000
SLOWER = 4


def test_a_first_visit_to_today_loads_little(play: Playwright, own_farm: Path, tmp_path: Path) -> None:
    """Everything that leaves the server counts: the page, its files, the pocket, the table, the sheet."""
    server, phone, sent = Server(own_farm), Phone(play, tmp_path / "phone"), [0]
    inner = server.app

    async def counted(scope: Scope, receive: Receive, send: Send) -> None:
        async def counting(message: Message) -> None:
            sent[0] += len(message.get("body", b""))
            sent[0] += sum(len(name) + len(value) for name, value in message.get("headers", ()))
            await send(message)

        await inner(scope, receive, counting)

    server.server.config.app = counted
    try:
        with server as address:
            phone.open(f"{address}/today", ready="#pocket-strip")
            carry(phone, address)
            time.sleep(1)
        assert 20_000 < sent[0] <= FIRST_LOAD_BYTES, sent
    finally:
        phone.kill()


def test_today_stands_there_soon_without_a_signal_on_a_slow_phone(
    play: Playwright, carried: Carried, tmp_path: Path
) -> None:
    took = []
    for turn in range(3):
        phone = Phone(play, Path(shutil.copytree(carried.profile, tmp_path / f"phone {turn}")))
        try:
            page = phone.open("about:blank", ready="")
            session = page.context.new_cdp_session(page)
            session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            page.goto(f"{carried.address}/today", wait_until="commit")
            page.wait_for_selector("section.mob")
            took.append(page.evaluate("performance.getEntriesByName('drawn')[0].startTime"))
        finally:
            phone.kill()
    assert min(took) <= COLD_START_MS, took


def test_the_relief_sheet_prints_from_the_phones_own_store(
    phone: Phone, carried: Carried, tmp_path: Path
) -> None:
    keep(phone.open(f"{carried.address}/pocket#move/heifers/1"))
    begun = time.monotonic()
    page = phone.open(f"{carried.address}/pocket#relief")
    page.wait_for_selector(".sheet")
    page.pdf(path=tmp_path / "sheet.pdf", format="Letter", prefer_css_page_size=False)
    assert time.monotonic() - begun < 10
    read = pypdf.PdfReader(tmp_path / "sheet.pdf")
    text = " ".join(read.pages[0].extract_text().split())
    assert len(read.pages) == 1
    asked = ("Fennick Lea", "Emergency 911", "46 heifers", "Gate", "Cherry Edge", "IF THE COUNT IS SHORT")
    assert [words for words in asked if words not in text] == []


@pytest.mark.parametrize(
    "screen", ["today", "move", "walk", "look", "shut", "open", "count", "relief", "list"]
)
def test_screens_of_the_pocket_can_be_used_by_everybody(phone: Phone, carried: Carried, screen: str) -> None:
    from tests.browser.conftest import axe_violations

    page = phone.open(f"{carried.address}/pocket#{screen}")
    page.wait_for_selector("h1")
    assert axe_violations(page) == []
