"""Money in the browser: what goes wrong switched off by a form, and the pack for a lender as PDF."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from tests.acceptance.cases import EWE, farm_folder, mob
from tests.acceptance.test_p12 import MONEY
from tests.web_farm import PAIRED, Served

TYPED = MONEY | {"price_range": "20 %"}


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Served:
    folder = farm_folder(
        tmp_path_factory.mktemp("money"), as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})],
        money=TYPED,
    )  # fmt: skip
    return Served(Path(folder), PAIRED)


def test_the_worst_is_first_and_every_number_opens(served: Served) -> None:
    page = served.paired("owner").get("/money").text
    assert page.index("−$10,312") < page.index("$136,183")
    assert "/why/money." in page
    assert "one in ten below" in page
    assert page.count('type="checkbox"') == 7


def test_a_switch_works_the_page_out_again(served: Served) -> None:
    owner = served.paired("owner")
    page = owner.get("/money?off=year-4&off=dry").text
    assert "−$10,312" not in page
    assert "Switched off: a bad lambing in year 4; hay to buy in year 4." in page
    assert page.count(" checked") == 2
    made = owner.get("/money?off=frost&as=json").json()
    assert [one["id"] for one in made["switches"] if not one["on"]] == ["frost"]


def test_a_switched_number_opens_on_the_page_as_it_is_switched(served: Served) -> None:
    owner = served.paired("owner")
    ways = [
        link.replace("&amp;", "&")
        for link in re.findall(r'href="(/why/money\.[^"]+)"', owner.get("/money?off=frost").text)
    ]
    assert ways
    assert all(way.endswith("?off=frost") for way in ways)
    plain = {way.partition("?")[0] for way in ways}
    opened = {way: owner.get(f"{way}?off=frost&as=json").json()["opened"] for way in plain}
    assert all(opened.values())
    as_it_is = {way: owner.get(f"{way}?as=json") for way in plain}
    assert any(
        found.status_code != 200 or found.json()["opened"] != opened[way] for way, found in as_it_is.items()
    )
    for way in ways[:3]:
        for asked in (way, way.partition("?")[0]):
            assert served.paired("relief").get(asked).status_code in (403, 404)


def test_the_pack_comes_as_pdf_for_whom_money_is_shared_with(served: Served) -> None:
    found = served.paired("owner").get("/lender.pdf?off=frost")
    assert found.status_code == 200
    assert found.content.startswith(b"%PDF")
    assert served.paired("relief").get("/lender.pdf").status_code in (403, 404)
    assert served.paired("relief").get("/money").status_code in (403, 404)
