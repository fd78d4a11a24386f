"""Phones come home: in either order alike, an alarm within a minute, nothing lost to versions or roles."""

from __future__ import annotations

import json
import re
import shutil
import time
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright
from typer.testing import CliRunner

from browseline.chain import look
from browseline.cli.group import app
from browseline.events import Event, Unknown
from browseline.record.store import Record
from browseline.web.pocket_files import STATIC
from tests.browser.conftest import NOW, PATIENCE_MS, Server
from tests.browser.phone import Carried, Phone, home, keep

CARRIED = """async () => {
  const store = await import(new URL('store.js', document.querySelector('script[type=module]').src));
  return (await store.fact('carried')).events;
}"""


TABLE_NEVER_COMES = """() => {
  const fetched = window.fetch;
  window.held = 0;
  window.fetch = (url, ...more) => {
    if (!String(url).includes('pocket/table')) return fetched(url, ...more);
    window.held += 1;
    return new Promise(() => {});
  };
}"""


@pytest.fixture
def two_days_out(play: Playwright, carried: Carried, tmp_path: Path) -> dict[str, Path]:
    """Give two profiles that wrote entries for two days without a signal, some of them at odds."""
    written = {
        "a": [("move/heifers/1", {}, 20), ("walk/2", {"height": "9"}, 22),
              ("shut/3", {"because": "wet"}, 30)],
        "b": [("move/heifers/2", {}, 26), ("count/ewes", {"head": "9"}, 28), ("walk/2", {"height": "8"}, 40),
              ("shut/2", {"because": "limb down"}, 44)],
    }  # fmt: skip
    out = {}
    for name, entries in written.items():
        phone = Phone(play, Path(shutil.copytree(carried.profile, tmp_path / name)))
        for screen, fields, hours in entries:
            phone.at = NOW + timedelta(hours=hours)
            keep(phone.open(f"{carried.address}/pocket#{screen}"), **fields)
        _own_device(phone.page, name)
        phone.close()
        out[name] = phone.profile
    return out


def _own_device(page: Page, name: str) -> None:
    """Check that the entries bear one device; two copied profiles would bear the same."""
    page.evaluate(
        """async (name) => {
          const store = await import(new URL('store.js', document.querySelector('script[type=module]').src));
          const device = `p-${name.repeat(16)}`;
          const entries = await store.entries();
          await store.setFact('device', device);
          const renamed = (one) => ({ ...one, event: { ...one.event, device } });
          await store.change(entries.map((one) => one.id), renamed);
        }""",
        name,
    )


def test_two_phones_two_days_out_end_alike_in_either_order(
    play: Playwright, carried: Carried, two_days_out: dict[str, Path], demo_farm: Path, tmp_path: Path
) -> None:
    now, states, screens = NOW + timedelta(hours=48), [], []
    for order in ("ab", "ba"):
        farm = Path(shutil.copytree(demo_farm, tmp_path / order))
        phones = [
            Phone(play, shutil.copytree(two_days_out[one], tmp_path / f"{order} {one}"), now) for one in order
        ]
        try:
            with Server(farm, now=now, port=carried.port) as address:
                for phone in phones:
                    home(phone.open(f"{address}/pocket"))
                for phone in phones:
                    _until_carried(phone.page, len(_before(farm)) + 7)
                screens += [phone.page.inner_text("#pocket") for phone in phones]
        finally:
            for phone in phones:
                phone.kill()
        found = look(farm, now)
        assert len(found.events) == len(_before(farm)) + 7
        states.append((found.state, {event.id: event for event in found.events}))
    assert states[0] == states[1]
    assert len(set(screens)) == 1
    assert "in Old Locust since Thu 14:00" in screens[0]
    assert "shut: limb down" in screens[0]


def _until_carried(page: Page, events: int) -> None:
    """Wait until a phone carries a table with all entries in it."""
    begun = time.monotonic()
    while page.evaluate(CARRIED) != events:
        assert time.monotonic() - begun < 200
        page.evaluate("dispatchEvent(new Event('online'))")
        time.sleep(1)


def _before(folder: Path) -> tuple[Event, ...]:
    with Record.open(folder) as record:
        return tuple(event for event in record.events() if not event.device.startswith("p-"))


