"""Own hay, bales in store and kept grass, by hand: numbers small enough to follow with a pencil."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from browseline.decades.form import OwnFeed
from browseline.decades.grown import GrownAhead
from browseline.decades.held import Held, held_ground
from browseline.decades.own_feed import feed_own
from browseline.decades.own_ways import Making, Piece, Ways, bales_kg, making_of, ways_of
from browseline.decades.start import Start
from browseline.decades.stock import _eat
from browseline.farm.records import Farm, HayLot, Promise, Rules
from browseline.ledger.hay import hay_store
from browseline.record.state import HayState
from browseline.units import parse
from tests import small_farm

Array = NDArray[np.float64]
MAY, JUNE, JULY, NOVEMBER = 4, 5, 6, 10
SEASON = tuple(range(3, 10))
HAY_RULES = Rules(
    hay_pass=parse("100 USD/ha", "money by area"), hay_field_loss=parse("20 %", "share"),
    hay_days=parse("5 d", "time"),
)  # fmt: skip
LOT = HayLot(
    "barn", parse("40 bales", "count"), parse("500 kg", "mass"), parse("80 %", "share"),
    parse("10 %", "share"), parse("25 %", "share"),
)  # fmt: skip
MAKING = Making(100.0, 0.8, 0.8 * 0.9 * 0.75, 0.1, (np.inf,) * 12, 0.0)


def month(*of: tuple[int, float], years: int = 1) -> Array:
    """Return so much in months, nothing in others, one member, every year alike."""
    out = np.zeros((years, 1, 12))
    for which, kg in of:
        out[:, 0, which] = kg
    return out


def ways(
    grass: Array, full: Array, *, making: Making | None = None, pieces: tuple[Piece, ...] = (),
    bales: float = 0.0, first: int = 0, ha: float = 10.0, loss_d: float = 0.003,
) -> Ways:  # fmt: skip
    return Ways(bales, making, pieces, grass, full, np.full((len(grass), 12), ha), first, SEASON, loss_d, ())


def fed(made: Ways, need: Array, grazed: Array) -> tuple[OwnFeed, Array, Array]:
    """Return own feed, hay bought and all that is spare, of stock that graze first."""
    years = len(need)
    short, by_month, spare = np.zeros_like(need), np.zeros_like(need), np.zeros((years, 1))
    standing = np.zeros(1)
    for year in range(years):
        eaten, standing, spare[year], by_month[year] = _eat(made.grass_kg[year], grazed[year], standing)
        short[year] = need[year] - eaten
    own, bought, more = feed_own(made, short, by_month, made.grass_kg)
    return own, bought, spare + more


def test_hay_of_what_stock_leave_worked_by_hand() -> None:
    """Ten hectares grow 8,000 kg in May, of which stock may have half: 4,000 kg.

    They eat 1,000 in May and 1,000 of it in June; 2,000 of 4,000 are left: half of the ground, 5 ha.
    A hectare carries 8,000 ÷ 10 = 800 kg; 20 % are lost in the field: 640 kg at 0.1 a kg are 64, less than
    a cut of 60 would take: it pays. 5 ha × 800 = 4,000 kg are cut; after field, store and feeding
    4,000 × 0.8 × 0.9 × 0.75 = 2,160 kg reach the mouth, 1,840 are lost. The cut takes 4,000 − 2,000 kg that
    stock would not have had. In November 3,000 kg are needed: 2,160 are there, 840 are bought.
    """
    cheap = replace(MAKING, usd_ha=60.0)
    made = ways(month((MAY, 4000.0)), month((MAY, 8000.0)), making=cheap)
    need = month((MAY, 1000.0), (JUNE, 1000.0), (NOVEMBER, 3000.0))
    grazed = month((MAY, 1000.0), (JUNE, 1000.0))
    own, bought, spare = fed(made, need, grazed)
    assert own.cut_ha[0, 0] == pytest.approx(5.0)
    assert own.made_kg[0, 0] == pytest.approx(2160.0)
    assert own.lost_kg[0, 0] == pytest.approx(1840.0)
    assert own.beyond_kg[0, 0] == pytest.approx(2000.0)
    assert own.hay_kg[0, 0, NOVEMBER] == pytest.approx(2160.0)
    assert bought[0, 0, NOVEMBER] == pytest.approx(840.0)
    assert spare[0, 0] == pytest.approx(0.0)


def test_a_cut_that_costs_more_than_its_hay_is_not_made() -> None:
    """The same 64 of hay a hectare against a cut of 65."""
    dear = replace(MAKING, usd_ha=65.0)
    made = ways(month((MAY, 4000.0)), month((MAY, 8000.0)), making=dear)
    own, bought, spare = fed(made, month((NOVEMBER, 3000.0)), month())
    assert own.cut_ha.sum() == 0
    assert bought[0, 0, NOVEMBER] == 3000.0
    assert spare[0, 0] == pytest.approx(4000.0)


def test_stubble_is_left_standing_and_no_more_is_cut_than_the_farm_can() -> None:
    """100 kg/ha of stubble on the 4 ha that a month allows: 4 × (800 − 100) = 2,800 kg are taken."""
    how = replace(MAKING, usd_ha=10.0, above_kg_ha=100.0, most_ha=(4.0,) * 12)
    made = ways(month((MAY, 4000.0)), month((MAY, 8000.0)), making=how)
    own, _, spare = fed(made, month((NOVEMBER, 9000.0)), month())
    assert own.cut_ha[0, 0] == pytest.approx(4.0)
    assert own.made_kg[0, 0] == pytest.approx(2800 * 0.54)
    assert spare[0, 0] == pytest.approx(4000 - 4 * 400 + 4 * 100)


def test_the_store_is_filled_to_a_year_s_hay_and_no_further() -> None:
    """270 kg are short in a year: 0.5 t of cut grass make them (× 0.54), 0.625 ha of the ten."""
    how = replace(MAKING, usd_ha=10.0)
    made = ways(month((MAY, 4000.0), years=3), month((MAY, 8000.0), years=3), making=how)
    own, bought, _ = fed(made, month((NOVEMBER, 270.0), years=3), month(years=3))
    assert own.made_kg[:, 0] == pytest.approx([270.0] * 3)
    assert own.cut_ha[:, 0] == pytest.approx([0.625] * 3)
    assert bought.sum() == pytest.approx(0.0)
    assert own.over_kg[:, 0] == pytest.approx([0.0] * 3, abs=1e-9)


def test_bales_in_store_are_eaten_first_and_once_from_today_on() -> None:
    made = ways(month(years=2), month(years=2), bales=700.0, first=JUNE)
    own, bought, _ = fed(made, month((MAY, 100.0), (JUNE, 500.0), (JULY, 500.0), years=2), month(years=2))
    assert own.store_kg[0, 0, [MAY, JUNE, JULY]] == pytest.approx([0, 500, 200])
    assert own.store_kg[1].sum() == 0
    assert bought[0, 0, [MAY, JUNE, JULY]] == pytest.approx([100, 0, 300])
    assert bought[1].sum() == pytest.approx(1100)


def held(kind: str, first: date, last: date) -> Held:
    farm = replace(small_farm.farm(), promises=(Promise("p", kind, "kept", first, last, ("1",)),))
    (only,) = held_ground(replace(farm, rules=HAY_RULES))
    return only


def test_kept_grass_feeds_the_months_after_it_less_what_stands_and_goes() -> None:
    """Kept from August to October: 3,000 kg. 0.3 % go a day; November takes 1,000, December the rest.

    3,000 × 0.997³⁰ = 2,741.4; less 1,000 = 1,741.4; × 0.997³¹ = 1,586.5 in December, of 2,000 short.
    """
    piece = held("stockpile", date(2026, 8, 1), date(2026, 11, 1))
    assert piece.ends == 9
    assert piece.open_frac == 0
    kg = month((7, 1500.0), (8, 1000.0), (9, 500.0))
    grown = Piece(piece, kg, 2 * kg, np.array([5.0]))
    made = ways(month(), month(), pieces=(grown,))
    own, bought, _ = fed(made, month((9, 400.0), (NOVEMBER, 1000.0), (11, 2000.0)), month())
    november = 3000 * 0.997**30
    december = (november - 1000) * 0.997**31
    assert own.winter_kg[0, 0, [9, NOVEMBER, 11]] == pytest.approx([0, 1000, december])
    assert bought[0, 0, [9, NOVEMBER, 11]] == pytest.approx([400, 0, 2000 - december])
    assert own.lost_kg[0, 0] == pytest.approx(3000 - 1000 - december)


def test_kept_grass_is_old_when_the_season_begins_again() -> None:
    """What is left in March, after 0.997 a day for the 151 days from November on, is nobody's in April."""
    piece = held("stockpile", date(2026, 8, 1), date(2026, 11, 1))
    kg = month((8, 1000.0), years=2)
    kg[1] = 0
    grown = Piece(piece, kg, kg, np.array([5.0, 5.0]))
    own, bought, spare = fed(
        ways(month(years=2), month(years=2), pieces=(grown,)), month((MAY, 100.0), years=2), month(years=2)
    )
    assert own.winter_kg.sum() == 0
    assert bought.sum() == pytest.approx(200)
    assert spare[1, 0] == pytest.approx(1000 * 0.997**151)


