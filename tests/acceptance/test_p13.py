"""p13, the carbon buyer wants evidence: what the oaks hold, how wrong it may be, what is not claimed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.events import Event, Sampled, TreeMeasured
from browseline.ledger.carbon import CarbonBook, carbon_book
from browseline.ledger.tree_carbon import Change, TreeStock
from tests.acceptance.cases import EWE, LAMBS, entry, farm_folder, mob, quantity, seen

STEMS_IN = (
    4.8,
    5.1,
    5.5,
    5.9,
    6.2,
    4.4,
    5.0,
    5.7,
    6.0,
    6.6,
    3.9,
    5.3,
    5.6,
    6.1,
    4.6,
    5.2,
    5.8,
    6.4,
    4.1,
    5.4,
)
RAMS = {"kind": "sheep", "class": "rams", "head": 2}
CARBON = {
    "edition": "2019", "region": "North America", "metric": "AR6, 100 yr", "tree_set": "chojnacky2014",
    "root_share": "ipcc2006_v4_ch04, other broadleaf, AGB <75", "carbon_share": "temperate broadleaf",
}  # fmt: skip


def measured(inches: float, day: str = "2026-09-01") -> Event:
    return entry(f"{day} 09:00", "oaks", TreeMeasured(dbh=quantity(f"{inches} in", "length")))


def cores(day: str, text: str) -> Event:
    return entry(f"{day} 10:00", "11", Sampled(text, quantity("12 in", "length")))


def oaks(folder: Path, *more: Event, **typed: Any) -> Picture:
    lines = [EWE | {"intake": "2.6 lb/d"}, RAMS | {"intake": "3.0 lb/d"}, LAMBS | {"intake": "2.4 lb/d"}]
    farm_folder(folder, as_of=date(2026, 1, 1), mobs=[mob(*lines)], carbon=CARBON | typed)
    events = [measured(inches) for inches in STEMS_IN] + [cores("2026-09-02", "8 cores: 51.2 t C/ha"), *more]
    return seen(folder, "2026-10-01 06:00", events)


def book(picture: Picture) -> CarbonBook:
    return carbon_book(picture.scene, picture.events)


def stock(picture: Picture) -> TreeStock:
    (only,) = book(picture).stocks
    return only


def near(value: float | None, expected: float) -> bool:
    return value == pytest.approx(expected, rel=0.005)


def test_p13_the_oaks(tmp_path: Path) -> None:
    found = stock(oaks(tmp_path))
    assert (found.stems.trees, len(found.stems.dbh_cm)) == (294, 20)
    assert near(found.mean.value, 77.0)
    assert found.error.value == pytest.approx(5.4, abs=0.05)
    assert near(found.whole.value, 58.2)
    assert found.ends is not None
    assert near(found.ends[0].value, 51.2)
    assert near(found.ends[1].value, 65.2)
    assert near(found.above.value, 39.9)
    assert 100 * (found.by_mean_stem.value or 0) == pytest.approx(3.1, abs=0.05)
    assert found.a_year is not None
    assert near(found.a_year.value, 4.85)
    assert found.scatter is not None
    assert found.scatter.value == pytest.approx(0.24, abs=0.005)


def moved(picture: Picture) -> dict[str, Change]:
    ((_, found),) = book(picture).changes
    return {change.case: change for change in found}


@pytest.mark.parametrize(
    ("case", "kilograms", "tonnes", "percent"),
    [
        ("jenkins2003, hard maple/oak/hickory/beech", 80.1, 60.6, 4),
        ("jenkins2003, mixed hardwood", 57.2, 43.2, -26),
        ("chojnacky2014, Fabaceae/Juglandaceae, other", 65.2, 49.2, -15),
        ("coarse roots of the tree", 77.0, 47.6, -18),
    ],
)
def test_p13_what_moves_it(tmp_path: Path, case: str, kilograms: float, tonnes: float, percent: int) -> None:
    found = moved(oaks(tmp_path))[case]
    assert near(found.mean.value, kilograms)
    assert near(found.whole.value, tonnes)
    assert round(100 * (found.share.value or 0)) == percent


def test_p13_the_flock(tmp_path: Path) -> None:
    (sheep,) = book(oaks(tmp_path)).flocks
    assert sheep.head.value == 62
    by_metric = dict(sheep.by_metric)
    assert near(by_metric["AR6, 100 yr"].value, 15.1)
    assert near(by_metric["AR6, 20 yr"].value, 62 * 9 * 79.7 / 1000)
    assert near(by_metric["AR5, 100 yr"].value, 62 * 9 * 28 / 1000)
    assert sheep.young_head is not None
    assert sheep.young_head.value == 96


def test_p13_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    page = "\n".join(PAGES["carbon"](oaks(tmp_path)).sentences)
    for words in (
        "58.2 t CO2", "90 %, t, sampling only: 51.2 to 65.2", "agree inside the sampling range",
        "outweigh the sampling", "shared by all trees and is not in the range", "scatters by 0.24",
        "not a forward rate", "Soil: no claim", "unreliable even where it is sampled densely", "are extra",
        "map and photos", "planting receipts with their dates", "the equation", "record of management",
        "Who owns the trees", "cost was shared", "could undo it", "not crediting advice and not legal advice",
        "nothing is taken off anything", "AR6, 100 yr",
    ):  # fmt: skip
        assert words in page, words
    for word in ("net negative", "neutral", "offset"):
        assert word not in page.casefold()


def test_p13_names_owner_and_what_was_paid(tmp_path: Path) -> None:
    picture = oaks(tmp_path, tree_owner="the farm", already_paid="half of the planting, 2014")
    page = "\n".join(PAGES["carbon"](picture).sentences)
    assert "The trees belong to the farm." in page
    assert "Already paid for: half of the planting, 2014." in page


def test_p13_trap_netting(tmp_path: Path) -> None:
    """No figure of the page is the trees less the flock, in any year."""
    found = book(oaks(tmp_path))
    trees, flock = found.stocks[0].whole.value, dict(found.flocks[0].by_metric)["AR6, 100 yr"].value
    assert trees is not None
    assert flock is not None
    page = PAGES["carbon"](oaks(tmp_path / "again"))
    said = "\n".join([*page.sentences, *(" ".join(row) for row in page.rows)])
    assert f"{trees - flock:.1f}" not in said
    assert {line.gas.gas for year in found.years for line in year.lines} == {"CH4", "N2O"}


def test_p13_trap_other_trees_taken_for_the_oaks(tmp_path: Path) -> None:
    found = stock(oaks(tmp_path))
    assert found.equation == "Fagaceae deciduous"
    assert found.stems.trees == 294
    page = "\n".join(PAGES["carbon"](oaks(tmp_path / "again")).sentences)
    assert "No stems are measured in Walnuts in 5" in page


def test_p13_trap_no_price_is_made(tmp_path: Path) -> None:
    page = PAGES["carbon"](oaks(tmp_path))
    assert "$" not in "\n".join([*page.sentences, *(" ".join(row) for row in page.rows)])


def test_no_claim_from_one_sampling_and_a_change_from_two_like_ones(tmp_path: Path) -> None:
    assert book(oaks(tmp_path / "a")).soil == ()
    (change,) = book(oaks(tmp_path / "b", cores("2026-09-20", "52.2 t C/ha"))).soil
    assert near(change.change.value, 1.0 * 3.5 * 0.40468564224 * 44 / 12)
    unlike = entry("2026-09-20 10:00", "11", Sampled("52.2 t C/ha", quantity("6 in", "length")))
    assert book(oaks(tmp_path / "c", unlike)).soil == ()
    unread = cores("2026-09-20", "3.1 % organic matter")
    assert book(oaks(tmp_path / "d", unread)).soil == ()