def _until(page: Page, what: str, fits: object, timeout_s: float = 60) -> float:
    """Wait until the page's text fits; return how long it took. [s]"""
    begun = time.monotonic()
    while not fits(page.inner_text("body")):  # type: ignore[operator]
        assert time.monotonic() - begun < timeout_s, f"{what}: {page.inner_text('body')[:600]}"
        time.sleep(0.2)
    return time.monotonic() - begun


def test_the_alarm_comes_within_a_minute_of_joining_on_every_open_page(
    play: Playwright, phone: Phone, carried: Carried, own_farm: Path, page1280: Page, tmp_path: Path
) -> None:
    """Told in asks, not by a clock: each page asks every 20 s, so by the third the minute is not over."""
    for name in ("shell.js", "page.js"):
        found = re.search(r"EVERY_MS = (\d+);", (STATIC / "pocket" / name).read_text())
        assert found is not None
        assert 3 * int(found[1]) <= 60_000
    _fence_down(phone, carried)
    other = Phone(play, Path(shutil.copytree(carried.profile, tmp_path / "other")))
    try:
        with Server(own_farm, port=carried.port) as address:
            watching = other.open(f"{address}/pocket")
            page1280.goto(f"{address}/today")
            page1280.wait_for_selector("#pocket-strip", state="attached")
            assert "fence down" not in watching.inner_text("body") + page1280.inner_text("body")
            asked = [_asks(page) for page in (watching, page1280)]
            home(phone.page)
            before = [len(asks) for asks in asked]
            for page, asks, first in zip((watching, page1280), asked, before, strict=True):
                _until(page, "the alarm", lambda text: "fence down" in text, timeout_s=300)
                assert len(asks) - first <= 3
    finally:
        other.kill()


def _fence_down(phone: Phone, carried: Carried) -> None:
    """Write it half an hour before the server's clock, which stands; the phone's goes on meanwhile."""
    phone.at = NOW - timedelta(minutes=30)
    keep(phone.open(f"{carried.address}/pocket#shut/7"), because="fence down")


def _asks(page: Page) -> list[str]:
    """Return a list that fills with each time a page asks what is new."""
    asks: list[str] = []
    page.on("request", lambda request: asks.append(request.url) if "pocket/news" in request.url else None)
    return asks


def test_a_table_that_takes_long_holds_up_no_alarm(
    play: Playwright, phone: Phone, carried: Carried, own_farm: Path, tmp_path: Path
) -> None:
    """A phone whose next table never comes hears of what another phone shut all the same."""
    _fence_down(phone, carried)
    other = Phone(play, Path(shutil.copytree(carried.profile, tmp_path / "other")))
    try:
        with Server(own_farm, port=carried.port) as address:
            watching = other.open(f"{address}/pocket#count/ewes")
            watching.evaluate(TABLE_NEVER_COMES)
            keep(watching, head="9")
            watching.evaluate("dispatchEvent(new Event('online'))")
            while not watching.evaluate("window.held"):
                time.sleep(0.2)
            home(phone.page)
            watching.evaluate("location.hash = '#today'")
            _until(watching, "the alarm", lambda text: "fence down" in text, timeout_s=300)
            assert watching.evaluate("window.held") == 1
    finally:
        other.kill()


def test_nothing_needs_you_is_withdrawn_by_any_entry(phone: Phone, carried: Carried) -> None:
    page = phone.open(f"{carried.address}/pocket")
    page.evaluate(
        """async () => {
          const store = await import(new URL('store.js', document.querySelector('script[type=module]').src));
          const carried = await store.fact('carried');
          const quiet_until = new Date(Date.now() + 72 * 3600000).toISOString();
          await store.setFact('carried', { ...carried, quiet_until });
        }"""
    )
    page.reload()
    page.wait_for_selector("p.quiet")
    page.goto(f"{carried.address}/pocket#count/ewes")
    keep(page, head="9")
    assert page.query_selector("p.quiet") is None


