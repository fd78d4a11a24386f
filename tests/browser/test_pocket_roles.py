"""What a relief phone holds: nothing that relief may not see, in its store, its caches or on its disk."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

from playwright.sync_api import Playwright

from browseline.events import Event, Shut, Spent, Treated, When, new_id
from browseline.record.store import Record
from browseline.units import parse
from browseline.web.access import Access
from tests.browser.conftest import NOW, PATIENCE_MS, Server
from tests.browser.phone import Phone, carry, free_port, home, keep

STORED = """async () => {
  const out = [];
  for (const { name, version } of await indexedDB.databases()) {
    const db = await new Promise((done) => {
      const asked = indexedDB.open(name, version);
      asked.onsuccess = () => done(asked.result);
    });
    for (const store of db.objectStoreNames) {
      const asked = db.transaction(store).objectStore(store).getAll();
      out.push(JSON.stringify(await new Promise((done) => { asked.onsuccess = () => done(asked.result); })));
    }
    db.close();
  }
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      out.push(request.url, await (await cache.match(request)).text());
    }
  }
  out.push(JSON.stringify({ ...localStorage }), JSON.stringify({ ...sessionStorage }), document.cookie);
  return out.join('\\n');
}"""
"""Everything that the page's origin keeps on the phone, as text."""


def test_a_relief_phone_keeps_no_money_treatment_or_coordinate_and_forgets_when_turned_away(
    play: Playwright, own_farm: Path, tmp_path: Path
) -> None:
    at = NOW - timedelta(hours=3)
    with Record.open(own_farm) as record:
        secret = [
            Spent(parse("98765 USD", "money"), "drench Zolvex at 41.12345, -45.54321"),
            Treated("Zolvex", by="vet"),
            Shut("Zolvex given, ring $98765 at 41.12345, -45.54321"),
        ]
        record.append(
            Event(new_id(at), "d-00000000", "owner", When.at(at), at, subject, body)
            for subject, body in zip(("farm", "heifer 7", "3"), secret, strict=True)
        )
    place = set(re.findall(r"-?4\d\.\d{4,}", (own_farm / "map.geojson").read_text()))
    assert len(place) > 20
    access = Access(here=False, hosts=frozenset({"127.0.0.1"}), state=tmp_path / "state")
    port = free_port()
    phone = Phone(play, tmp_path / "relief")
    try:
        server = Server(own_farm, port=port, access=access)
        register = server.app.state.register
        with server as address:
            code, _ = register.invite("relief")
            page = phone.open(f"{address}/pair", ready="")
            page.fill("[name=code]", code)
            page.click("form button")
            page.wait_for_url("**/phone")
            carry(phone, address)
            page.goto(f"{address}/today")
            page.goto(f"{address}/pocket#move/heifers/1")
            keep(page)
            home(page)
            page.goto(f"{address}/pocket#relief")
            page.wait_for_selector(".sheet")
            stored = page.evaluate(STORED)
            assert "Cherry Edge" in stored
            assert "heifers" in stored
            for word in ("98765", "98,765", "Zolvex", "41.12345", "45.54321", "USD", "$", *place):
                assert word not in stored.replace("${", "").replace("$/", ""), word
            phone.close()
            on_disk = b"".join(path.read_bytes() for path in phone.profile.rglob("*") if path.is_file())
            assert b"Cherry" in on_disk
            for word in ("98765", "98,765", "Zolvex", "41.12345", "45.54321", *place):
                assert word.encode() not in on_disk, word
                assert word.encode("utf-16-le") not in on_disk, word
            for device in register.devices():
                register.revoke(device.id)
            page = phone.open(f"{address}/pocket")
            page.wait_for_selector("text=does not let this phone in", timeout=PATIENCE_MS)
            assert "Cherry Edge" not in page.evaluate(STORED)
    finally:
        phone.kill()
