"""``season`` on the command line: costs by part, and what each rule is worth."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.unit.cli_farm import SmallFarm, small_farm

QUICK = ("--days", "15", "--iterations", "100")


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    made = small_farm(tmp_path / "farm")
    for paddock, inches in (("4", 9), ("6", 7), ("7", 8), ("8", 9)):
        made.run("walk", paddock, f"{inches} in")
    return made


def test_costs_stand_part_by_part_before_the_whole(farm: SmallFarm) -> None:
    shown = farm.run("season", *QUICK)
    assert shown.code == 0
    told = " ".join(shown.all.split())
    assert " USD" in told.split("In all")[0]
    assert "These prices are guesses until you type your own under [prices]" in told
    assert told.index("In all") < told.index("These prices")


def test_what_if_begins_from_a_plan_made_now_and_keeps_nothing(farm: SmallFarm) -> None:
    told = " ".join(farm.run("season", *QUICK, "--what-if").all.split())
    for words in (
        "Never move animals on a Sunday",
        "One more paddock",
        "Ewes: ",
        "Luck alone moves the plan by",
    ):
        assert words in told
    assert "No plan is in force" in " ".join(farm.run("why", "what-if").all.split())


def test_what_if_as_json_carries_every_difference_with_its_key(farm: SmallFarm) -> None:
    made = json.loads(farm.run("season", *QUICK, "--what-if", "--json").out)
    assert made["schema"] == "browseline/what-if/1"
    worth = [figure for figure in made["figures"] if figure["name"] == "plan_worth"]
    assert len(worth) >= 3
    assert all(figure["key"].startswith("what-if.") for figure in worth)
    assert all(figure["unit"] == "USD" for figure in worth)
