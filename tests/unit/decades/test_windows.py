"""Windows: thinning, guards, hay, light, first harvest, a lease that ends too soon; hours of work."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from browseline.decades.form import FeedAhead, LightAhead, Window
from browseline.decades.hours import hours_ahead, not_counted
from browseline.decades.windows import first_years, windows_ahead
from browseline.decades.yields import yields_ahead
from browseline.farm.accounts import MoneyPlan
from browseline.farm.future import PlannedWork
from browseline.farm.records import Farm, Mob, Promise
from browseline.units import parse
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting

COUNT = len(MEMBERS)
Array = np.ndarray


def feed(hay_kg: float = 0.0, kind: str = "sheep", klass: str = "ewes", head: float = 60.0) -> FeedAhead:
    months = np.zeros((len(YEARS), COUNT, 12))
    hay = months + hay_kg * np.arange(len(YEARS))[:, None, None]
    each = np.full((len(YEARS), COUNT, 1), head)
    none = np.zeros_like(each)
    spare = np.zeros((len(YEARS), COUNT))
    return FeedAhead(
        (), (("m", kind, klass),), months + 1.0, months, hay, spare, none, each, none, none, none, none
    )


def light(of: Array | None = None) -> LightAhead:
    frac = np.ones((len(YEARS), COUNT, 1)) if of is None else of[:, None, None] + np.zeros((1, COUNT, 1))
    months = np.ones((len(YEARS), COUNT, 12, 1))
    return LightAhead(("1",), frac, months, 1 - frac, np.zeros((len(YEARS), 1)))


def windows(made: Farm, eaters: FeedAhead | None = None, sky: LightAhead | None = None) -> dict[str, Window]:
    sizes = grown(made)
    crops = yields_ahead(made, sizes, YEARS, MEMBERS, None)
    found = windows_ahead(made, sizes, sky or light(), eaters or feed(), crops)
    return {one.kind: one for one in found}


CLOSE = planting(
    "nuts", "walnut_black", 2024, spacing=parse("20 ft", "length"), alley=parse("10 ft", "length")
)


def test_thinning_is_due_between_crowns_that_meet_and_half_the_ground() -> None:
    """trees.csv: thin when cover nears 50 % (southern_pine_guide)."""
    from browseline.canopy import planting_cover

    made = farm(CLOSE)
    found = windows(made)["thin"]
    cover = planting_cover(grown(made), CLOSE)
    assert cover is not None
    middle = int(np.argmax(np.median(cover.union, axis=1) >= 0.5))
    assert found.likely == pytest.approx(YEARS[middle], abs=1)
    assert found.first <= found.likely <= found.last
    assert found.share == 1.0
    assert "50 %" in found.because
    assert "forester" in found.because


def test_wide_rows_need_no_thinning_within_the_years() -> None:
    wide = planting(
        "nuts", "hazel_hybrid", 2024, spacing=parse("20 m", "length"), alley=parse("20 m", "length")
    )
    assert "thin" not in windows(farm(wide))


def test_guards_until_the_trees_are_clear_of_the_stock_carried() -> None:
    """browsing.csv: sheep 1.8 m and 8 cm, cattle 3 m and 5 cm, goats 2.4 m and 15 cm."""
    sheep, goats = (windows(farm(CLOSE), feed(kind=kind))["guards"] for kind in ("sheep", "goat"))
    assert 2026 < sheep.likely < goats.likely
    old = planting("nuts", "walnut_black", 1980)
    assert "guards" not in windows(farm(old))
    metric = replace(farm(CLOSE), units="hectares")
    assert "1.8 m tall with a stem of 8 cm" in windows(metric, feed(kind="sheep"))["guards"].because
    feet = replace(farm(CLOSE), units="acres")
    assert "5.9 ft tall with a stem of 3.1 in" in windows(feet, feed(kind="sheep"))["guards"].because


def test_hay_opens_where_five_years_ask_for_more_than_the_first_did() -> None:
    assert "hay_gap" not in windows(farm(CLOSE))
    assert windows(farm(CLOSE), feed(hay_kg=10.0))["hay_gap"].likely == YEARS[7]


def test_no_hay_gap_is_told_where_nothing_is_known_to_grow() -> None:
    some = feed(hay_kg=10.0)
    none = replace(some, grown_kg=np.zeros_like(some.grown_kg))
    assert (some.grows, none.grows) == (True, False)
    assert "hay_gap" not in windows(farm(CLOSE), none)


def test_years_that_differ_by_luck_alone_open_no_gap() -> None:
    luck = np.random.default_rng(4).uniform(80, 120, (len(YEARS), COUNT, 12))
    assert "hay_gap" not in windows(farm(CLOSE), replace(feed(), hay_kg=luck))


def test_light_below_nine_tenths_and_three_quarters() -> None:
    made = farm(CLOSE)
    falls = 1 - 0.02 * np.arange(len(YEARS))
    found = [w for w in windows_ahead(made, grown(made), light(falls), feed(), ()) if w.kind == "light"]
    assert [(w.likely, w.because.partition("below ")[2][:4]) for w in found] == [
        (YEARS[6], "90 %"),
        (YEARS[13], "75 %"),
    ]
    bare = farm(planting(paddock=None))
    assert not [w for w in windows_ahead(bare, grown(bare), light(falls), feed(), ()) if w.kind == "light"]


def test_first_harvest_and_a_lease_that_ends_before_it() -> None:
    lease = Promise("lease", "lease", "river field", date(2024, 1, 1), date(2028, 1, 1), ("1",))
    found = windows(farm(CLOSE, promises=(lease,)))
    assert found["harvest"].likely > 2028
    assert "nuts" in found["harvest"].because
    assert found["lease"].first == 2027
    assert found["lease"].share == 1.0
    assert "who owns" in found["lease"].because
    long = Promise("lease", "lease", "river field", date(2024, 1, 1), date(2064, 1, 1), ("1",))
    assert "lease" not in windows(farm(CLOSE, promises=(long,)))
    elsewhere = Promise("lease", "lease", "river field", date(2024, 1, 1), date(2028, 1, 1), ("9",))
    assert "lease" not in windows(farm(CLOSE, promises=(elsewhere,)))


def test_first_years_by_member() -> None:
    holds = np.array([[False, False], [True, False], [True, False]])
    first = first_years(holds, (2026, 2027, 2028))
    assert first[0] == 2027
    assert np.isnan(first[1])


# ---------------------------------------------------------------- hours


def test_hours_a_livestock_unit() -> None:
    """teagasc_labour2000: 32 h a unit of sheep, 29 of cattle; a ewe is 0.2 of a unit."""
    made = farm()
    assert (hours_ahead(made, feed(), (), (), ()) == pytest.approx(60 * 0.2 * 32)) is True
    cows = hours_ahead(made, feed(kind="cattle", klass="cows", head=10.0), (), (), ())
    assert cows[0, 0] == pytest.approx(290)
    assert not hours_ahead(made, feed(klass="lambs"), (), (), ()).any()


def test_the_farms_own_hours_go_first_and_what_nobody_knows_is_named() -> None:
    plan = MoneyPlan(2026, 15, parse("5 %", "share"), own_hours=parse("900 h", "time"))
    work = PlannedWork("t", "nuts", "prune", 2030)
    made = farm(CLOSE, money=plan)
    assert (hours_ahead(made, feed(), (), (), (work,)) == pytest.approx(900.0)) is True
    assert not_counted(made, feed(), (), (), (work,)) == ()
    crops = yields_ahead(farm(CLOSE), grown(farm(CLOSE)), YEARS, MEMBERS, None)
    assert not_counted(farm(CLOSE), feed(kind="goat"), crops, (), (work,)) == ("goat", "harvest", "trees")


def test_a_mob_of_the_file_counts_for_its_days() -> None:
    made = farm(mobs=(Mob("m", "M", (), from_day=date(2026, 5, 1), to_day=date(2026, 11, 1)),))
    assert hours_ahead(made, feed(), (), (), ())[0, 0] == pytest.approx(60 * 0.2 * 32 * 184 / 365)
