"""Today says truly why it tells no limit of a mob: it is off the paddocks, or nothing sets one there."""

from __future__ import annotations

from pathlib import Path

from tests.unit.cli_farm import FARM, small_farm
from tests.web_farm import Served

HENS = """
[[mobs]]
id = "hens"
name = "Hens"
at = "4"
since = "2026-05-04 07:00"

[[mobs.lines]]
kind = "chicken"
class = "layer"
head = 150
"""


def test_a_mob_without_limits_in_a_paddock_is_not_said_to_stand_in_none(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm", FARM + HENS)
    said = "No limit is known for these animals in Cherry. Go by what you see."
    assert said in farm.run("today").all
    assert "stands in no paddock" not in farm.run("today").all
    assert said in Served(farm.folder).here().get("/today").text


def test_a_mob_in_the_yard_stands_in_no_paddock(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    assert farm.run("move", "ewes", "yard").code == 0
    assert "No limit can be told: it stands in no paddock of the map." in farm.run("today").all
