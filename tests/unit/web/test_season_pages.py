"""Season and What if in the browser: costs part by part, what each rule is worth, ways to Why."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browseline.chain import look
from browseline.chain.in_force import keep_plan
from browseline.chain.season_page import season_page
from browseline.cli.demo import copy_example, example
from browseline.moves.season import plan
from browseline.web.serve import build
from tests.web_farm import PAGE

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    folder: Path = tmp_path_factory.mktemp("season") / "farm"
    copy_example(example(), folder)
    picture = look(folder, NOW)
    keep_plan(picture, plan(picture.scene, None, 300), "owner")
    app = build(folder, lambda: NOW)
    return TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))


def opened(page: str) -> list[str]:
    """Return the texts of a page that are a way to Why, marks left out."""
    found = re.findall(r'<a class="why" href="[^"]+">(.*?)</a>', page)
    return [re.sub(r"<[^>]+>", "", text) for text in found]


def test_the_season_tells_its_costs_part_by_part_with_their_ranges(client: TestClient) -> None:
    page = client.get("/season", headers=PAGE).text
    told = opened(page)
    parts = [text for text in told if re.search(r", \d+ USD", text) and not text.startswith("In all")]
    assert len(parts) >= 4
    assert sum(" to " in text for text in parts) >= 2
    (whole,) = [text for text in told if text.startswith("In all")]
    assert re.search(r"In all [\d,]+ USD \([\d,]+ USD to [\d,]+ USD\)", whole)
    assert any(text.startswith("These prices are guesses") for text in told)
    assert 'href="/what-if"' in page


def test_the_parts_of_a_cost_add_up_to_it(client: TestClient) -> None:
    made = client.get("/season", headers={"accept": "application/json"}).json()["plan"]
    parts = sum(part["parts"][0]["value"] for part in made["parts"])
    assert parts == pytest.approx(made["total"]["value"])


def test_what_if_tells_every_rule_and_opens_its_numbers(client: TestClient) -> None:
    page = client.get("/what-if", headers=PAGE).text
    for words in ("Move animals on Sun too", "One more paddock", "head fewer", "Luck alone", "is not in it"):
        assert words in page
    way = re.search(r'href="(/why/what-if\.[^"]+)"', page)
    assert way is not None
    assert client.get(way[1], headers=PAGE).status_code == 200


def test_without_a_plan_both_say_how_to_make_one(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    app = build(tmp_path / "farm", lambda: NOW)
    bare = TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))
    for name in ("season", "what-if"):
        assert "No plan is in force" in bare.get(f"/{name}", headers=PAGE).text


def test_a_plan_made_now_and_kept_costs_the_same_on_the_page(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    picture = look(tmp_path / "farm", NOW)
    made = plan(picture.scene, None, 200)
    fresh = season_page(picture, made)
    keep_plan(picture, made, "owner")
    kept = season_page(look(tmp_path / "farm", NOW))
    assert fresh.total is not None
    assert kept.total is not None
    assert kept.total.value == pytest.approx(fresh.total.value)
