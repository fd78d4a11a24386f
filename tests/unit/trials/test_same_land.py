"""The land in other uses: what goes with the trees and the stock, paired luck, what is said to be unknown."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.chain.keys import figures_of
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.records import Farm, Planting
from browseline.farm.same_land import Crop, SameLand
from browseline.science import finance
from browseline.trials.alternatives import left_alone, without_stock, without_trees
from browseline.trials.decade_rows import decade_rows
from browseline.trials.land_uses import LandUse, land_uses
from browseline.trials.lands import value_of
from browseline.trials.outcome import by_key, difference, figure_of
from browseline.trials.same_land import same_land_page
from browseline.units import Quantity, parse
from tests.small_farm import ewes, farm, heights, look, state

YEARS, MEMBERS = 6, 12
TREES = Planting(
    "nuts", "Nuts", "hazel_hybrid", "1", planted=2020, trees=120, spacing=parse("10 ft", "length"),
    alley=parse("20 ft", "length"), cultivars=("First", "Second"),
)  # fmt: skip


def usd(text: str) -> Quantity:
    return parse(text, "money")


def wide(text: str) -> Quantity:
    return parse(text, "share")


PLAN = MoneyPlan(
    2026, 5, parse("5 %", "share"), (),
    (
        MoneyLine("ewes", "Ewes", "income", usd("$90"), follows="head ewes", price_range=wide("20 %")),
        MoneyLine(
            "nuts", "Nuts", "income", usd("$3"), follows="yield nuts", per="lb", price_range=wide("30 %")
        ),
        MoneyLine("care", "Care of trees", "cost", usd("$4"), ((1, 120.0),)),
        MoneyLine("rent", "Rent", "cost", usd("$500")),
    ),
)  # fmt: skip
SAME = SameLand(
    tree_lines=("care",), alone=(("nuts", parse("435 trees/ac", "stocking")),),
    food=(("nuts", parse("2600 kcal/kg", "food energy")), ("crop", parse("3650 kcal/kg", "food energy"))),
    crop=Crop(price=usd("$180"), yield_range=parse("20 %", "share")),
)  # fmt: skip


def treed() -> Farm:
    return farm(weather=True, plantings=(TREES,), money=PLAN, same_land=SAME)


def seen(own: Farm) -> Picture:
    return look(own, state(own, mobs=(ewes(),), heights=heights({"1": "6 in", "2": "6 in", "3": "6 in"})))


@cache
def uses() -> dict[str, LandUse]:
    return {one.use: one for one in land_uses(seen(treed()), YEARS, MEMBERS)}


def test_the_uses_come_in_their_order() -> None:
    assert list(uses()) == ["here", "pasture", "trees", "crop", "alone"]


def test_lines_that_go_with_trees_and_stock_go_with_them() -> None:
    def lines(own: Farm) -> list[str]:
        return [line.id for line in own.money.lines] if own.money is not None else []

    assert lines(without_trees(treed())) == ["ewes", "rent"]
    assert lines(without_stock(treed())) == ["nuts", "care", "rent"]
    assert lines(left_alone(treed())) == ["rent"]
    bare = without_trees(treed())
    assert (bare.plantings, bare.planned) == ((), ())
    assert all(p.row_area_ha == 0 and p.light is None and p.cover is None for p in bare.paddocks)


def test_open_pasture_grows_at_least_what_the_shade_leaves_in_every_future() -> None:
    here, pasture = (by_key(uses()[use].measures)["feed", "feed_grown", ""] for use in ("here", "pasture"))
    assert (pasture.by_year >= here.by_year - 1e-6).all()
    assert (pasture.by_member > here.by_member).all()


def test_trees_bear_the_same_without_stock_and_nothing_is_gathered_where_they_are_left() -> None:
    here, trees, alone = (by_key(uses()[use].measures) for use in ("here", "trees", "alone"))
    nuts = next(key for key in here if key[0] == "harvest")
    assert np.array_equal(here[nuts].by_year, trees[nuts].by_year)
    assert nuts not in alone
    assert any(key[1] == "carbon_stock" for key in alone)


def test_luck_is_shared_so_a_difference_is_narrower_than_two_ranges() -> None:
    here, pasture = (by_key(uses()[use].measures)["money", "worth_today", ""] for use in ("here", "pasture"))
    found = difference(here, pasture)
    assert found is not None
    assert found.low is not None
    assert found.high is not None
    paired = np.percentile(pasture.by_member - here.by_member, (10, 50, 90))
    assert np.allclose((found.low, found.value or 0.0, found.high), paired)
    shuffled = pasture.by_member[::-1] - here.by_member
    assert np.ptp(pasture.by_member - here.by_member) < np.ptp(shuffled)


def test_money_is_the_plan_worked_out_by_hand() -> None:
    """Pasture: 60 ewes × $90 × the price's luck − $500 rent, five years at 5 %."""
    pasture = uses()["pasture"]
    assert pasture.cash is not None
    assert pasture.projection is not None
    head = pasture.projection.feed.head.sum(axis=2)[:5]
    luck = (pasture.cash + 500) / (head * 90)
    assert np.allclose(luck, luck[0])
    assert 0.5 < np.median(luck) < 2
    worth = by_key(pasture.measures)["money", "worth_today", ""]
    assert np.allclose(worth.by_member, finance.present_value(pasture.cash, 0.05))


