"""How soon Today stands on a slow phone without a signal: run by hand, or by asv.

``python -m benchmarks.phone_start`` prints a line for every start and the middle ones. The phone is a browser
whose processor is slowed four times; what the machine does besides slows it further, so the time is also
told as a multiple of the first paint of the same start.
Needs what the tests of pages need (``make .venv/browser.stamp``).
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from browseline.cli.demo import copy_example, example
from tests.browser.conftest import Server
from tests.browser.phone import Phone, carry, free_port

SLOWER = 4
TURNS = 8
PAINT = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
DRAWN = "performance.getEntriesByName('drawn')[0].startTime"


def starts(turns: int = TURNS) -> list[tuple[float, float]]:
    """Return first paint and Today of each cold start, a new browser each. [ms]"""
    found = []
    with tempfile.TemporaryDirectory() as held, sync_playwright() as play:
        farm, kept, port = Path(held) / "farm", Path(held) / "kept", free_port()
        copy_example(example(), farm)
        made = Phone(play, kept)
        with Server(farm, port=port) as address:
            carry(made, address)
            made.close()
        for turn in range(turns):
            phone = Phone(play, Path(shutil.copytree(kept, Path(held) / f"phone {turn}")))
            try:
                page = phone.open("about:blank", ready="")
                session = page.context.new_cdp_session(page)
                session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
                page.goto(f"http://127.0.0.1:{port}/today", wait_until="commit")
                page.wait_for_selector("section.mob")
                found.append((float(page.evaluate(PAINT)), float(page.evaluate(DRAWN))))
            finally:
                phone.kill()
    return found


class PhoneStart:
    """Bar: 2 s to Today."""

    timeout = 600.0

    def setup_cache(self) -> list[tuple[float, float]]:
        return starts()

    def track_today(self, found: list[tuple[float, float]]) -> float:
        return statistics.median(drawn for _, drawn in found) / 1000

    def track_against_first_paint(self, found: list[tuple[float, float]]) -> float:
        return statistics.median(drawn / paint for paint, drawn in found)


if __name__ == "__main__":
    all_starts = starts()
    for paint, drawn in all_starts:
        print(f"first paint {paint:5.0f} ms, Today {drawn:5.0f} ms, {drawn / paint:.2f} times")
    print(f"middle: {statistics.median(drawn for _, drawn in all_starts):.0f} ms")
