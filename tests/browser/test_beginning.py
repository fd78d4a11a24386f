"""From nothing to a farm: the pages of an empty folder, the first answer, kept, and Today."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from browseline.errors import BadInput
from browseline.web.serve import build
from tests.browser.conftest import NOW, Server

ANSWERS = {"head": "60", "weight": "150", "area": "3.0", "height": "8", "name": "Stone <b>Barn</b>"}


def test_an_empty_folder_asks_answers_and_becomes_a_farm(tmp_path: Path, page390: Page) -> None:
    folder = tmp_path / "mine"
    with Server(folder, NOW) as address:
        page390.goto(f"{address}/today")
        assert page390.url == f"{address}/start"
        page390.select_option("[name=class]", "sheep, ewe lactating twins")
        page390.locator("summary").first.click()
        for name, text in ANSWERS.items():
            page390.fill(f"[name={name}]", text)
        page390.get_by_role("button", name="When?").click()
        page390.wait_for_load_state("load")
        assert "Worms comes first" in page390.inner_text("main")
        assert not folder.exists()
        page390.get_by_role("button", name="Keep it as my farm").click()
        page390.wait_for_load_state("load")
        assert (folder / "farm.toml").is_file()
        page390.get_by_role("link", name="Today", exact=True).last.click()
        page390.wait_for_load_state("load")
        assert "Stone <b>Barn</b>" in page390.inner_text("main")
        assert "Worms: by Sun" in page390.inner_text("main")
        page390.goto(f"{address}/enter/count")
        page390.locator('[name^="head:"]').fill("60")
        page390.get_by_role("button", name="Keep it").first.click()
        page390.wait_for_load_state("load")
        assert "The count adds up." in page390.inner_text("main")


def test_a_page_from_elsewhere_begins_no_farm(tmp_path: Path, page390: Page) -> None:
    folder = tmp_path / "mine"
    with Server(folder, NOW) as address:
        answer = page390.request.post(f"{address}/start", form={**ANSWERS, "keep": "yes", "csrf": "guessed"})
        assert answer.status == 403
    assert not folder.exists()


def test_where_something_lies_nothing_is_begun(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear", "utf-8")
    with pytest.raises(BadInput):
        build(tmp_path)
