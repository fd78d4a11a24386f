"""Walk: how long ago a height was read, on the round and in each paddock."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from browseline.chain import look
from browseline.chain.walk_step import walk_round, walk_step
from tests.unit.cli_farm import NOW, small_farm
from tests.web_farm import Served


def test_a_height_was_read_today_yesterday_or_some_days_ago(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    for paddock, when in (("4", "today 7:00"), ("6", "yesterday 18:00"), ("7", "3 May 8:00")):
        assert farm.run("walk", paddock, "7 in", "--at", when, "--yes").code == 0
    picture = look(farm.folder, datetime.fromisoformat(NOW))
    ago = {row.line.paddock: row.ago for row in walk_round(picture).rows}
    assert ago == {"4": "today", "6": "yesterday", "7": "3 d ago", "8": ""}
    assert walk_step(picture, "6").row.ago == "yesterday"
    client = Served(farm.folder).here()
    assert "7 in, today" in client.get("/walk").text
    assert "7 in, yesterday" in client.get("/walk/6").text
