"""Making hay of one's own is a posting of its own in the money ahead; what is bought is the rest."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.chain.decades_page import DecadesPage, decades_page
from browseline.chain.keys import figures_of
from browseline.chain.money_ahead import can_follow, cash_of, futures
from browseline.chain.years_ahead import projection_of
from browseline.farm import own_hay
from browseline.farm.read import read_or_raise
from browseline.farm.records import Farm, HayLot
from browseline.farm.text import text_of
from browseline.ledger.money import outlook
from browseline.ledger.postings import plan_entries
from browseline.papers.lender import lender_pack
from browseline.units import factor, parse
from tests.acceptance.cases import EWE, farm_folder, mob, seen

YEARS, MEMBERS, FIRST = 6, 4, 2026
HAY = {"hay_pass": "60 USD/ac", "hay_field_loss": "20 %", "hay_days": "5 d"}
BARN = {"id": "barn", "bales": "60 bales", "bale_weight": "800 lb", "dry": "88 %", "feeding_loss": "15 %",
        "price": "$60"}  # fmt: skip
LINES = [
    {"id": "hay", "name": "Hay", "kind": "cost", "follows": "hay bought", "per": "bales", "price": "$60"}
]
SEASON = {"id": "s", "kind": "grazing", "what": "season", "from": date(2026, 4, 15), "to": date(2026, 11, 1)}
WINTER = {"id": "w", "kind": "stockpile", "what": "kept", "from": date(2026, 8, 15), "to": date(2026, 11, 1),
          "paddocks": ["3"]}  # fmt: skip


def farm(folder: Path, rules: dict[str, Any], lines: list[dict[str, Any]], **tables: Any) -> Picture:
    money = {"first_year": FIRST, "years": YEARS, "discount": "5 %", "lines": lines}
    made = farm_folder(
        folder, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=money, rules=rules,
        **tables,
    )  # fmt: skip
    text = (made / "farm.toml").read_text(encoding="utf-8")
    grows = 'kind = "mixed_cool"\nyearly_yield = "9000 lb/ac"\nharvest_share = "45 %"'
    (made / "farm.toml").write_text(text.replace('kind = "mixed_cool"', grows), encoding="utf-8")
    return seen(made, "2026-01-02 06:00")


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """Return a farm that makes hay, has bales in store and keeps grass for winter."""
    return farm(tmp_path_factory.mktemp("own"), HAY, LINES, hay=[BARN], promises=[SEASON, WINTER])


@pytest.fixture(scope="module")
def page(own: Picture) -> DecadesPage:
    return decades_page(own, YEARS, MEMBERS)


def test_the_cut_is_a_line_of_the_plan_that_nobody_typed(own: Picture) -> None:
    plan = own.farm.money
    assert plan is not None
    assert [line.id for line in plan.lines] == ["hay", own_hay.LINE]
    ahead = projection_of(own, YEARS, MEMBERS)
    assert ahead.feed.own is not None
    acres = ahead.feed.own.cut_ha * factor("ha", "ac")
    assert (acres.sum(axis=0) > 0).all()
    given = futures(own.farm, plan, ahead)
    cash = outlook(plan, "base", (), given)
    (line,) = [f for f in cash.years[2].available.parts if "Making own hay" in f.about]
    # So many acres at 60 dollars each go out.
    assert line.value == pytest.approx(-60 * acres[2].mean())
    bought = ahead.feed.hay_kg[:YEARS].sum(axis=2)
    bale = 800 * 0.45359237 * 0.88 * 0.85
    total = cash_of(own.farm, ahead)
    assert total is not None
    np.testing.assert_allclose(total, -60 * bought / bale - 60 * acres[:YEARS], rtol=1e-9)
    assert "hay made" in list(can_follow(ahead))


def test_it_is_posted_by_itself_and_stands_in_the_lender_s_pack(own: Picture) -> None:
    plan = own.farm.money
    assert plan is not None
    given = futures(own.farm, plan, projection_of(own, YEARS, MEMBERS))
    accounts = {posting.account for entry in plan_entries(plan, (), given) for posting in entry.postings}
    assert "cost: Making own hay" in accounts
    pack = repr(lender_pack(own, given))
    assert "Making own hay" in pack


def test_the_text_of_the_farm_leaves_it_out_and_reads_back_the_same(own: Picture, tmp_path: Path) -> None:
    text = text_of(own.farm)
    assert own_hay.LINE not in text
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    assert read_or_raise(tmp_path).money == own.farm.money


def test_a_line_that_follows_the_cut_stands_in_its_place(tmp_path: Path) -> None:
    line = {"id": "man", "name": "Contractor", "kind": "cost", "follows": "hay made", "per": "ac",
            "price": "$75"}  # fmt: skip
    made = farm(tmp_path, HAY, [*LINES, line], hay=[BARN])
    plan = made.farm.money
    assert plan is not None
    assert [one.id for one in plan.lines] == ["hay", "man"]
    assert "man" in futures(made.farm, plan, projection_of(made, YEARS, MEMBERS)).follows


def test_a_bale_that_costs_nothing_is_a_price_and_no_guess() -> None:
    barn = HayLot("barn", parse("60 bales", "count"), parse("800 lb", "mass"), dry=parse("88 %", "share"),
                  price=parse("$60", "money"))  # fmt: skip
    typed = Farm("Small", "America/New_York", "acres", date(2026, 1, 1), (), (), hay=(barn,),
                 prices=(("hay", parse("$0", "money")),))  # fmt: skip
    price = own_hay.hay_price(typed)
    assert (price.value, price.origins) == (0, ())
    assert [part.name for part in price.parts] == ["bale_price"]


@pytest.mark.parametrize("missing", list(HAY))
def test_a_farm_that_does_not_say_all_has_no_line_and_is_told(tmp_path: Path, missing: str) -> None:
    rules = {key: value for key, value in HAY.items() if key != missing}
    made = farm(tmp_path, rules, LINES)
    plan = made.farm.money
    assert plan is not None
    assert [line.id for line in plan.lines] == ["hay"]
    told = " ".join(decades_page(made, YEARS, MEMBERS).sentences)
    assert missing in told


def test_another_currency_is_not_put_into_the_plan(own: Picture) -> None:
    plan = own.farm.money
    assert plan is not None
    bare = replace(plan, lines=own_hay.typed_lines(plan), currency="EUR")
    assert own_hay.with_making(bare, own.farm.rules) is bare


def test_the_page_tells_each_of_them_and_every_number_opens(own: Picture, page: DecadesPage) -> None:
    ahead = projection_of(own, YEARS, MEMBERS)
    assert ahead.feed.own is not None
    for key in ("hay_made", "hay_stored", "winter", "hay_cut"):
        band = page.band(key)
        assert band is not None, key
        assert band.figures[0].origins
    stored = page.band("hay_stored")
    assert stored is not None
    # 60 bales of 800 lb, 88 % dry, 15 % lost in feeding.
    whole = 60 * 800 * 0.45359237 * 0.88 * 0.85
    assert sum(stored.likely) <= whole * (1 + 1e-9)
    said = " ".join(page.sentences)
    assert "eaten first, from Jan on" in said
    assert "kept for winter on 3" in said
    assert "loses in store" in said
    assert "no hay is bought" in said
    names = {figure.name for figure in figures_of(page).values()}
    assert {"ahead_bales", "ahead_hay_cut", "ahead_hay_made_all", "ahead_hay_cost", "standing_loss"} <= names


def test_hours_of_making_hay_come_to_those_of_the_stock(own: Picture, tmp_path: Path) -> None:
    """1.5 hours an acre cut, on top of the hours of the ewes."""
    made = farm(tmp_path, HAY | {"hay_hours": "1.5 h/ac"}, LINES, hay=[BARN], promises=[SEASON, WINTER])
    with_hay, without = (projection_of(seen_, YEARS, MEMBERS) for seen_ in (made, own))
    cut = with_hay.feed.own
    assert cut is not None
    acres = cut.cut_ha * factor("ha", "ac")
    np.testing.assert_allclose(with_hay.work_h - without.work_h, 1.5 * acres, rtol=1e-9)
    assert "of work in the middle year" in " ".join(decades_page(made, YEARS, MEMBERS).sentences)
    assert "hay_hours" in " ".join(decades_page(own, YEARS, MEMBERS).sentences)


def test_a_price_by_the_hectare_counts_hectares(own: Picture) -> None:
    rules = replace(own.farm.rules, hay_pass=parse("148 USD/ha", "money by area"))
    plan = own.farm.money
    assert plan is not None
    made = own_hay.with_making(replace(plan, lines=own_hay.typed_lines(plan)), rules)
    assert made is not None
    assert (made.lines[-1].per, float(made.lines[-1].price.value)) == ("ha", 148.0)


# ---------------------------------------------------------------- sold


@pytest.fixture(scope="module")
def seller(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """Return the same farm with a price for hay that it sells."""
    return farm(tmp_path_factory.mktemp("seller"), HAY, LINES, hay=[BARN], promises=[SEASON, WINTER],
                prices={"hay_sold": "$50"})  # fmt: skip


def test_hay_sold_is_an_income_by_the_bale_that_nobody_typed(own: Picture, seller: Picture) -> None:
    """A bale of 800 lb, 88 % dry, is 319 kg of dry hay: so many bales at 50 dollars, less the larger cut."""
    plan = seller.farm.money
    assert plan is not None
    assert [line.id for line in plan.lines] == ["hay", own_hay.LINE, own_hay.SOLD_LINE]
    ahead, before = projection_of(seller, YEARS, MEMBERS), projection_of(own, YEARS, MEMBERS)
    sold = ahead.feed.own
    assert sold is not None
    assert before.feed.own is not None
    assert not before.feed.own.sold_kg.any()
    assert sold.sold_kg.any()
    bales = sold.sold_kg[:YEARS] / (800 * 0.45359237 * 0.88)
    total = cash_of(seller.farm, ahead)
    assert total is not None
    eaten = ahead.feed.hay_kg[:YEARS].sum(axis=2) / (800 * 0.45359237 * 0.88 * 0.85)
    acres = sold.cut_ha[:YEARS] * factor("ha", "ac")
    np.testing.assert_allclose(total, 50 * bales - 60 * eaten - 60 * acres, rtol=1e-9)
    assert "hay sold" in list(can_follow(ahead))
    assert "hay sold" not in list(can_follow(before))


def test_the_page_says_what_is_sold_or_that_no_price_is_typed(seller: Picture, page: DecadesPage) -> None:
    told = decades_page(seller, YEARS, MEMBERS)
    assert "sold off the field at $50" in " ".join(told.sentences)
    assert told.band("hay_sold") is not None
    assert {"hay_sale", "ahead_hay_sold_all"} <= {figure.name for figure in figures_of(told).values()}
    assert "nobody typed its price (hay_sold under [prices])" in " ".join(page.sentences)
    assert page.band("hay_sold") is None
    assert "outside the grazing season is not counted" in " ".join(page.sentences)


def test_the_text_of_the_farm_that_sells_reads_back_the_same(seller: Picture, tmp_path: Path) -> None:
    text = text_of(seller.farm)
    assert own_hay.SOLD_LINE not in text
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    assert read_or_raise(tmp_path).money == seller.farm.money


def test_a_line_that_follows_hay_sold_stands_in_its_place(tmp_path: Path) -> None:
    line = {"id": "neighbour", "name": "Hay", "kind": "income", "follows": "hay sold", "per": "lb",
            "price": "$0.08"}  # fmt: skip
    made = farm(tmp_path, HAY, [*LINES, line], hay=[BARN], prices={"hay_sold": "$50"})
    plan = made.farm.money
    assert plan is not None
    assert [one.id for one in plan.lines] == ["hay", "neighbour", own_hay.LINE]
    ahead = projection_of(made, YEARS, MEMBERS)
    assert ahead.feed.own is not None
    amount = futures(made.farm, plan, ahead).follows["neighbour"].amount
    np.testing.assert_allclose(amount, ahead.feed.own.sold_kg[:YEARS] / 0.45359237, rtol=1e-9)


def test_a_price_alone_sells_nothing(tmp_path: Path) -> None:
    """Without how hay is made, or without a bale's weight, there is no line."""
    made = farm(tmp_path, {}, LINES, hay=[BARN], prices={"hay_sold": "$50"})
    assert made.farm.money is not None
    assert [one.id for one in made.farm.money.lines] == ["hay"]
    plan, how = made.farm.money, read_or_raise(tmp_path).rules
    assert own_hay.with_selling(plan, how, parse("$50", "money"), made.farm.hay) is plan


def test_a_rule_that_moves_head_says_that_hay_keeps_none(own: Picture, tmp_path: Path) -> None:
    moves = farm(tmp_path, HAY, LINES, hay=[BARN], decades={"stock": "follow"})
    told = " ".join(decades_page(moves, YEARS, MEMBERS).sentences)
    assert "Head are not kept on hay" in told
    assert "Head are not kept on hay" not in " ".join(decades_page(own, YEARS, MEMBERS).sentences)
