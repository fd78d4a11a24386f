"""Two phones of one farm, one in inches, one in centimetres: each speaks its own, the record holds both."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

from playwright.sync_api import Page, Playwright

from browseline.events import Walked
from browseline.record.store import Record
from browseline.units import parse
from tests.browser.conftest import Server
from tests.browser.phone import Carried, Phone, home, keep

UNITS = """async () => {
  const store = await import(new URL('store.js', document.querySelector('script[type=module]').src));
  const [carried, relief] = [await store.fact('carried'), await store.fact('relief')];
  return [Object.keys(carried.units_cm)[0], JSON.stringify(carried), JSON.stringify(relief)];
}"""


def told(page: Page, unit: str) -> tuple[str, str]:
    """Wait until a phone's table is told in a unit; return the table and the relief sheet."""
    begun = time.monotonic()
    while (found := page.evaluate(UNITS))[0] != unit:
        assert time.monotonic() - begun < 120, found[0]
        page.evaluate("dispatchEvent(new Event('online'))")
        time.sleep(0.5)
    return found[1], found[2]


def test_each_phone_speaks_its_own_units(
    play: Playwright, carried: Carried, own_farm: Path, tmp_path: Path
) -> None:
    inches, metric = (Phone(play, Path(shutil.copytree(carried.profile, tmp_path / n))) for n in ("in", "cm"))
    try:
        with Server(own_farm, port=carried.port) as address:
            page = metric.open(f"{address}/settings", ready="")
            page.check("input[name=units][value=hectares]")
            page.click("main form button[type=submit]")
            table, relief = told(metric.open(f"{address}/pocket"), "cm")
            ours, _ = told(inches.open(f"{address}/pocket"), "in")
        assert " cm" in table
        assert '"units":"hectares"' in relief
        assert " cm" not in ours
        assert table.count(" in,") + table.count(' in"') < ours.count(" in,") + ours.count(' in"')
        keep(inches.open(f"{carried.address}/pocket#walk/7"), height="8.5")
        keep(metric.open(f"{carried.address}/pocket#walk/2"), height="20")
        with Server(own_farm, port=carried.port):
            home(inches.page)
            home(metric.page)
    finally:
        inches.kill()
        metric.kill()
    with Record.open(own_farm) as record:
        made = [event.body for event in record.events()[-2:]]
    assert all(isinstance(body, Walked) for body in made)
    heights = {body.height for body in made if isinstance(body, Walked)}
    assert heights == {parse("8.5 in", "length"), parse("20 cm", "length")}
