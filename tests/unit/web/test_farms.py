"""The front page of a folder of farms: what bites first stands first, and one bad farm hides no other."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from browseline.web import farms
from tests.unit.cli_farm import FARM, SmallFarm
from tests.web_farm import PAIRED, Served, small_farm


@pytest.fixture
def served(tmp_path: Path) -> Served:
    """Serve three farms: one that is due, one whose mob stands behind a shut gate, one that is wrong."""
    for name in ("a-due", "b-shut", "c-wrong"):
        small_farm(tmp_path / name, FARM.replace("Small Farm", f"Farm {name}"))
    SmallFarm(tmp_path / "a-due").run("walk", "6", "8 in")
    SmallFarm(tmp_path / "b-shut").run("shut", "6", "--because", "cherry limb down")
    wrong = (tmp_path / "c-wrong" / "farm.toml").read_text(encoding="utf-8")
    (tmp_path / "c-wrong" / "farm.toml").write_text(wrong.replace('"3 ac"', '"3 acr"', 1), encoding="utf-8")
    return Served(tmp_path)


def rows(served: Served) -> list[dict[str, Any]]:
    answered = served.here().get("/?as=json")
    assert answered.status_code == 200
    return list(answered.json()["farms"])


def until_seen(served: Served) -> list[dict[str, Any]]:
    end = time.monotonic() + 30
    while any(row["rank"] == farms.UNSEEN for row in rows(served)):
        assert time.monotonic() < end
        time.sleep(0.05)
    return rows(served)


def test_what_bites_first_stands_first(served: Served) -> None:
    """A mob behind a shut gate goes before a limit that lies ahead, and that before a farm to be mended."""
    found = until_seen(served)
    assert [row["folder"] for row in found] == ["b-shut", "a-due", "c-wrong"]
    assert found[0]["name"] == "Farm b-shut"
    assert "which is shut: cherry limb down" in found[0]["says"]
    today = served.here().get("/a-due/today?as=json").json()
    first = today["mobs"][0]["lines"][0]
    assert found[1]["due"] == first["likely"]
    assert first["when"] in found[1]["says"]
    assert first["name"] in found[1]["says"]
    assert "1 thing to mend" in found[2]["says"]
    assert "3 acr" in found[2]["says"]


def test_an_entry_moves_a_farm_in_the_list(served: Served) -> None:
    before = until_seen(served)
    SmallFarm(served.folder / "b-shut").run("open", "6", "--met", "cleared")
    after = until_seen(served)
    assert before[0]["folder"] == "b-shut"
    assert after[0]["folder"] == "a-due"


def test_the_page_is_drawn_as_every_other(served: Served) -> None:
    until_seen(served)
    page = served.here().get("/")
    assert page.status_code == 200
    assert 'href="/static/browseline.css"' in page.text
    assert served.here().get("/static/browseline.css").status_code == 200
    assert page.text.index("Farm b-shut") < page.text.index("Farm a-due") < page.text.index("c-wrong")


def test_who_waits_is_told_which_farms_are_still_looked_at(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With no patience at all nothing is made while the reader waits, and all of it behind."""
    monkeypatch.setattr(farms, "PATIENCE_S", 0.0)
    page = served.here().get("/").text
    assert "3 farms are still being looked at" in page
    assert [row["folder"] for row in until_seen(served)] == ["b-shut", "a-due", "c-wrong"]


def test_nobody_else_gets_the_list(served: Served) -> None:
    answered = Served(served.folder, PAIRED).outside().get("/?as=json")
    assert answered.status_code == 404
    assert "a-due" not in answered.text
