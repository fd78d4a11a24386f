"""Decades in a browser: the chart, its tables, numbers that open, the bad decade, who may see it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from xml.etree import ElementTree as Tree

import pytest
from httpx2 import Response
from starlette.testclient import TestClient
from typer.testing import CliRunner

from browseline.chain import look
from browseline.chain.decades_page import decades_page
from browseline.cli.group import app
from browseline.papers.decades_chart import decades_svg
from browseline.web.people import Person, Role, Share
from browseline.web.sight import may_ask
from tests.acceptance.test_s08 import written
from tests.web_farm import PAGE, Served

NOW = "2026-05-06T07:00:00-04:00"
YEARS = 3
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", name="served")
def _served(tmp_path_factory: pytest.TempPathFactory) -> Served:
    folder = written(tmp_path_factory.mktemp("decades") / "farm")
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    (folder / "farm.toml").write_text(text + f"\n[decades]\nyears = {YEARS}\n", encoding="utf-8")
    kept = ["decades", "--keep", "--members", "5", "--farm", str(folder), "--now", "2026-05-05T07:00-04:00"]
    said = CliRunner().invoke(app, kept)
    assert said.exit_code == 0, said.output
    return Served(folder, now=NOW)


@pytest.fixture(scope="module", name="browser")
def _browser(served: Served) -> TestClient:
    return served.here()


def get(browser: TestClient, way: str) -> Response:
    """Ask as a browser does: again, as long as the page is being worked out."""
    for _ in range(60):
        found = browser.get(way, headers=PAGE)
        if found.status_code != 202:
            assert found.status_code == 200, (way, found.text[:300])
            return found
        assert 'http-equiv="refresh"' in found.text
    raise AssertionError(way)


def read(svg: str) -> Tree.Element:
    return Tree.fromstring(svg)  # noqa: S314 - made by the program itself


def drawings(text: str) -> list[str]:
    return re.findall(r"<svg .*?</svg>", text, re.DOTALL)


def test_the_same_record_as_page_and_json(browser: TestClient) -> None:
    told = browser.get("/decades?as=json").json()
    assert told["schema"] == "browseline/decades/1"
    text = get(browser, "/decades").text
    assert f'Measured to <span class="n">{told["measured_to"]}' in text
    assert len(told["rows"]) == YEARS + 1
    read = re.sub(r"<[^>]+>", "", text)  # numbers stand on their label's line: each in an element of its own
    for row in told["rows"]:
        assert all(cell in read for cell in row)
    for window in told["windows"]:
        assert window["title"] in text


def test_the_chart_is_black_on_white_and_asks_for_nothing(browser: TestClient) -> None:
    found = drawings(get(browser, "/decades").text)
    assert len(found) == 2
    for svg in found:
        words = "".join(read(svg).itertext())
        assert "measured to 2025, book after" in words or "measured to 2026, book after" in words
        assert "foretold in 2026" in words
        assert not re.search(r"<script|<image|<use|url\(http|style=|href=|aria-|role=", svg)
        for one in read(svg).iter():
            for ink in (one.get("fill", "none"), one.get("stroke", "none")):
                assert ink in ("none", "black", "white", "transparent") or grey(ink), ink
    assert found[0] != found[1]


def grey(ink: str) -> bool:
    """Return whether a colour has as much red as green and blue."""
    full = ink.lstrip("#")
    parts = [full[n : n + len(full) // 3] for n in range(0, len(full), len(full) // 3)]
    return ink.startswith("#") and len(set(parts)) == 1


def test_lines_are_told_by_dash_and_stand_where_the_record_has_them(browser: TestClient) -> None:
    svg = drawings(get(browser, "/decades").text)[1]
    lines = [one for one in read(svg).iter(f"{SVG}path") if one.get("stroke-width") == "2.2"]
    dashes = {one.get("stroke-dasharray", "") for one in lines}
    assert len(dashes) > 1


def test_every_number_opens_at_why(browser: TestClient) -> None:
    ways = re.findall(r'href="(/why/decades\.[^"]+)"', get(browser, "/decades").text)
    told = [way for way in ways if ".ahead_" in way]
    assert len(told) > YEARS
    for way in (told[0], told[len(told) // 2], told[-1]):
        assert "futures, and the range that holds eight in ten" in get(browser, way).text


def test_a_bad_decade_is_a_form_and_its_numbers_open_as_they_were_seen(browser: TestClient) -> None:
    whole = get(browser, "/decades").text
    assert 'name="bad" value="true">' in whole
    bad = get(browser, "/decades?bad=true").text
    assert 'name="bad" value="true" checked' in bad
    assert "A bad decade" in bad
    assert "A bad decade" not in whole
    way = re.findall(r'href="(/why/decades\.ahead_members[^"]+)"', bad)[0]
    assert get(browser, way).status_code == 200


def test_the_way_to_it_and_who_goes(browser: TestClient, served: Served) -> None:
    assert 'href="/decades"' in browser.get("/more").text
    money = frozenset[Share]({"money"})
    roles: tuple[Role, ...] = ("owner", "partner", "adviser", "class")
    for role in roles:
        assert may_ask(Person(role, "P", money, False), "GET", "/decades"), role
    for person in (Person("relief", "R", money, False), Person("adviser", "A", frozenset(), False)):
        assert not may_ask(person, "GET", "/decades")
        assert not may_ask(person, "GET", "/why/decades.ahead_light")


def test_typed_words_stay_data_in_the_chart(served: Served) -> None:
    page = decades_page(look(served.folder, datetime.fromisoformat(NOW)), YEARS, 5)
    name = '</text><script>a()</script><image href="x"/>'
    svg = decades_svg(replace(page, bands=tuple(replace(one, name=name) for one in page.bands)))
    assert "<script" not in svg
    assert "<image" not in svg
    assert "<script>a()</script>" in "".join(read(svg).itertext())