def test_ground_promised_for_hay_is_cut_every_year_at_its_end() -> None:
    """600 + 400 kg grow on 5 ha, twice that in all: 2,000 kg are cut in June, × 0.54 = 1,080 as eaten."""
    piece = held("hay", date(2026, 5, 1), date(2026, 7, 1))
    kg = month((MAY, 600.0), (JUNE, 400.0), years=2)
    grown = Piece(piece, kg, 2 * kg, np.array([5.0, 5.0]))
    made = ways(month(years=2), month(years=2), pieces=(grown,), making=MAKING)
    own, bought, _ = fed(made, month((NOVEMBER, 1500.0), years=2), month(years=2))
    assert own.cut_ha[:, 0] == pytest.approx([5, 5])
    assert own.hay_kg[:, 0, NOVEMBER] == pytest.approx([1080, 1080])
    assert bought[:, 0, NOVEMBER] == pytest.approx([420, 420])
    late = replace(made, first=JULY)
    assert fed(late, month((NOVEMBER, 1500.0), years=2), month(years=2))[0].cut_ha[:, 0] == pytest.approx(
        [0, 5]
    )


# ---------------------------------------------------------------- what a farm typed


def typed_farm() -> Farm:
    return replace(small_farm.farm(), rules=HAY_RULES, hay=(LOT,))