def test_the_crop_pays_the_rent_too_and_its_grain_is_food() -> None:
    crop = uses()["crop"]
    assert crop.crop is not None
    assert crop.cash is not None
    grain = crop.crop.grain_kg[:5]
    assert np.allclose(crop.cash, grain / 1000 * 180 - 500)
    food = by_key(crop.measures)["food", "food_energy", ""]
    assert np.allclose(food.by_year, crop.crop.grain_kg * 3650 / 1e3)


def test_land_equivalent_is_its_two_shares() -> None:
    """435 trees/ac alone, 120 on 3 ac here: 0.092 of an orchard; the grass keeps its share beside."""
    page = same_land_page(seen(treed()), tuple(uses().values()), YEARS, MEMBERS)
    (one,) = page.apart
    assert one.trees.value == pytest.approx(120 / 3 / 435, abs=1e-6)
    assert one.ratio.value == pytest.approx((one.feed.value or 0) + (one.trees.value or 0), abs=1e-6)
    assert 0.3 < (one.feed.value or 0) <= 1


def test_what_is_not_known_is_said_and_never_nothing() -> None:
    page = same_land_page(seen(treed()), tuple(uses().values()), YEARS, MEMBERS)
    rows = {row[0]: row for row in page.rows}
    hours = rows["Hours of work, a year"]
    assert hours[3] == "not known"
    food = rows["Energy of food, a year"]
    assert food[2] == "not known"
    own = replace(treed(), same_land=SameLand(), money=None)
    bare = same_land_page(seen(own), land_uses(seen(own), 2, 4), 2, 4)
    assert not any("Worth" in row[0] for row in bare.rows)
    said = " ".join(bare.sentences)
    assert "no column has money" in said
    assert "Food is not known" in said
    assert "is not known: type how close" in said


def test_growth_that_nobody_knows_is_no_feed_of_nothing_and_no_hay_of_nothing() -> None:
    own = replace(treed(), normals=None)
    made = land_uses(seen(own), 2, 4)
    assert made[0].projection is not None
    assert not made[0].projection.feed.grows
    page = same_land_page(seen(own), made, 2, 4)
    rows, less = ({row[0]: row for row in table} for table in (page.rows, page.less_rows))
    for name in ("Feed grown for stock, a year", "Hay short, a year"):
        assert rows[name][1:3] == ("not known", "not known")
        assert less[name][1] == "not known"
        assert not any(sign.isdigit() for cell in rows[name][1:] for sign in cell), name
    assert "not known either how much land pasture and trees apart would need" in " ".join(page.sentences)
    assert any(sign.isdigit() for sign in rows["Head carried, a year"][1])
    assert value_of(made[0].measures, "feed") is None


def test_a_trial_without_known_growth_says_so_and_counts_it_as_the_same() -> None:
    own = replace(treed(), normals=None)
    dearer = replace(own, mobs=tuple(replace(m) for m in own.mobs), plantings=())
    found = {
        row[0]: (row, alike) for row, alike in decade_rows((seen(own), seen(dearer)), "acres", "now", "then")
    }
    (row, alike) = found["Hay short, a year"]
    assert row[1:] == ("not known", "not known", "not known")
    assert alike


def test_every_number_of_both_tables_opens() -> None:
    page = same_land_page(seen(treed()), tuple(uses().values()), YEARS, MEMBERS)
    keys = figures_of(page)
    assert all(key.startswith("same-land.") for key in keys)
    assert all(figure.origins or figure.parts for figure in keys.values())
    from browseline.words import links_of

    for row in (*page.rows, *page.less_rows):
        for cell in row[1:]:
            assert bool(links_of(cell)) == any(sign.isdigit() for sign in cell), cell


def test_fewer_members_are_the_first_of_more() -> None:
    few = {one.use: one for one in land_uses(seen(treed()), YEARS, 5)}
    for use, one in few.items():
        many = by_key(uses()[use].measures)
        for key, measure in by_key(one.measures).items():
            assert np.allclose(measure.by_year, many[key].by_year[:, :5]), (use, key)


def test_a_measure_is_the_middle_of_its_members() -> None:
    measure = by_key(uses()["here"].measures)["feed", "feed_grown", ""]
    figure = figure_of(measure)
    assert figure.value == pytest.approx(np.median(measure.by_year.mean(axis=0)))
