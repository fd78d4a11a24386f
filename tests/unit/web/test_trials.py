"""Try it, Against what? and the brief in a browser: edits by session, the farm as it was, who may see."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from tests.acceptance.test_s08 import written
from tests.web_farm import PAGE, Served

NOW = "2026-05-06T07:00:00-04:00"


@pytest.fixture(scope="module", name="served")
def _served(tmp_path_factory: pytest.TempPathFactory) -> Served:
    folder = written(tmp_path_factory.mktemp("tried") / "farm")
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    (folder / "farm.toml").write_text(text + "\n[decades]\nyears = 3\n", encoding="utf-8")
    served = Served(folder, now=NOW)
    served.here().get("/today")
    return served


def hashes(folder: Path) -> dict[str, str]:
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and not p.name.endswith("-shm")
    }


def csrf(text: str) -> str:
    found = re.search(r'name="csrf" content="([^"]*)"', text) or re.search(
        r'name="csrf" value="([^"]*)"', text
    )
    assert found is not None
    return found[1]


def get(browser: TestClient, way: str) -> Response:
    """Ask as a browser does: again, as long as the page is being worked out."""
    for _ in range(60):
        found = browser.get(way, headers=PAGE)
        if found.status_code != 202:
            return found
        assert 'http-equiv="refresh"' in found.text
    raise AssertionError(way)


def post(browser: TestClient, **fields: str) -> Response:
    token = csrf(get(browser, "/try").text)
    done = browser.post("/try", data={"csrf": token, **fields}, headers=PAGE)
    return get(browser, done.headers["location"]) if done.status_code == 303 else done


def test_edits_add_up_one_is_undone_all_are_thrown_away(served: Served) -> None:
    browser = served.here()
    before = hashes(served.folder)
    assert "Nothing is tried yet." in get(browser, "/try").text
    assert post(browser, edit="mobs.ewes.lines.0.head=70").status_code == 200
    page = post(browser, edit="paddocks.2.deeded=5 ac").text
    assert page.index("mobs.ewes.lines.0.head=70") < page.index("paddocks.2.deeded=5 ac")
    assert "308 lb/d" in page
    page = post(browser, undo="1").text
    assert "mobs.ewes.lines.0.head=70" not in page
    assert "paddocks.2.deeded=5 ac" in page
    assert "Nothing is tried yet." in post(browser, away="yes").text
    assert hashes(served.folder) == before


def test_another_session_has_its_own_edits(served: Served) -> None:
    one, other = served.here(), served.here()
    post(one, edit="mobs.ewes.lines.0.head=70")
    assert "head=70" in get(one, "/try").text
    assert "head=70" not in get(other, "/try").text


def test_a_wrong_edit_is_told_and_not_kept(served: Served) -> None:
    browser = served.here()
    wrong = post(browser, edit="nothing here")
    assert wrong.status_code == 422
    assert "neither a value to change nor an entry" in wrong.text
    assert 'value="nothing here"' in wrong.text
    assert "Nothing is tried yet." in get(browser, "/try").text


def test_typed_words_stay_data(served: Served) -> None:
    browser = served.here()
    page = post(browser, edit="mobs.ewes.name=<script>alert(1)</script>").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_the_numbers_of_a_trial_open(served: Served) -> None:
    browser = served.here()
    page = post(browser, edit="mobs.ewes.lines.0.head=70").text
    ways = re.findall(r'href="(/why/try\.[^"]+)"', page)
    assert ways
    for way in ways[:6]:
        opened = get(browser, way)
        assert opened.status_code == 200, way
    assert browser.get("/try?as=json").json()["schema"] == "browseline/try/1"


def test_the_years_ahead_are_told_when_asked(served: Served) -> None:
    browser = served.here()
    page = post(browser, edit="mobs.ewes.lines.0.head=70").text
    assert "Show the years ahead too" in page
    ahead = get(browser, "/try?ahead=true").text
    assert "Head carried, a year" in ahead


def test_the_same_land_and_the_designs(served: Served) -> None:
    browser = served.here()
    page = get(browser, "/compare")
    assert page.status_code == 200
    assert "Against the same land as plain pasture" in page.text or "no money" in page.text
    assert page.text.index("What differs from: As it is") < page.text.index("<details>")
    assert "Pasture without trees" in page.text
    way = re.findall(r'href="(/why/same-land\.[^"]+)"', page.text)[0]
    assert get(browser, way).status_code == 200
    side = get(browser, "/compare/designs")
    assert "<title>Designs side by side</title>" in side.text
    assert "All numbers of each use" not in side.text
    assert side.status_code == 200
    assert "Wide rows" in side.text
    assert "No rows" in side.text
    way = re.findall(r'href="(/why/compare\.[^"]+)"', side.text)[0]
    assert get(browser, way).status_code == 200


def test_a_folder_elsewhere_is_not_named_by_a_browser(served: Served) -> None:
    browser = served.here()
    wrong = get(browser, "/compare/designs?design=here&design=/etc")
    assert wrong.status_code == 422
    alone = get(browser, "/compare/designs?design=here")
    assert alone.status_code == 422
    assert "Open this page without a choice" in alone.text
    assert "browseline compare" not in alone.text


def test_the_brief_and_its_paper(served: Served) -> None:
    browser = served.here()
    page = get(browser, "/brief")
    assert page.status_code == 200
    assert "Crowns, year 12" in page.text
    way = re.findall(r'href="(/why/brief\.[^"]+)"', page.text)[0]
    assert get(browser, way).status_code == 200
    paper = browser.get("/brief.pdf")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")


def test_relief_sees_nothing_of_it(served: Served) -> None:
    relief = Served(served.folder, now=NOW).here()
    assert get(relief, "/try").status_code == 200
    from browseline.web.people import Person
    from browseline.web.sight import may_ask

    person = Person("relief", "relief", frozenset(), False)
    for method, path in (("GET", "/try"), ("POST", "/try"), ("GET", "/compare"), ("GET", "/compare/designs"),
                         ("GET", "/brief"), ("GET", "/brief.pdf"), ("GET", "/why/try.x")):  # fmt: skip
        assert not may_ask(person, method, path), path
    adviser = Person("adviser", "adviser", frozenset({"money"}), False)
    assert may_ask(adviser, "GET", "/compare")
    assert not may_ask(Person("adviser", "adviser", frozenset(), False), "GET", "/compare")
