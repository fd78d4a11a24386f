"""p8, nut harvest: last grazing by row, what leaves the rotation, and which nut the rule covers."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture, today
from browseline.chain.harvest import HarvestAdvice, covered
from browseline.chain.today import Today
from browseline.events import Moved
from tests.acceptance.cases import EWE, LAMBS, entry, farm_folder, mob, page, seen, walked

MILK, SUCKING = {"intake": "4.4 lb/d"}, {"intake": "1.2 lb/d"}
DROP = date(2026, 9, 25)
HAZEL = date(2026, 8, 28)
WALNUTS = {"5": DROP, "6": DROP, "7": DROP}


def nut_year(folder: Path, day: str, *events: Any, **more: Any) -> Picture:
    parts: dict[str, Any] = {
        "as_of": date(2026, 4, 20),
        "mobs": [mob(EWE | MILK, LAMBS | SUCKING, place="1", since="2026-04-20 07:00")],
        "harvest": WALNUTS | {"10": HAZEL},
    }  # fmt: skip
    farm_folder(folder, **(parts | more))
    read = (date.fromisoformat(day) - timedelta(days=1)).isoformat()
    return seen(folder, f"{day} 07:00", [*events, *walked(f"{read} 07:00", (6.0,) * 12)])


def harvest(picture: Picture) -> HarvestAdvice:
    found = today(picture).harvest
    assert found is not None
    return found


def left_out(made: Today) -> set[str]:
    return {x.paddock for x in made.ahead.left_out}


@pytest.mark.parametrize(
    ("rules", "last"), [({}, date(2026, 5, 28)), ({"harvest_interval": "90 d"}, date(2026, 6, 27))]
)
def test_p8_last_grazing(tmp_path: Path, rules: dict[str, str], last: date) -> None:
    rows = harvest(nut_year(tmp_path, (last - timedelta(days=7)).isoformat(), rules=rules)).rows
    walnut = [row for row in rows if row.species.startswith("walnut")]
    assert {row.paddock for row in walnut} == {"5", "6", "7"}
    assert {row.last_grazing for row in walnut} == {last}


def test_p8_ground_leaves_the_rotation_that_day(tmp_path: Path) -> None:
    eve, day = (today(nut_year(tmp_path / d, d)) for d in ("2026-05-27", "2026-05-28"))
    assert {"5", "6", "7"}.isdisjoint(left_out(eve))
    assert {"5", "6", "7"} <= left_out(day)
    before, after = eve.ahead.grass.value, day.ahead.grass.value
    assert before is not None
    assert after is not None
    assert after < before
    assert eve.harvest is not None
    closing = next(c for c in eve.harvest.closings if c.day == date(2026, 5, 28))
    assert closing.share.value == pytest.approx(6 / 34, rel=0.01)
    assert "6 ac of 34 ac (17.6 %)" in page(eve)


@pytest.mark.parametrize(("ahead", "warns"), [(14, True), (10, False), (7, True), (3, True), (2, False)])
def test_p8_warnings(tmp_path: Path, ahead: int, warns: bool) -> None:
    day = date(2026, 5, 28) - timedelta(days=ahead)
    made = today(nut_year(tmp_path, day.isoformat(), harvest=WALNUTS))
    assert bool(made.warnings) is warns
    if warns:
        assert all(f"{ahead} days to its last grazing, 28 May" in words for words in made.warnings)


def test_p8_hazel_follows_its_own_harvest(tmp_path: Path) -> None:
    rows = harvest(nut_year(tmp_path, "2026-04-21")).rows
    hazel = next(row for row in rows if row.paddock == "10")
    assert hazel.last_grazing == HAZEL - timedelta(days=120)
    made = today(nut_year(tmp_path / "may", (HAZEL - timedelta(days=119)).isoformat()))
    assert left_out(made) == {"10"}


def test_p8_log_holds_the_last_grazing_of_each_row(tmp_path: Path) -> None:
    moves = [
        entry("2026-05-10 08:00", "ewes", Moved("5")),
        entry("2026-05-13 08:00", "ewes", Moved("6")),
        entry("2026-05-16 08:00", "ewes", Moved("9")),
    ]
    found = harvest(nut_year(tmp_path, "2026-05-20", *moves, harvest=WALNUTS))
    assert {row.paddock: row.last_grazed for row in found.rows} == {
        "5": date(2026, 5, 13), "6": date(2026, 5, 16), "7": None,
    }  # fmt: skip
    told = page(found)
    assert "last grazed 13 May" in told
    assert "no grazing on record" in told


def test_p8_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    told = page(today(nut_year(tmp_path, "2026-05-21")))
    for words in (
        "organic raw-manure rule, used as guidance for grazing", "walnuts",
        "hazelnuts and pecans are on the exempt list",
        "21 CFR 112.2(a)(1)", "The buyer or certifier decides",
        "ask the buyer or certifier about dropped produce",
        "Mow first", "hull and dry within a day (common practice)", "once hulls and mouldy nuts are cleared",
        "Acorns fall at", "look before stock go beside it",
    ):  # fmt: skip
        assert words in told


def test_p8_between_last_grazing_and_harvest_the_page_is_short(tmp_path: Path) -> None:
    summer = harvest(nut_year(tmp_path / "summer", "2026-07-01", harvest=WALNUTS))
    assert any("closed since 28 May" in words for words in summer.sentences)
    assert not any("Mow first" in words for words in summer.sentences)
    for day in ("2026-08-20", "2026-09-30"):
        near = harvest(nut_year(tmp_path / day, day, harvest=WALNUTS))
        assert any("Mow first" in words for words in near.sentences)
        assert any("hulls and mouldy nuts" in words for words in near.sentences)


def test_p8_trap_shade_of_a_heat_wave(tmp_path: Path) -> None:
    """In July the tallest grass stands in 5-7: they are still not offered, by no page."""
    heights = dict.fromkeys(range(1, 13), 5.0) | {5: 9.0, 6: 9.0, 7: 9.0}
    picture = nut_year(tmp_path, "2026-07-15", *walked("2026-07-14 08:00", heights))
    made = today(picture)
    place = made.mobs[0].next
    assert place is not None
    assert place.paddock not in {"5", "6", "7"}
    assert {"5", "6", "7"} <= left_out(made)
    open_year = today(
        nut_year(tmp_path / "open", "2026-07-15", *walked("2026-07-14 08:00", heights), harvest={})
    )
    assert {"5", "6", "7"}.isdisjoint(left_out(open_year))


def test_p8_trap_one_nut_for_another(tmp_path: Path) -> None:
    """Hazel and pecan are exempt, walnut and chestnut are not, and a crop that was not read is not known."""
    found = {
        s: covered(s) for s in ("walnut_english", "walnut_black", "chestnut_hybrid", "hazel_hybrid", "pecan")
    }
    assert {s: f.value if f else None for s, f in found.items()} == {
        "walnut_english": 1, "walnut_black": 1, "chestnut_hybrid": 1, "hazel_hybrid": 0, "pecan": 0,
    }  # fmt: skip
    assert covered("hickory_shagbark") is None
    source = found["walnut_english"]
    assert source is not None
    assert source.origins[0].locator == "112.2(a)(1)"
    assert "One nut exempt does not exempt another." in page(harvest(nut_year(tmp_path, "2026-05-21")))
