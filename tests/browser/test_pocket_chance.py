"""A phone without a signal tells the last chance before days on which nobody moves animals, as Today does."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from playwright.sync_api import Playwright

from browseline.chain import look, today
from tests.browser.conftest import NOW, Server
from tests.browser.phone import Phone, carry, free_port

SHUT = """
[[promises]]
kind = "shut"
what = "Spray"
from = 2026-06-14
to = 2026-06-21
paddocks = ["7"]

[[promises]]
kind = "away"
what = "Away"
from = 2026-06-12
to = 2026-06-17
"""


def test_the_last_chance_is_told_without_a_signal(play: Playwright, own_farm: Path, tmp_path: Path) -> None:
    farm = own_farm / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8") + SHUT, encoding="utf-8")
    phone, port, found = Phone(play, tmp_path / "phone"), free_port(), []
    try:
        with Server(own_farm, port=port) as address:
            carry(phone, address)
        for days, _ in TOLD:
            phone.kill()
            phone.at = NOW + timedelta(days=days)
            page = phone.open(f"http://127.0.0.1:{port}/pocket")
            page.wait_for_selector("section.mob")
            shown = page.locator("section[data-mob=heifers] li").all_inner_texts()
            found.append(next((n, line) for n, line in enumerate(shown) if line.startswith("Promise")))
    finally:
        phone.kill()
    for (days, when), (place, line) in zip(TOLD, found, strict=True):
        assert when in line
        assert "; nobody can move animals " in line
        then = today(look(own_farm, NOW + timedelta(days=days, minutes=1)))
        lines = next(part for part in then.mobs if part.id == "heifers").lines
        (told,) = [n for n, line in enumerate(lines) if line.limit == "promise"]
        assert place == told
        assert f"{lines[told].name}: {lines[told].when}" in line
        assert lines[told].short in line


TOLD = (
    (0, "by Sun 0:00 (last chance Thu 11 Jun)"),
    (1, "by Sun 0:00 (last chance today)"),
    (2.5, "by Sun 0:00 (no chance before)"),
)
