"""Pictures of every page on a phone and on a desk, light and dark, for ``docs/screens``.

Run as ``python -m scripts.screens [NAME ...]``; without names, all pages. The farm is the example of the
package with a plan in force; entries are made through the pages' own forms.
"""

from __future__ import annotations

import io
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import uvicorn
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from browseline.chain import look
from browseline.chain.in_force import keep_plan, plan_in_force
from browseline.cli.demo import copy_example, example
from browseline.moves.season import plan
from browseline.web.serve import build

OUT = Path(__file__).parent.parent / "docs" / "screens"
SIZES = {"phone": (390, 844), "desk": (1280, 900)}
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking")
ITERATIONS = 6_000
SHADES = 12
MOST_WAIT_S = 600.0
"""For a page that is worked out while another stands in for it. [s]"""
MOST_PX = 2600
"""A longer page is cut off there."""
PAGES = {
    "today": "/today", "walk": "/walk", "walk_step": "/walk/1", "enter": "/enter",
    "move": "/enter/move?mob=heifers&to=1",
    "look_trees": "/enter/look?at=trees&paddock=2", "count": "/enter/count?mob=heifers", "shut": "/shut",
    "open": "/enter/open?paddock=11", "more": "/more", "season": "/season", "map": "/map", "ready": "/ready",
    "layout": "/layout", "canopy": "/canopy?year=20&month=6",
    "why": "/why/today.mobs.heifers.lines.grass", "relief": "/relief", "entries": "/entries",
    "record": "/record",
    "what_if": "/what-if", "decades": "/decades", "money": "/money", "try": "/try", "brief": "/brief",
    "compare": "/compare", "compare_designs": "/compare/designs",
    "store": "/store", "balance": "/balance", "carbon": "/carbon", "settings": "/settings", "start": "/start",
}  # fmt: skip


@contextmanager
def farm() -> Iterator[str]:
    """Serve a copy of the example with a plan in force, and yield its address."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "farm"
        now = copy_example(example(), folder)
        picture = look(folder, now)
        keep_plan(picture, plan(picture.scene, plan_in_force(picture), ITERATIONS), "owner")
        listening = socket.create_server(("127.0.0.1", 0))
        config = uvicorn.Config(build(folder, lambda: now), log_level="warning", lifespan="off")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        server.should_exit = True
        thread.join(10)


def chromium() -> str | None:
    """Return the browser's path."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def save(page: Page, path: Path) -> None:
    """Save a page from its top as a small picture of few shades."""
    taken = Image.open(io.BytesIO(page.screenshot(full_page=True)))
    whole = taken.crop((0, 0, taken.width, min(taken.height, MOST_PX)))
    whole.convert("RGB").quantize(SHADES).save(path, optimize=True)


def after_a_move(page: Page, address: str) -> None:
    """Enter a move as a person would, and stay on what is told after it."""
    page.goto(f"{address}/today")
    page.locator("a.act").first.click()
    page.get_by_role("button", name="Keep it").first.click()


def first_answer(page: Page, address: str) -> None:
    """Ask for the first answer as a person would."""
    page.goto(f"{address}/start")
    for label, text in (("How many head", "60"), ("Weight of one", "150"), ("Size of the paddock", "3"),
                        ("Height of the grass", "8")):  # fmt: skip
        page.get_by_label(label).fill(text)
    page.get_by_label("Which animals").select_option("sheep, ewe lactating twins")
    page.get_by_role("button", name="When?").click()


ACTED = {"first_answer": first_answer, "told": after_a_move}


def worked_out(page: Page, address: str) -> None:
    """Open a page, and wait until it is no longer one that stands in for it."""
    page.goto(address)
    page.wait_for_selector("meta[http-equiv=refresh]", state="detached")


def shoot(browser: Browser, address: str, names: list[str]) -> None:
    """Save every page in every size and scheme."""
    for size, (wide, tall) in SIZES.items():
        for scheme in SCHEMES:
            context = browser.new_context(
                viewport={"width": wide, "height": tall}, color_scheme=scheme, has_touch=size == "phone"
            )
            page = context.new_page()
            page.set_default_timeout(1000 * MOST_WAIT_S)
            for name in names:
                if name in ACTED:
                    ACTED[name](page, address)
                else:
                    worked_out(page, address + PAGES[name])
                page.wait_for_load_state("load")
                save(page, OUT / f"{name}_{size}_{scheme}.png")
                if name == "told":
                    page.get_by_role("button", name="Undo").click()
                    page.wait_for_load_state("load")
            context.close()


def main() -> None:
    """Save the pages named, or all."""
    OUT.mkdir(parents=True, exist_ok=True)
    names = sys.argv[1:] or [*PAGES, *ACTED]
    with farm() as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        shoot(browser, address, names)
        browser.close()


if __name__ == "__main__":
    main()
