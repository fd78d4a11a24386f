"""A small farm behind the pages, asked without a network: by whoever sits there, or by paired devices."""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from starlette.testclient import TestClient

from browseline.web.access import Access
from browseline.web.people import Role, Share
from browseline.web.serve import build
from tests.unit.cli_farm import FARM, NOW

_ADDRESSES = itertools.count(1)
HOUSE = "farm.local"
OUTSIDE = ("192.168.1.50", 5000)
PAIRED = Access(here=False, hosts=frozenset({HOUSE}), secure=True)
PAGE = {"accept": "text/html"}


def small_farm(folder: Path, text: str = FARM) -> Path:
    """Write a farm folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return folder


@dataclass
class Served:
    """The pages of a farm folder, and browsers that ask for them."""

    folder: Path
    access: Access = field(default_factory=Access)
    now: str = NOW
    app: FastAPI = field(init=False)

    def __post_init__(self) -> None:
        now = datetime.fromisoformat(self.now)
        self.app = build(self.folder, lambda: now, self.access)

    def here(self, **options: Any) -> TestClient:
        """Return a browser on the machine itself."""
        return browser(self.app, "http://127.0.0.1", ("127.0.0.1", 5000), **options)

    def outside(self, client: tuple[str, int] = OUTSIDE, **options: Any) -> TestClient:
        """Return a browser elsewhere in the house, that is not paired."""
        return browser(self.app, f"https://{HOUSE}", client, **options)

    def paired(
        self, role: Role, who: str = "", shares: frozenset[Share] = frozenset(), name: str = ""
    ) -> TestClient:
        """Return a browser of a person. ``name`` is the farm's, in a folder of farms."""
        secret, _ = register_of(self.app, name).invite(role, who, shares)
        found = self.outside((f"192.168.7.{next(_ADDRESSES)}", 5000))  # codes are counted by address
        assert pair(found, secret, f"/{name}" if name else "").status_code == 303
        return found


def browser(app: FastAPI, address: str, client: tuple[str, int], **options: Any) -> TestClient:
    return TestClient(app, base_url=address, client=client, follow_redirects=False, headers=PAGE, **options)


def register_of(app: FastAPI, name: str = "") -> Any:
    """Return the people of a farm."""
    if not name:
        return app.state.register
    found = next(route for route in app.routes if getattr(route, "path", "") == f"/{name}")
    return found.app.state.register  # type: ignore[attr-defined]


def token(client: TestClient, path: str = "/today") -> str:
    """Return the token that the forms of a page send back."""
    found = re.search(r'<meta name="csrf" content="(\w*)"', client.get(path).text)
    assert found is not None
    return found[1]


def pair(client: TestClient, secret: str, base: str = "") -> Any:
    """Send a code as the form does."""
    sent = {"code": secret, "csrf": token(client, f"{base}/pair")}
    return client.post(f"{base}/pair", data=sent)


def write(client: TestClient, words: str, base: str = "", **headers: str) -> Any:
    """Write one command down as the form does."""
    sent = {"words": words, "csrf": token(client, f"{base}/today")}
    return client.post(f"{base}/typed", data=sent, headers=headers)