def test_making_is_what_was_typed() -> None:
    how = making_of(typed_farm())
    assert how is not None
    assert how.usd_ha == pytest.approx(100)
    assert how.kept == pytest.approx(0.8 * 0.9 * 0.75)
    assert making_of(replace(typed_farm(), rules=replace(HAY_RULES, hay_field_loss=None))) is None
    daily = making_of(replace(typed_farm(), rules=replace(HAY_RULES, hay_area_day=parse("2 ha", "area"))))
    assert daily is not None
    assert daily.most_ha[:2] == (12.0, 10.0)


def test_the_store_is_worth_what_the_balance_says() -> None:
    """40 × 500 kg × 0.8 × 0.9 × 0.75 = 10,800 kg; a lot nobody described counts as the first."""
    farm = typed_farm()
    lots = (HayState("barn", 40.0, farm.as_of), HayState("own cut", 10.0, farm.as_of))
    state = replace(small_farm.state(farm), hay=lots)
    assert bales_kg(farm, state) == pytest.approx(10_800 * 1.25)
    store = hay_store(small_farm.look(farm, state, members=2).scene)
    assert store is not None
    assert bales_kg(farm, state) == pytest.approx(store.eaten_kg)


def test_a_farm_that_types_nothing_has_nothing_of_its_own() -> None:
    farm = small_farm.farm()
    start = Start(farm, small_farm.state(farm), date(2026, 5, 6))
    none = np.zeros((0, 1, 2, 12))
    grown = GrownAhead(np.ones((1, 2, 12)), np.ones((1, 2, 3)), None, (), np.ones((1, 2, 12)), none, none)
    assert ways_of(start, grown, (2026,)) is None


def test_promises_of_the_last_year_stand_for_all_and_hay_ground_needs_its_rules() -> None:
    spring = [Promise(f"{y}", "hay", "cut", date(y, 5, 1), date(y, 7, 1), ("1",)) for y in (2025, 2026)]
    farm = replace(small_farm.farm(), promises=tuple(spring))
    assert held_ground(farm) == ()
    (only,) = held_ground(replace(farm, rules=HAY_RULES))
    assert only.share[0, [3, MAY, JUNE, JULY]] == pytest.approx([0, 1, 1, 0])
    winter = Promise("w", "stockpile", "kept", date(2026, 12, 16), date(2027, 2, 1), ("1",))
    (over,) = held_ground(replace(farm, promises=(winter,)))
    assert over.share[0, [11, 0, 1]] == pytest.approx([16 / 31, 1, 0])


# ---------------------------------------------------------------- sold


def test_hay_that_the_store_does_not_need_is_sold_where_it_pays() -> None:
    """Stock leave all of 4,000 kg: ten hectares of 800 kg. 270 kg are wanted: 0.625 ha, as above.

    The other 9.375 ha fetch 800 x 0.8 x 0.05 = 32 a hectare against a cut of 30: 9.375 x 800 x 0.8 = 6,000 kg
    are sold off the field, 1,500 lost there; at 0.04 they fetch 25.6 and nobody cuts them.
    """
    how = replace(MAKING, usd_ha=30.0, sale_usd_kg=0.05)
    made = ways(month((MAY, 4000.0)), month((MAY, 8000.0)), making=how)
    need = month((NOVEMBER, 270.0))
    own, bought, spare = fed(made, need, month())
    assert own.made_kg[0, 0] == pytest.approx(270.0)
    assert own.sold_kg[0, 0] == pytest.approx(6000.0)
    assert own.cut_ha[0, 0] == pytest.approx(10.0)
    assert own.lost_kg[0, 0] == pytest.approx(230.0 + 1500.0)
    assert bought.sum() == 0
    assert spare[0, 0] == pytest.approx(0.0, abs=1e-9)
    balance(made, own, bought, spare, need)
    low = fed(replace(made, making=replace(how, sale_usd_kg=0.04)), need, month())[0]
    assert low.sold_kg.sum() == 0
    assert low.cut_ha[0, 0] == pytest.approx(0.625)