def test_newer_kinds_and_versions_are_kept_and_the_rest_is_not_held_up(
    phone: Phone, carried: Carried, own_farm: Path
) -> None:
    page = phone.open(f"{carried.address}/pocket#move/heifers/1")
    keep(page)
    page.evaluate(
        """async () => {
          const at = (name) => import(new URL(name, document.querySelector('script[type=module]').src));
          const [store, ids] = [await at('store.js'), await at('ids.js')];
          const { event } = (await store.entries())[0];
          const made = (more) => store.keep({ ...event, id: ids.newId(Date.now()), ...more }, Date.now());
          await made({ kind: 'milked', version: 1, value: { litres: 3 } });
          await made({ kind: 'moved', version: 9, value: { place: { paddock: '2' } } });
          await made({ value: { to: '' } });
          await made({ who: 'partner' });
        }"""
    )
    with Server(own_farm, port=carried.port):
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_selector("text=Not taken by the farm: 2", timeout=PATIENCE_MS)
        with Record.open(own_farm) as record:
            made = record.events()[-3:]
        assert [isinstance(event.body, Unknown) for event in made] == [False, True, True]
        page.click("a[href='#list'] >> nth=0")
        page.wait_for_selector("li[data-state=refused]")
        refused = page.inner_text(".entries")
        assert "It cannot be read: to." in refused
        assert "It was written as partner" in refused


def test_a_saved_file_is_joined_and_the_phone_then_finds_its_entries_kept(
    phone: Phone, carried: Carried, own_farm: Path, tmp_path: Path
) -> None:
    page = phone.open(f"{carried.address}/pocket#move/heifers/1")
    keep(page)
    page.goto(f"{carried.address}/pocket#list")
    page.wait_for_selector("text=Save unsent as a file")
    text = page.evaluate(
        """async () => {
          const made = [];
          const own = URL.createObjectURL;
          URL.createObjectURL = (blob) => { made.push(blob); return own.call(URL, blob); };
          document.querySelector('.acts > button').click();
          return made[0].text();
        }"""
    )
    saved = tmp_path / "unsent.jsonl"
    saved.write_text(text)
    result = CliRunner().invoke(app, ["join", str(saved), "--farm", str(own_farm), "--now", NOW.isoformat()])
    assert result.exit_code == 0, result.output
    with Record.open(own_farm) as record:
        before = record.events()
        assert before[-1].id == json.loads(text)["id"]
    with Server(own_farm, port=carried.port):
        home(page)
    with Record.open(own_farm) as record:
        assert record.events() == before


@pytest.mark.parametrize("version", [1, 2])
def test_an_old_page_and_a_newer_server_lose_nothing(
    phone: Phone, carried: Carried, own_farm: Path, monkeypatch: pytest.MonkeyPatch, version: int
) -> None:
    """The server sends a table of another form, and a service worker of another edition."""
    page = phone.open(f"{carried.address}/pocket#move/heifers/1")
    keep(page)
    monkeypatch.setattr("browseline.chain.pocket.page.TABLE", version)
    monkeypatch.setattr("browseline.web.pocket_files.edition", lambda: "another")
    with Server(own_farm, port=carried.port):
        home(page)
        if version == 2:
            page.wait_for_selector("text=another version", timeout=PATIENCE_MS)
        assert page.query_selector("section.mob") is not None
        page.evaluate("navigator.serviceWorker.getRegistration().then((found) => found.update())")
        _until_cached(page, "another")
    page.reload()
    page.wait_for_selector("section.mob")
    page.goto(f"{carried.address}/pocket#list")
    page.wait_for_selector("li[data-state=kept]")


def _until_cached(page: Page, edition: str) -> None:
    begun = time.monotonic()
    while not any(name.endswith(f" {edition}") for name in page.evaluate("caches.keys()")):
        assert time.monotonic() - begun < 20
        time.sleep(0.1)


def test_a_store_that_a_newer_page_made_still_opens(phone: Phone, carried: Carried) -> None:
    page = phone.open(f"{carried.address}/pocket#move/heifers/1")
    keep(page)
    page.goto(f"{carried.address}/pocket#list")
    page.evaluate(
        """async () => {
          const [{ name, version }] = await indexedDB.databases();
          await new Promise((done, failed) => {
            const asked = indexedDB.open(name, version + 5);
            asked.onupgradeneeded = () => asked.result.createObjectStore('later');
            asked.onsuccess = () => { asked.result.close(); done(); };
            asked.onerror = failed;
          });
        }"""
    )
    page.reload()
    page.wait_for_selector("li[data-state=unsent]")
