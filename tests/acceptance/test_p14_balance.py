"""p14 and s5: forage against animals, to the pound; records of a period with gaps as gaps."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.chain.period import as_csv, as_text, period
from browseline.chain.season_growth import grown_of
from browseline.events import Event, Fed, Moved, Spent
from browseline.farm.records import Sward
from browseline.ledger.balance_months import months_balance
from browseline.ledger.balance_page import balance_account
from browseline.ledger.eaters import eaten
from browseline.sward.spread import month_share
from browseline.units import parse
from tests import small_farm
from tests.acceptance.cases import BALE, EWE, entry, farm_folder, lb, mob, quantity, seen, walked

FIRST, LAST = date(2026, 4, 20), date(2026, 10, 31)
STAGES = [
    {"from": FIRST, "stage": "in milk", "intake": "4.4 lb/d"},
    {"from": date(2026, 6, 19), "stage": "dry", "intake": "2.6 lb/d"},
]
LAMBS = {"kind": "sheep", "class": "lambs", "head": 96, "intake": "1.8 lb/d"}
RAMS = {"kind": "sheep", "class": "rams", "head": 2, "intake": "3.5 lb/d"}
SEASON = {"id": "season", "kind": "grazing", "what": "grazing", "from": FIRST, "to": LAST}


def year(folder: Path, *, yearly: str = "4800 lb/ac", share: str = "45 %", now: str = "2026-04-20 06:00",
         events: tuple[Event, ...] = (), lambs: tuple[date, date] = (FIRST, date(2026, 8, 18)),
         **more: Any) -> Picture:  # fmt: skip
    """Return the farm of the planner's review: yields typed, ewes in two stages, lambs for 120 days, rams."""
    flock = mob(EWE | {"stages": STAGES}, RAMS)
    young = {"id": "lambs", "name": "Lambs", "at": "yard", "lines": [LAMBS],
             "from": lambs[0], "to": lambs[1]}  # fmt: skip
    farm_folder(folder, as_of=FIRST, mobs=[flock, young], promises=[SEASON], **more)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace(
        'kind = "mixed_cool"', f'kind = "mixed_cool"\nyearly_yield = "{yearly}"\nharvest_share = "{share}"'
    )
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return seen(folder, now, events)


def told(picture: Picture, name: str = "balance") -> str:
    return "\n".join(PAGES[name](picture).sentences)


@pytest.mark.parametrize("now", ["2026-04-20 06:00", "2026-07-10 06:00", "2026-09-15 06:00"])
def test_p14_balance_to_the_pound(tmp_path: Path, now: str) -> None:
    """A season is the same whether it lies ahead or mostly behind: lambs eat on their own days alone."""
    made = months_balance(year(tmp_path, now=now).scene)
    assert (LAST - FIRST).days == 194
    by_class = {one.klass: one.need for one in made.eaters}
    needs = {klass: round(lb(need.value)) for klass, need in by_class.items() if need is not None}
    assert needs == {"ewes": 36_744, "lambs": 20_736, "rams": 1_358}
    assert made.supply is not None
    assert made.need is not None
    assert made.spare is not None
    assert [round(lb(f.value)) for f in (made.supply, made.need, made.spare)] == [73_440, 58_838, 14_602]


@pytest.mark.parametrize("comes", ["2026-04-20", "2026-06-01"])
@pytest.mark.parametrize(
    ("now", "late"), [("2026-05-02 06:00", False), ("2026-06-10 06:00", False), ("2026-07-25 06:00", True)]
)
def test_lent_animals_eat_until_they_go_home(tmp_path: Path, comes: str, now: str, late: bool) -> None:
    """Until their day, though nobody wrote down that they went; those that are late eat on."""
    line = {"kind": "goat", "class": "does", "head": 14, "intake": "3 lb/d"}
    goats = {"id": "goats", "name": "Goats", "at": "yard", "lines": [line], "owner": "the next farm",
             "from": date.fromisoformat(comes), "due": date(2026, 7, 19)}  # fmt: skip
    farm_folder(tmp_path, as_of=FIRST, mobs=[mob(EWE | {"stages": STAGES}), goats], promises=[SEASON])
    lent = {one.klass: one for one in eaten(seen(tmp_path, now, ()).scene, FIRST, LAST)}["does"]
    until = LAST if late else date(2026, 7, 19)
    assert lent.head_days.value == 14 * (until - date.fromisoformat(comes)).days


@pytest.mark.parametrize("now", ["2026-04-20 06:00", "2026-05-02 06:00", "2026-07-10 06:00"])
def test_lambs_that_come_later_eat_from_then_on(tmp_path: Path, now: str) -> None:
    """The 120 days of P14 at the other end of the season, looked at before, and when some lie behind."""
    picture = year(tmp_path, now=now, lambs=(date(2026, 7, 3), LAST))
    made = {one.klass: one.need for one in months_balance(picture.scene).eaters}["lambs"]
    assert made is not None
    assert round(lb(made.value)) == 20_736


