"""s11, s23: losses, replacements, guards and picks by row, with cultivar and rootstock, by real commands."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline.events import Guarded, Looked, Lost, Picked
from browseline.farm.read import read
from browseline.farm.records import TreeRow
from browseline.farm.text import text_of
from tests.unit.cli_farm import FARM, SmallFarm, small_farm

ROWS = """trees = 109
rootstock = "seedling"

[[plantings.rows]]
id = "west"
name = "West row"
trees = 60
cultivar = "Early"
planted = 2020

[[plantings.rows]]
name = "East row"
trees = 49
cultivar = "Late"
rootstock = "own roots"

[[hay]]
"""
TYPED = FARM.replace("trees = 109\n\n[[hay]]\n", ROWS)


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    return small_farm(tmp_path / "farm", TYPED)


def table(farm: SmallFarm) -> dict[str, str]:
    """Return the lines of the losses page by how they begin."""
    done = farm.run("why", "losses")
    assert done.code == 0, done.all
    lines = [" ".join(line.split()) for line in done.out.splitlines()]
    return {name: line for name in ("Hazel block", "- West row", "- East row")
            for line in lines if line.startswith(name)}  # fmt: skip


def test_rows_are_read_and_written_back_the_same(farm: SmallFarm) -> None:
    found = read(farm.folder).farm
    assert found is not None
    assert found.plantings[0].rootstock == "seedling"
    assert found.plantings[0].rows == (
        TreeRow("west", "West row", 60, "Early", None, 2020),
        TreeRow("east-row", "East row", 49, "Late", "own roots", None),
    )
    assert read(farm.folder, text=text_of(found)).farm == found


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (('name = "East row"', 'id = "west"'), "farm.double_id"),
        (('name = "East row"\n', ""), "farm.no_name"),
        (("trees = 49", "trees = 50"), "farm.impossible"),
        (("trees = 49", 'trees = "many"'), "farm.sort"),
        (('cultivar = "Late"', 'cultivr = "Late"'), "farm.unknown_key_near"),
    ],
)
def test_what_is_wrong_with_a_row_is_told_once(tmp_path: Path, change: tuple[str, str], code: str) -> None:
    assert change[0] in TYPED
    found = small_farm(tmp_path / "farm", TYPED.replace(*change))
    assert [f.code for f in read(found.folder).findings if f.level == "error"] == [code]


@pytest.mark.parametrize(
    "words",
    [("lost", "hazel/west", "3", "voles"), ("lost", "hazel", "3", "voles", "--row", "West row"),
     ("lost", "Hazel block/west row", "3", "voles"), ("lost", "hazel", "3", "voles", "--row", "hazel/west")],
)  # fmt: skip
def test_a_row_may_be_said_in_every_way(farm: SmallFarm, words: tuple[str, ...]) -> None:
    assert farm.run(*words).code == 0
    assert farm.last().body == Lost(3, "voles", "west")
    assert farm.last().subject == "hazel"


def test_losses_and_replacements_are_told_by_row_and_cause(farm: SmallFarm) -> None:
    for words in (("lost", "hazel/west", "3", "voles"), ("lost", "hazel/west", "2", "frost"),
                  ("lost", "hazel/east-row", "4", "frost"), ("plant", "hazel/west", "4")):  # fmt: skip
        assert farm.run(*words).code == 0
    assert table(farm) == {
        "Hazel block": "Hazel block 109 6 frost; 3 voles 4 104",
        "- West row": "- West row (Early, seedling) 60 2 frost; 3 voles 4 59",
        "- East row": "- East row (Late, own roots) 49 4 frost 0 45",
    }
    assert "without their row" not in farm.run("why", "losses").all


def test_losses_without_a_row_are_not_laid_on_one(farm: SmallFarm) -> None:
    assert farm.run("lost", "hazel", "5", "frost").code == 0
    assert table(farm)["- West row"].endswith("60 0 0 60")
    assert "Hazel block: 5 of the trees lost were entered without their row" in farm.run("why", "losses").all


def test_an_undone_loss_is_no_loss_of_its_row(farm: SmallFarm) -> None:
    farm.run("lost", "hazel/west", "3", "voles")
    assert farm.run("undo").code == 0
    assert table(farm)["- West row"].endswith("60 0 0 60")


def test_guards_looks_and_picks_keep_their_row(farm: SmallFarm) -> None:
    assert farm.run("guard", "hazel/west", "60", "tube").code == 0
    assert farm.last().body == Guarded(60, "tube", "west")
    assert farm.run("pick", "hazel", "40 lb", "--row", "east-row").code == 0
    body = farm.last().body
    assert isinstance(body, Picked)
    assert body.row == "east-row"
    look = farm.run("look", "trees", "7", "--seen", "20", "--bitten", "1", "--row", "west")
    assert look.code == 0, look.all
    body = farm.last().body
    assert isinstance(body, Looked)
    assert (body.planting, body.row) == ("hazel", "west")


# ---------------------------------------------------------------- yield by row


def picked(farm: SmallFarm, *entries: tuple[str, str, str], when: str = "2026-09-02 09:00") -> str:
    """Enter picks (where, weight, picker) and return the page of yields."""
    for where, weight, picker in entries:
        done = farm.run("pick", where, weight, "--picker", picker, "--at", when, now="2026-09-03T07:30-04:00")
        assert done.code == 0, done.all
    return farm.run("why", "yield", now="2026-09-03T07:30-04:00").all


def test_yield_is_counted_by_row_and_by_cultivar(farm: SmallFarm) -> None:
    """60 and 49 trees: 120 / 60 = 2 lb and 49 / 49 = 1 lb a tree."""
    page = picked(farm, ("hazel/west", "80 lb", "crew"), ("hazel/west", "40 lb", "crew"),
                  ("hazel/east-row", "49 lb", "owner"))  # fmt: skip
    assert "Hazel block, West row, 2026: 120 lb picked, 2 lb a tree alive now." in page
    assert "Hazel block, East row, 2026: 49 lb picked, 1 lb a tree alive now." in page
    assert "Early, 2026: 120 lb from Hazel block, West row." in page
    assert "Late, 2026: 49 lb from Hazel block, East row." in page


def test_trees_lost_from_a_row_count_for_its_yield_a_tree(farm: SmallFarm) -> None:
    assert farm.run("lost", "hazel/west", "20", "frost").code == 0
    assert "West row, 2026: 80 lb picked, 2 lb a tree" in picked(farm, ("hazel/west", "80 lb", "crew"))


def test_what_was_picked_without_a_row_is_laid_on_none(farm: SmallFarm) -> None:
    page = picked(farm, ("hazel/west", "60 lb", "crew"), ("hazel", "500 lb", "crew"))
    assert "West row, 2026: 60 lb picked, 1 lb a tree" in page
    assert "Hazel block, 2026: 500 lb more was entered without its row, so the rows lack it." in page


def test_the_log_names_picker_weight_and_last_grazing_of_every_row(farm: SmallFarm) -> None:
    """The ewes go to 7 on 10 May and leave it on 13 May: 112 days to 2 September."""
    assert "Nothing is entered as picked." in farm.run("why", "yield").all
    for when, to in (("2026-05-10 08:00", "7"), ("2026-05-13 08:00", "6")):
        done = farm.run("move", "ewes", "to", to, "--at", when, "--yes", now="2026-05-14T07:30-04:00")
        assert done.code == 0, done.all
    page = picked(farm, ("hazel/west", "80 lb", "crew"), ("hazel/east-row", "49 lb", "owner"))
    assert "2 Sep 2026 Hazel block, West row crew 80 lb 13 May 2026 112" in page
    assert "2 Sep 2026 Hazel block, East row owner 49 lb 13 May 2026 112" in page
    assert "West row, 2026: 80 lb picked, 1.3 lb a tree alive now. Last grazed on 13 May 2026." in page


def test_an_undone_pick_is_no_yield_and_a_part_of_the_ground_grazed_counts(farm: SmallFarm) -> None:
    picked(farm, ("hazel/west", "80 lb", "crew"))
    assert farm.run("undo", now="2026-09-03T07:30-04:00").code == 0
    assert "Nothing is entered as picked." in farm.run("why", "yield", now="2026-09-03T07:30-04:00").all


def test_a_row_that_is_not_there_is_refused_with_those_that_are(farm: SmallFarm) -> None:
    before = farm.events()
    for words in (("lost", "hazel/north", "3"), ("lost", "hazel", "3", "--row", "north")):
        done = farm.run(*words)
        assert done.code == 1
        assert "west" in done.all
    assert farm.events() == before
