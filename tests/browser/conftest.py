"""A real browser, a fresh profile, and the example farm behind a real server."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, ViewportSize, sync_playwright

from browseline.cli.demo import copy_example, example
from browseline.web.access import Access
from browseline.web.farm_app import LOCAL
from browseline.web.serve import build

if TYPE_CHECKING:
    from tests.browser.phone import Carried, Phone

HERE = Path(__file__).parent
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE: ViewportSize = {"width": 390, "height": 844}
DESK: ViewportSize = {"width": 1280, "height": 900}
NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
PATIENCE_MS = 120_000
"""How long a test waits for what must come; no bar of speed: a busy machine compiles while it waits. [ms]"""


@dataclass(frozen=True)
class Served:
    """A farm folder behind a server of its own."""

    folder: Path
    address: str


class Server:
    """A server in a thread, on a free port of this machine."""

    def __init__(
        self, folder: Path, now: datetime = NOW, port: int = 0, access: Access = LOCAL, **tls: Any
    ) -> None:
        self.socket = socket.create_server(("127.0.0.1", port))
        self.port = int(self.socket.getsockname()[1])
        self.app = build(folder, lambda: now, access)
        self.scheme = "https" if tls else "http"
        config = uvicorn.Config(self.app, log_level="warning", lifespan="off", **tls)
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.socket]}, daemon=True)

    def __enter__(self) -> str:
        """Start, and return the address."""
        self.thread.start()
        end = time.monotonic() + 30
        while not self.server.started:
            if time.monotonic() > end:
                raise TimeoutError
            time.sleep(0.01)
        return f"{self.scheme}://127.0.0.1:{self.port}"

    def __exit__(self, *_wrong: object) -> None:
        """Stop."""
        self.server.should_exit = True
        self.thread.join(10)
        self.socket.close()


def chromium() -> str:
    """Return the browser's path."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    assert found, "Chromium is not installed; on Debian: apt-get install chromium"
    return found


@pytest.fixture(scope="session")
def demo_farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the example farm that no test may change."""
    folder = tmp_path_factory.mktemp("demo") / "farm"
    copy_example(example(), folder)
    return folder


@pytest.fixture(scope="session")
def served(demo_farm: Path) -> Iterator[Served]:
    """Serve the example farm for tests that only read."""
    with Server(demo_farm) as address:
        yield Served(demo_farm, address)


@pytest.fixture
def own_farm(demo_farm: Path, tmp_path: Path) -> Path:
    """Return a copy of the example farm for one test to change."""
    return Path(shutil.copytree(demo_farm, tmp_path / "farm"))


@pytest.fixture
def own(own_farm: Path) -> Iterator[Served]:
    """Serve a farm of this test's own."""
    with Server(own_farm) as address:
        yield Served(own_farm, address)


@pytest.fixture(scope="session")
def play() -> Iterator[Playwright]:
    """Start what drives browsers, once."""
    with sync_playwright() as found:
        yield found


@pytest.fixture(scope="session")
def browser(play: Playwright) -> Iterator[Browser]:
    """Start the browser once."""
    found = play.chromium.launch(executable_path=chromium(), args=list(FLAGS))
    yield found
    found.close()


def profile(browser: Browser, **how: Any) -> BrowserContext:
    """Return a profile of its own that waits with patience."""
    made = browser.new_context(**how)
    made.set_default_timeout(PATIENCE_MS)
    return made


@pytest.fixture(scope="session")
def carried(play: Playwright, demo_farm: Path, tmp_path_factory: pytest.TempPathFactory) -> Carried:
    """Open the pocket once with a signal, on a profile that tests copy."""
    from tests.browser.phone import Carried, Phone, carry, free_port

    folder = tmp_path_factory.mktemp("carried")
    made, port = Phone(play, folder / "phone"), free_port()
    with Server(Path(shutil.copytree(demo_farm, folder / "farm")), port=port) as address:
        carry(made, address)
        made.close()
    return Carried(made.profile, port)


@pytest.fixture
def phone(play: Playwright, carried: Carried, tmp_path: Path) -> Iterator[Phone]:
    """Give a phone that carries the example farm and has no signal."""
    from tests.browser.phone import Phone

    made = Phone(play, Path(shutil.copytree(carried.profile, tmp_path / "phone")))
    yield made
    made.kill()


@pytest.fixture
def page390(browser: Browser) -> Iterator[Page]:
    """Open a page on a phone, with a profile of its own."""
    context = profile(browser, viewport=PHONE, has_touch=True, device_scale_factor=2)
    yield context.new_page()
    context.close()


@pytest.fixture
def page1280(browser: Browser) -> Iterator[Page]:
    """Open a page on a desk, with a profile of its own."""
    context = profile(browser, viewport=DESK)
    yield context.new_page()
    context.close()


def axe_violations(page: Page) -> list[str]:
    """Return what axe-core finds wrong on a page: rule, and the first element that breaks it."""
    # Through the debugger, past the pages' own policy, which forbids foreign scripts.
    source = (HERE / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
    page.evaluate(source + "; null")
    found = page.evaluate("async () => (await axe.run()).violations")
    return [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in found]