def test_p14_says_the_spare_and_what_is_outside(tmp_path: Path) -> None:
    page = told(year(tmp_path))
    assert "Spare: 14,602 lb (20 % of the supply)." in page
    assert "(11,520 head × days)" in page  # 96 lambs × 120 d
    assert "the oak strip along 11 and 12" in page
    assert "How it falls as crowns close is not in it" in page


def test_s5_months_hold_the_whole_year(tmp_path: Path) -> None:
    """Printed shares of the months sum to the year's yield, and the needs of the months to the season's."""
    made = months_balance(year(tmp_path).scene)
    shares = [month_share("mixed_cool", month) for month in range(1, 13)]
    assert sum(share.value or 0.0 for share in shares if share is not None) == pytest.approx(1.0)
    assert made.need is not None
    assert sum(m.need.value or 0.0 for m in made.months) == pytest.approx(made.need.value)
    april = next(m for m in made.months if m.number == 4)
    assert lb(april.need.value) == pytest.approx(11 * (60 * 4.4 + 96 * 1.8 + 2 * 3.5))


def test_a_shortfall_is_shown(tmp_path: Path) -> None:
    page = told(year(tmp_path, yearly="3000 lb/ac"))
    assert "Short: 12,938 lb" in page
    assert "More is needed than grows in" in page


def test_a_paddock_without_a_yield_leaves_the_balance_open(tmp_path: Path) -> None:
    picture = seen(
        farm_folder(tmp_path, as_of=FIRST, mobs=[mob(EWE | {"stages": STAGES})], promises=[SEASON]),
        "2026-04-20 06:00",
    )
    assert months_balance(picture.scene).spare is None
    assert "cannot be said until every yield" in told(picture)


# ---------------------------------------------------------------- supply as the weather grows it


def weathered(yearly: str = "") -> Picture:
    """Return the small farm with an invented climate, its yield typed or not."""
    typed = quantity(yearly, "herbage mass") if yearly else None
    made = small_farm.farm(weather=True, own=replace(small_farm.typed_sward(), yearly_yield=typed))
    return small_farm.look(made, small_farm.state(made))


def test_a_yield_nobody_typed_is_what_the_weather_grows() -> None:
    grown = grown_of(weathered())
    assert grown is not None
    assert grown.months == tuple((2026, month) for month in range(1, 13))
    by_month = np.median(grown.kg_ha.mean(axis=2), axis=0)
    assert by_month[4] == by_month.max()
    assert by_month[[0, 11]].max() < 0.1 * by_month[4]
    made = months_balance(weathered().scene, grown)
    assert made.supply is not None
    assert made.supply.low is not None
    assert made.supply.high is not None
    assert made.supply.low < (made.supply.value or 0) < made.supply.high
    assert made.supply.mark == "G"
    supplies = [m.supply for m in made.months if m.supply is not None and m.supply.low is not None]
    assert supplies
    assert all((s.low or 0.0) <= (s.value or 0.0) <= (s.high or 0.0) for s in supplies)


def test_the_page_tells_what_the_weather_grows_with_its_range() -> None:
    page = balance_account(weathered().scene, grown_of(weathered()))
    told = "\n".join(page.sentences)
    assert "in eight years of ten" in told
    assert "counted with what the season's weather grows there" in told
    assert "stands in for your sward" not in told
    assert any(" to " in row[1] for row in page.rows)
    assert len(page.rows) == 12


def test_a_paddock_without_a_sward_of_its_own_is_not_known() -> None:
    picture = weathered("4800 lb/ac")
    bare = replace(picture.farm.paddocks[0], sward=None)
    swards = (*picture.farm.swards, Sward("other", "tall_fescue"))
    made = replace(picture.farm, paddocks=(bare, *picture.farm.paddocks[1:]), swards=swards)
    found = months_balance(replace(picture.scene, farm=made))
    assert found.supplies[0].of is None
    assert found.supply is None
    assert all(month.supply is None for month in found.months)


def test_a_typed_yield_goes_before_the_weather() -> None:
    picture = weathered("4800 lb/ac")
    assert grown_of(picture) is None
    made = months_balance(picture.scene)
    area = sum(p.grazed_ha for p in picture.farm.paddocks)
    assert made.supply is not None
    assert made.supply.value == pytest.approx(
        area * quantity("4800 lb/ac", "herbage mass").to("kg/ha") * 0.45
    )


def test_without_weather_nothing_is_modelled(tmp_path: Path) -> None:
    farm_folder(tmp_path, as_of=FIRST, mobs=[mob(EWE | {"intake": "4.4 lb/d"})])
    assert grown_of(seen(tmp_path, "2026-04-20 06:00")) is None


# ---------------------------------------------------------------- s18: share from pasture


def fed_picture(folder: Path, bales: int) -> Picture:
    """Return the ewes after the whole season, with bales of 700 lb dry matter given."""
    bale = BALE | {"dry": "87.5 %", "bales": "40 bales"}
    events = (
        entry("2026-04-20 07:00", "ewes", Moved("1")),
        entry("2026-07-20 07:00", "ewes", Fed(quantity(f"{bales} bales", "count"))),
    )
    return year(folder, now="2026-10-31 06:00", events=events, hay=[bale])


