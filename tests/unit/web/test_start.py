"""The first answer as a page: what is hardly so is asked about once, and kept by a second button."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from browseline.web.serve import build

NOW = datetime.fromisoformat("2026-05-06T07:00-04:00")
ANSWERS = {
    "head": "60",
    "class": "sheep, ewe lactating twins",
    "area": "3",
    "height": "80",
    "zone": "America/New_York",
}


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    app = build(tmp_path, lambda: NOW)
    return TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))


def asked(client: TestClient, **more: str) -> tuple[int, str]:
    """Return the status and the page that answer the form."""
    token = client.get("/start").text.split('name="csrf" value="')[1].split('"')[0]
    got = client.post("/start", data=ANSWERS | {"csrf": token} | more)
    return got.status_code, " ".join(got.text.split())


def test_grass_taller_than_a_man_is_asked_about_and_may_be_kept(client: TestClient, tmp_path: Path) -> None:
    status, page = asked(client)
    assert status == 422
    assert "Height of the grass" in page.split("80 in? ")[0].rsplit("<strong>", 1)[1]
    assert "80 in? Grass of this kind is rarely taller than" in page
    assert '<button type="submit" name="yes" value="yes">' in page
    status, page = asked(client, yes="yes")
    assert status == 200
    assert "Worms comes first" in page
    assert '<input type="hidden" name="yes" value="yes">' in page, "who keeps the farm is not asked again"
    status, _ = asked(client, yes="yes", keep="yes")
    assert (status, (tmp_path / "farm.toml").exists()) == (200, True)


def test_what_cannot_be_has_no_second_button(client: TestClient) -> None:
    status, page = asked(client, weight="5000", height="8")
    assert status == 422
    assert "5000 lb cannot be true" in page
    assert 'name="yes"' not in page
    assert "farm.toml:" not in page
