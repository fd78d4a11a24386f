"""The page People: who is in, a way in for one more, and the end of one, through the pages themselves."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.web_farm import PAIRED, Served, pair, small_farm, token


@pytest.fixture
def house(tmp_path: Path) -> Served:
    return Served(small_farm(tmp_path / "farm"), PAIRED)


def invite(client: TestClient, **fields: str) -> Any:
    return client.post("/people/invite", data={"csrf": token(client, "/people"), **fields})


def test_the_owner_lets_somebody_in_and_ends_it(house: Served) -> None:
    owner = house.paired("owner")
    found = invite(owner, role="adviser", who="Team A", money="1", days="30")
    assert found.status_code == 200
    code = re.search(r"Code: ([A-Z2-9]{4}-[A-Z2-9]{4})", found.text)
    assert code is not None
    assert f"https://farm.local/pair?code={code[1]}" in found.text
    assert "<svg" in found.text
    page = owner.get("/people").text
    assert "Team A" in page
    assert "money" in page
    adviser = house.outside(("192.168.8.1", 1))
    assert pair(adviser, code[1]).status_code == 303
    (device,) = (one for one in house.app.state.register.devices() if one.person.role == "adviser")
    assert device.person.shares == {"money"}
    assert round((device.ends - device.made) / 86_400) == 30
    assert adviser.get("/season").status_code == 200
    sent = {"csrf": token(owner, "/people"), "id": device.id}
    assert owner.post("/people/revoke", data=sent).status_code == 303
    assert adviser.get("/season").status_code == 401


def test_a_link_is_shown_among_the_open_ones_and_can_be_taken_back(house: Served) -> None:
    owner = house.paired("owner")
    found = invite(owner, role="relief", link="1", money="1")
    assert found.status_code == 200
    (open_one,) = house.app.state.register.invitations()
    assert open_one.shares == frozenset()
    assert open_one.ends - open_one.made == 7 * 86_400
    sent = {"csrf": token(owner, "/people"), "id": open_one.id}
    owner.post("/people/revoke", data=sent)
    assert house.app.state.register.invitations() == ()


@pytest.mark.parametrize(
    "fields", [{"role": "king"}, {}, {"role": "relief", "days": "soon"}, {"role": "relief", "days": "-1"}]
)
def test_what_is_no_invitation_makes_none(house: Served, fields: dict[str, str]) -> None:
    owner = house.paired("owner")
    assert invite(owner, **fields).status_code == 422
    assert house.app.state.register.invitations() == ()


def test_nobody_but_the_owner_lets_anybody_in(house: Served) -> None:
    for role in ("partner", "relief", "adviser", "class"):
        client = house.paired(role)
        sent = {"csrf": token(client, "/today"), "role": "owner"}
        assert client.post("/people/invite", data=sent).status_code == 403
        assert client.get("/people").status_code == 403
    assert house.app.state.register.invitations() == ()


def test_the_page_says_when_nobody_else_can_come(tmp_path: Path) -> None:
    served = Served(small_farm(tmp_path / "farm"))
    assert "serve --lan" in served.here().get("/people").text