def test_s18_share_from_pasture(tmp_path: Path) -> None:
    """612.4 lb a ewe needed, 105.0 fed: 82.9 % (sixty ewes alone ate the bales)."""
    picture = fed_picture(tmp_path, 9)
    found = PAGES["share"](picture)
    ewes = next(f for f in found.figures if f.name == "pasture_share" and f.about == "ewes")
    need, fed = (next(p for p in ewes.parts if p.name == name) for name in ("feed_need", "fed_dry"))
    assert lb(need.value) / 60 == pytest.approx(612.4, abs=0.05)
    all_fed = next(p for p in fed.parts if p.name == "fed_dry")
    assert lb(all_fed.value) / 60 == pytest.approx(105.0, abs=0.05)
    alone = 1 - lb(all_fed.value) / lb(need.value)
    assert 100 * alone == pytest.approx(82.9, abs=0.05)
    assert "194 days on pasture" in "\n".join(found.sentences)


def test_s18_one_class_gets_all_that_was_fed(tmp_path: Path) -> None:
    flock = mob(EWE | {"stages": STAGES})
    bale = BALE | {"dry": "87.5 %", "bales": "40 bales"}
    farm_folder(tmp_path, as_of=FIRST, mobs=[flock], promises=[SEASON], hay=[bale])
    events = [
        entry("2026-04-20 07:00", "ewes", Moved("1")),
        entry("2026-07-20 07:00", "ewes", Fed(quantity("9 bales", "count"))),
    ]
    page = told(seen(tmp_path, "2026-10-31 06:00", events), "share")
    assert "found 82.9 % of dry matter from pasture" in page
    assert "compliant" not in page.casefold()
    assert "the certifier says what it means" in page


def test_feed_without_a_weight_is_not_guessed(tmp_path: Path) -> None:
    events = (entry("2026-07-20 07:00", "ewes", Fed(quantity("9 bales", "count"))),)
    assert "share from pasture is not known" in told(
        year(tmp_path, now="2026-10-31 06:00", events=events), "share"
    )


# ---------------------------------------------------------------- m22: records for a period


def goats(year_: int) -> list[Event]:
    """Return a borrowed mob of a past year that went in and was never written out."""
    return [entry(f"{year_}-08-01 08:00", f"goats {year_}", Moved("10"))]


def kept(folder: Path) -> Picture:
    events = [
        *goats(2024), *goats(2025),
        entry("2026-04-20 07:00", "ewes", Moved("1")),
        entry("2026-04-24 07:00", "ewes", Moved("2"), until="2026-04-24 09:00"),
        *walked("2026-04-20 07:00", {1: 6.0}), *walked("2026-04-24 07:00", {1: 4.0}),
        entry("2026-04-22 07:00", "ewes", Fed(parse("2 bales", "count"))),
        entry("2026-04-22 08:00", "ewes", Spent(parse("$120", "money"), "hay", parse("2 bales", "count"))),
    ]  # fmt: skip
    return year(folder, now="2026-04-25 06:00", events=tuple(events))


def test_p14_out_date_not_recorded_twice(tmp_path: Path) -> None:
    made = period(kept(tmp_path), date(2024, 1, 1), date(2027, 1, 1))
    assert as_text(made).count("10 from 1 Aug 2024 8:00: out date not recorded") == 1
    assert as_text(made).count("  In 1 Aug 2024 8:00, out date not recorded: head not recorded.\n") == 1
    assert sum("out date not recorded" in sentence for sentence in made.sentences) == 2
    gaps = [row for row in made.rows if row.left is None]
    assert [(row.mob, row.head) for row in gaps] == [("goats 2024", None), ("goats 2025", None)]


def test_m22_what_was_written_stands_and_gaps_stay_empty(tmp_path: Path) -> None:
    made = period(kept(tmp_path), date(2026, 1, 1), date(2027, 1, 1))
    table = list(csv.DictReader(io.StringIO(as_csv(made))))
    first, second = table
    assert (first["in"], first["out"]) == (
        "2026-04-20 07:00",
        "between 2026-04-24 07:00 and 2026-04-24 09:00",
    )
    assert (first["head"], first["class"]) == ("62", "60 ewes and 2 rams")
    assert (first["height_in"], first["height_out"], first["feed"]) == ("6.0 in", "4.0 in", "2 bales")
    assert (second["out"], second["height_in"]) == ("still there", "")
    assert "height when they came not recorded" in second["gaps"]
    assert made.rows[0].says == (
        "In 20 Apr 7:00, out 24 Apr between 7:00 and 9:00: 60 ewes and 2 rams.",
        "Grass 6.0 in when they came, 4.0 in when they left.",
        "Fed 2 bales.",
    )
    assert made.rows[1].says[0].startswith("In 24 Apr between 7:00 and 9:00, still there: ")
    assert made.rows[1].says[1:] == ("No height of the grass recorded when they came.",)


def test_a_stay_outside_the_period_is_not_in_it(tmp_path: Path) -> None:
    made = period(kept(tmp_path), date(2025, 1, 1), date(2026, 1, 1))
    assert [row.mob for row in made.rows] == ["goats 2025"]
