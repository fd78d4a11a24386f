"""What a first visit loads, how soon the phone shows Today without a signal, and that the sheet prints."""

from __future__ import annotations

import time
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Playwright
from starlette.types import Message, Receive, Scope, Send

from tests.browser.conftest import Server
from tests.browser.phone import Carried, Phone, carry, keep

FIRST_LOAD_BYTES = 500_000
SLOWER = 4
ASKED = """() => [
  performance.getEntriesByName('drawn')[0].startTime,
  performance.getEntriesByType('resource').map((one) => [one.name, one.startTime]),
  [...document.querySelectorAll('link[rel=modulepreload], link[rel=preload]')].map((one) => one.href),
]"""
"""When Today was drawn; what was asked for, with its begin [ms]; what the page itself names at its head."""


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


def test_today_stands_on_a_slow_phone_before_anything_is_asked_of_the_server(
    phone: Phone, carried: Carried
) -> None:
    """No script waits until another is read, nor for the server. How soon: benchmarks/phone_start.py."""
    page = phone.open("about:blank", ready="")
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(f"{carried.address}/today", wait_until="commit")
    page.wait_for_selector("section.mob")
    drawn, asked, named = page.evaluate(ASKED)
    before = [name for name, begun in asked if begun < drawn]
    scripts = [name for name in before if "/static/pocket/" in name and name.endswith(".js")]
    assert len(scripts) > 10
    assert sorted(scripts) == sorted(name for name in named if name.endswith(".js"))
    assert [name for name in before if name.endswith("/pocket/words")] == [
        name for name in named if not name.endswith(".js")
    ]
    assert [name for name in before if "/pocket/news" in name] == []


def test_the_relief_sheet_prints_from_the_phones_own_store(
    phone: Phone, carried: Carried, tmp_path: Path
) -> None:
    keep(phone.open(f"{carried.address}/pocket#move/heifers/1"))
    page = phone.open(f"{carried.address}/pocket#relief")
    page.wait_for_selector(".sheet")
    page.pdf(path=tmp_path / "sheet.pdf", format="Letter", prefer_css_page_size=False)
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
