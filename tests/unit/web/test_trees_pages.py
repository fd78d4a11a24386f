"""Layout and Canopy as pages: who sees them, what a form may ask, and which numbers open."""

from __future__ import annotations

import re
from datetime import datetime

import pytest

from browseline.cli.demo import copy_example, example
from tests.web_farm import PAIRED, Served


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Served:
    folder = tmp_path_factory.mktemp("trees") / "farm"
    now: datetime = copy_example(example(), folder)
    return Served(folder, PAIRED, now.isoformat())


@pytest.mark.parametrize("path", ["/layout", "/canopy", "/canopy.png"])
def test_who_plans_sees_them_and_relief_does_not(served: Served, path: str) -> None:
    for role in ("owner", "partner", "adviser", "class"):
        assert served.paired(role).get(path).status_code == 200, role
    assert served.paired("relief").get(path).status_code == 403


def test_no_place_on_earth_is_in_them(served: Served) -> None:
    """The page's own JSON has rows and sums; the file that the command writes has the places of trees."""
    client = served.paired("adviser")
    for path in ("/layout", "/canopy"):
        page = client.get(path, headers={"accept": "application/json"}).json()
        assert "layout" not in page
        assert "longitude" not in str(page)
        assert page["rows"]


def test_a_form_says_year_and_month(served: Served) -> None:
    client = served.paired("owner")
    page = client.get("/canopy?year=20&month=6", headers={"accept": "application/json"}).json()
    assert (page["year"], page["month"]) == (2046, 6)
    later = client.get("/canopy.png?year=20&month=6")
    assert later.headers["content-type"] == "image/png"
    assert later.content != client.get("/canopy.png").content
    assert client.get("/canopy?year=&month=").text == client.get("/canopy").text


@pytest.mark.parametrize("asked", ["month=13", "month=0", "year=soon", "year=2401", "year=²", "year=-1"])
def test_what_is_no_year_or_month_is_told(served: Served, asked: str) -> None:
    found = served.paired("owner").get(f"/canopy?{asked}")
    assert found.status_code == 422
    assert "no whole number" in found.text


def test_numbers_open_where_why_tells_the_same_month(served: Served) -> None:
    """A number of another year opens that year's, not this one's."""
    client = served.paired("owner")
    assert "/why/canopy." in client.get("/canopy").text
    ways = re.findall(r'href="(/why/canopy\.trees_standing[^"]+)"', client.get("/canopy?year=20").text)
    assert ways
    assert all(way.endswith("?year=20") for way in ways)
    later = client.get(f"{ways[0]}&as=json").json()
    assert later["opened"]
    assert later["opened"] != client.get(f"{ways[0].partition('?')[0]}?as=json").json()["opened"]
