"""A phone: Chromium with a profile on the disk, that can be killed as a phone's system kills a page."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, Playwright

from tests.browser.conftest import FLAGS, NOW, PATIENCE_MS, chromium

CLOCK = """
(() => {
  const off = %d - Date.now(), Real = Date;
  const Moved = class extends Real {
    constructor(...parts) { parts.length ? super(...parts) : super(Real.now() + off); }
    static now() { return Real.now() + off; }
  };
  globalThis.Date = Moved;
})();
"""
"""Puts a page's clock to an instant, from which it runs on."""


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])


@dataclass
class Phone:
    """One browser process on one profile.

    ``at`` is what its clock says when a page opens; with ``past_warnings`` somebody presses "go on all the
    same" where the browser warns of a certificate.
    """

    play: Playwright
    profile: Path
    at: datetime = NOW
    flags: tuple[str, ...] = ()
    past_warnings: bool = False
    process: subprocess.Popen[bytes] | None = None
    browser: Browser | None = None
    page: Page = field(init=False)

    def open(self, address: str, *, ready: str = "html[data-ready]") -> Page:
        """Start the browser where it is not running, and open a page."""
        if self.process is None:
            self._start()
        assert self.browser is not None
        context = self.browser.contexts[0]
        self.page = context.pages[0] if context.pages else context.new_page()
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.set_viewport_size({"width": 390, "height": 844})
        if self.past_warnings:
            session = context.new_cdp_session(self.page)
            session.send("Security.enable")
            session.send("Security.setIgnoreCertificateErrors", {"ignore": True})
        self.page.add_init_script(CLOCK % int(self.at.timestamp() * 1000))
        self.page.goto(address)
        if ready:
            self.page.wait_for_selector(ready, state="attached")
        return self.page

    def _start(self) -> None:
        self.profile.mkdir(parents=True, exist_ok=True)
        port = free_port()
        env = {**os.environ, "TZ": "America/New_York"}
        command = [chromium(), *FLAGS, *self.flags, f"--remote-debugging-port={port}",
                   f"--user-data-dir={self.profile}", "about:blank"]  # fmt: skip
        self.process = subprocess.Popen(
            command, env=env, start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        end = time.monotonic() + PATIENCE_MS / 1000
        while True:
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/json/version", timeout=1)
                break
            except (urllib.error.URLError, OSError):
                assert time.monotonic() < end, "the browser did not start"
                time.sleep(0.05)
        self.browser = self.play.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")

    def kill(self) -> None:
        """Kill every process of the browser at once, as SIGKILL does: nothing is put away."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            for lock in self.profile.glob("Singleton*"):
                lock.unlink()
        self.process = self.browser = None

    def close(self) -> None:
        """Close the browser as somebody would; what it keeps is then on the disk."""
        if self.browser is not None and self.process is not None:
            self.browser.new_browser_cdp_session().send("Browser.close")
            self.process.wait(15)
        self.process = self.browser = None


@dataclass(frozen=True)
class Carried:
    """A phone's profile that carries the farm, and the address that it knows."""

    profile: Path
    port: int

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


LIMITS = """async () => {
  const at = (path) => import(new URL(path, document.querySelector('script[type=module]').src));
  const [store, view, lookup] = [await at('store.js'), await at('view.js'), await at('lookup.js')];
  const [carried, entries] = [await store.fact('carried'), await store.entries()];
  const farm = view.farmNow(carried, entries);
  return farm.mobs.filter((mob) => mob.at >= 0).map((mob) => {
    const read = farm.paddocks[mob.at].read;
    return [mob.id, lookup.limitsOf(carried, mob.index, mob.at, mob.arrived, read, Date.now()).map(
      (one) => [one.name, one.short, one.likely])];
  });
}"""
"""What the phone's own look-up gives: mob, then name, few words and instant of each limit."""


def carry(phone: Phone, address: str) -> Page:
    """Open the pocket with a signal, until all is kept that it needs without."""
    page = phone.open(f"{address}/pocket")
    page.wait_for_selector("section.mob", timeout=PATIENCE_MS)
    page.evaluate(
        "new Promise((done) => { const sw = navigator.serviceWorker;"
        " sw.controller ? done() : sw.addEventListener('controllerchange', () => done()); })"
    )
    return page


def home(page: Page) -> None:
    """Tell the page that there is a signal, and wait until nothing is unsent."""
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_selector("text=Nothing unsent", timeout=PATIENCE_MS)


def keep(page: Page, **fields: str) -> None:
    """Fill the form in, press Keep, and wait until the phone says that it is kept."""
    for name, text in fields.items():
        page.fill(f"[name={name}]", text)
    page.click("button.keep")
    page.wait_for_selector("p.kept")