def balance(made: Ways, own: OwnFeed, bought: Array, spare: Array, need: Array) -> None:
    """Grown and bought is eaten, lost, sold, spare or there: each member for itself, over all years."""
    ins = made.grass_kg.sum(axis=(0, 2)) + own.beyond_kg.sum(axis=0) + bought.sum(axis=(0, 2))
    outs = need.sum(axis=(0, 2)) + own.lost_kg.sum(axis=0) + own.sold_kg.sum(axis=0) + own.over_kg[-1]
    held = sum((piece.kg.sum(axis=(0, 2)) for piece in made.pieces), np.zeros(1))
    np.testing.assert_allclose(ins + held + made.bales_kg, outs + spare.sum(axis=0), rtol=1e-9)


def test_what_a_farm_can_cut_in_a_month_bounds_sale_and_store_together() -> None:
    """Four hectares a month: 0.625 for the store, 3.375 x 800 x 0.8 = 2,160 kg sold."""
    how = replace(MAKING, usd_ha=30.0, sale_usd_kg=0.05, most_ha=(4.0,) * 12)
    made = ways(month((MAY, 4000.0)), month((MAY, 8000.0)), making=how)
    own, _, _ = fed(made, month((NOVEMBER, 270.0)), month())
    assert own.cut_ha[0, 0] == pytest.approx(4.0)
    assert own.sold_kg[0, 0] == pytest.approx(2160.0)


def test_promised_ground_sells_what_tops_the_store_over_and_none_without_a_price() -> None:
    """5 of 10 ha are promised: 4,000 kg. 1,080 kg as eaten are wanted, 2,000 kg of grass: half of it.

    The other 2,000 kg are 1,600 off the field. Without a price all is stored: 2,160 kg, 1,080 of it left.
    """
    keep = Held("hay", "hay", ("1",), np.zeros((1, 12)), MAY, MAY, 0.5)
    piece = Piece(keep, month((MAY, 2000.0)), month((MAY, 4000.0)), np.array([5.0]))
    how = replace(MAKING, sale_usd_kg=0.05)
    made = ways(month(), month(), making=how, pieces=(piece,))
    need = month((NOVEMBER, 1080.0))
    own, bought, spare = fed(made, need, month())
    assert own.sold_kg[0, 0] == pytest.approx(1600.0)
    assert own.made_kg[0, 0] == pytest.approx(1080.0)
    assert own.cut_ha[0, 0] == pytest.approx(5.0)
    balance(made, own, bought, spare, need)
    kept, bought, spare = fed(replace(made, making=MAKING), need, month())
    assert kept.sold_kg.sum() == 0
    assert kept.over_kg[0, 0] == pytest.approx(1080.0)


@settings(max_examples=40, deadline=None)
@given(
    grass=st.lists(st.floats(0, 9000), min_size=12, max_size=12), need=st.floats(0, 6000),
    sale=st.sampled_from([0.0, 0.02, 0.2]), usd=st.floats(0, 200), stubble=st.floats(0, 400),
)  # fmt: skip
def test_no_kilogram_is_lost_or_made(
    grass: list[float], need: float, sale: float, usd: float, stubble: float
) -> None:
    """Whatever the price, the cost and the stubble, over two years."""
    kg = np.array([grass, grass])[:, None, :]
    how = replace(MAKING, usd_ha=usd, sale_usd_kg=sale, above_kg_ha=stubble)
    made = ways(kg / 2, kg, making=how, bales=100.0)
    wants = np.full((2, 1, 12), need / 12)
    grazed = wants * np.isin(np.arange(12), SEASON)
    own, bought, spare = fed(made, wants, grazed)
    total_in = made.grass_kg.sum() + own.beyond_kg.sum() + bought.sum() + 100.0
    standing = made.grass_kg[-1, 0, -1] - min(grazed[-1, 0, -1], made.grass_kg[-1, 0, -1])
    outs = wants.sum() + own.lost_kg.sum() + own.sold_kg.sum() + own.over_kg[-1, 0] + spare.sum()
    assert total_in == pytest.approx(outs + standing, rel=1e-9, abs=1e-6)
    assert (own.sold_kg >= 0).all()
    assert sale > 0 or not own.sold_kg.any()
