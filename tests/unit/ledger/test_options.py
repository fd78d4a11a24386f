"""Balance in each growth, the ways out in order of money, and how long the grass lasts then."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from browseline.events import Borrowed, Forecast, Shut
from browseline.farm.records import Planting, Rules
from browseline.ledger.advice import feed_advice
from browseline.ledger.balance import balances, ground, last_day
from browseline.ledger.growth import growth_cases
from browseline.ledger.options import options, sell
from tests.unit.ledger.small import (
    TODAY,
    event,
    ewes,
    farm,
    heights,
    lot,
    mob,
    quantity,
    scene,
    until,
)  # fmt: skip


def days(n: int) -> date:
    return TODAY + timedelta(days=n)


def grows(text: str, last: date, subject: str = "farm") -> Forecast:
    return Forecast(last, growth=quantity(text, "herbage growth"))


def test_grass_growth_and_store_against_the_need_by_hand() -> None:
    """100 kg/d for 60 d; grass (7 - 5) cm × 100 × 6 ha = 1200 kg; 5 kg/ha/d grow 30 kg/d on 40 d."""
    seen = scene(farm(), [*heights(7, 7, 7), event("farm", grows("5 kg/ha/d", days(40)))])
    none, some = balances(ground(seen), days(60))
    assert none.need.value == pytest.approx(6000)
    assert none.short_kg == pytest.approx(6000 - 1200 - 648)
    assert some.grown.value == pytest.approx(30 * 40)
    assert some.short_kg == pytest.approx(6000 - 1200 - 1200 - 648)
    assert none.grass_lasts is not None
    assert none.grass_lasts.days.value == pytest.approx(12)
    assert some.grass_lasts is not None
    assert some.grass_lasts.days.value == pytest.approx(1200 / 70)


def test_grass_does_not_count_for_those_who_live_from_the_store() -> None:
    seen = scene(farm(mobs=(mob(at="yard"),)), heights(7, 7, 7))
    (only,) = balances(ground(seen), days(60))
    assert only.grass.value == 0
    assert only.short_kg == pytest.approx(6000 - 648)


def test_a_need_that_is_not_known_gives_no_balance() -> None:
    seen = scene(farm(mobs=(mob(ewes(50, None)),)), heights(7, 7, 7))
    assert balances(ground(seen), days(60)) == ()
    assert options(ground(seen), days(60)) == ()
    assert sell(ground(seen), days(60), "sheep", "ewes", 10) is None


def test_the_stretch_is_the_promise_in_force_that_ends_last() -> None:
    promises = (until(days(30)), until(days(50)), until(days(90), days(2)))
    assert last_day(scene(farm(promises=promises))) == days(50)
    assert last_day(scene(farm())) is None


def test_ways_out_stand_in_order_of_money_and_doing_nothing_last() -> None:
    seen = scene(farm(), heights(7, 7, 7))
    ways = options(ground(seen), days(60))
    spent = [way.money for way in ways[:-1]]
    assert None not in spent
    assert spent == sorted(money for money in spent if money is not None)
    assert ways[-1].key == "nothing"
    assert ways[-1].lasts is not None
    assert ways[-1].lasts.out == days(18)
    buy = next(way for way in ways if way.key == "buy")
    assert buy.outcomes[0].bales == 65  # 4152 ÷ 64.8 = 64.07
    assert buy.money == Decimal(65 * 20)


def test_a_sale_lowers_the_need_and_grass_lasts_longer() -> None:
    there = ground(scene(farm(), heights(7, 7, 7)))
    way = sell(there, days(60), "sheep", "ewes", 10)
    assert way is not None
    assert way.saved is not None
    assert way.saved.value == pytest.approx(10 * 2 * 60 / 64.8)
    assert way.lasts is not None
    assert way.lasts.days.value == pytest.approx(1200 / 80)


def test_without_a_price_the_fewest_bales_come_first() -> None:
    seen = scene(farm(hay=(lot(price=None),)), heights(7, 7, 7))
    ways = options(ground(seen), days(60))
    bales = [max(o.bales for o in way.outcomes) for way in ways[:-1]]
    assert bales == sorted(bales)
    assert all(way.money is None for way in ways)
    assert "USD" not in " ".join(way.words for way in ways)


def test_a_feeder_is_offered_only_where_its_loss_was_typed() -> None:
    for loss, there in ((None, False), ("0 %", False), ("20 %", True)):
        typed = quantity(loss, "share") if loss else None
        seen = scene(farm(hay=(lot(feeding_loss=typed),)), heights(7, 7, 7))
        assert any(way.key == "feeder" for way in options(ground(seen), days(60))) is there


def test_a_better_feeder_also_saves_of_what_is_in_store() -> None:
    seen = scene(farm(hay=(lot(feeding_loss=quantity("20 %", "share")),)), heights(7, 7, 7))
    way = next(w for w in options(ground(seen), days(60)) if w.key == "feeder")
    eaten, better = 100 * 0.8 * 0.9 * 0.8, 100 * 0.8 * 0.9 * 0.9
    need = 6000 - 1200
    assert way.saved is not None
    assert way.saved.value == pytest.approx(need / eaten - need / better)
    assert way.outcomes[0].bales == -(-(need - 10 * better) // better)


def test_nothing_is_offered_where_nothing_is_short_or_no_bale_is_known() -> None:
    assert options(ground(scene(farm(), heights(70, 70, 70))), days(60)) == ()
    assert options(ground(scene(farm(hay=()), heights(7, 7, 7))), days(60)) == ()


def test_less_than_a_week_cannot_be_a_week_shorter() -> None:
    seen = scene(farm(hay=(lot(0),)), heights(6, 5, 5))
    assert [w.key for w in options(ground(seen), days(6)) if w.key == "later"] == []
    assert "later" in [w.key for w in options(ground(seen), days(20))]


def test_few_animals_and_those_of_others_are_not_offered_for_sale() -> None:
    borrowed = event(
        "goats", Borrowed(20, "goat", "does", intake=quantity("2 kg/d", "intake"), to="2", owner="next door")
    )
    seen = scene(farm(mobs=(mob(ewes(), ewes(9, klass="rams")),)), [*heights(7, 7, 7), borrowed])
    offered = {way.klass for way in options(ground(seen), days(60)) if way.key == "sell"}
    assert offered == {"ewes"}


def test_growth_that_keeps_up_is_said() -> None:
    seen = scene(farm(), [*heights(6, 6, 6), event("farm", grows("50 kg/ha/d", days(40)))])
    ways = options(ground(seen), days(30))
    assert "feed lasts to 7 Aug with 50 kg/ha/d" in ways[-1].words
    advice = feed_advice(scene(farm(promises=(until(days(30)),)), [
        *heights(6, 6, 6), event("farm", grows("50 kg/ha/d", days(40))),
    ]))  # fmt: skip
    assert advice is not None
    assert advice.grass[1] is None
    assert "as long as it goes on" in " ".join(advice.sentences)


def test_growths_of_one_day_are_cases_and_a_later_day_takes_their_place() -> None:
    early = [event("farm", grows(f"{n} kg/ha/d", days(40))) for n in (9, 3)]
    seen = scene(farm(), [*heights(7, 7, 7), *early])
    assert [float(c.kg_ha_d[0]) for c in growth_cases(seen)] == pytest.approx([0, 3, 9])
    assert float(seen.herbage.growth_kg_ha_d[0, 0]) == pytest.approx(3)


def test_growth_of_one_paddock_holds_in_every_case() -> None:
    own = event("2", grows("7 kg/ha/d", days(40)))
    alone = growth_cases(scene(farm(), [*heights(7, 7, 7), own]))
    assert [c.kg_ha_d.tolist() for c in alone] == [[0, 0, 0], pytest.approx([0, 7, 0])]
    both = growth_cases(scene(farm(), [*heights(7, 7, 7), own, event("farm", grows("3 kg/ha/d", days(40)))]))
    assert both[1].kg_ha_d.tolist() == pytest.approx([3, 7, 3])


def test_growth_of_a_day_gone_by_is_not_counted() -> None:
    seen = scene(farm(), [*heights(7, 7, 7), event("farm", grows("3 kg/ha/d", TODAY))])
    assert len(growth_cases(seen)) == 1


def test_rest_that_the_grass_does_not_cover_is_told_without_a_stretch() -> None:
    rules = Rules(rest=quantity("45 d", "time"), sale_notice=quantity("20 d", "time"))
    advice = feed_advice(scene(farm(rules=rules), heights(7, 7, 7)))
    assert advice is not None
    assert advice.rotation is not None
    assert advice.rotation.stay.value == pytest.approx(45 / 2)
    assert advice.rotation.covers.value == pytest.approx(12 / 45)
    assert advice.decide_by == TODAY
    assert advice.balances == ()
    assert advice.options == ()


def test_nothing_is_said_of_feed_where_none_is_short() -> None:
    assert feed_advice(scene(farm(), heights(9, 9, 9))) is None
    assert feed_advice(scene(farm(mobs=()), heights(9, 9, 9))) is None
    rules = Rules(rest=quantity("10 d", "time"))
    assert feed_advice(scene(farm(rules=rules), heights(70, 70, 70))) is None


def test_enough_is_told_as_a_spare() -> None:
    advice = feed_advice(scene(farm(promises=(until(days(10)),)), heights(9, 9, 9)))
    assert advice is not None
    assert not advice.short
    assert advice.options == ()
    assert any("to spare" in words for words in advice.sentences)


def test_what_is_short_is_told_without_bales_where_none_is_known() -> None:
    advice = feed_advice(scene(farm(hay=(), promises=(until(days(60)),)), heights(7, 7, 7)))
    assert advice is not None
    assert advice.need_stored is None
    assert any("4,800 kg is short" in words for words in advice.sentences)


def test_a_sale_of_every_animal_is_no_way_out() -> None:
    there = ground(scene(farm(), heights(7, 7, 7)))
    assert sell(there, days(60), "sheep", "ewes", 50) is None
    kept = {way.head for way in options(there, days(365)) if way.key == "sell"}
    assert kept == {10}


def test_where_to_feed_and_what_to_spare_is_said_when_grass_is_short() -> None:
    trees = (Planting("row", "Row", "walnut_english", "3"),)
    of = farm(plantings=trees, promises=(until(days(60)),), hay=(lot(0, store_loss=None),))
    advice = feed_advice(scene(of, [*heights(7, 7, 7), event("2", Shut("mud"))]))
    assert advice is not None
    told = " ".join(advice.sentences)
    for words in ("P2 (Shut)", "one open paddock, P1", "be out of P3", "poison plants", "loss in the store"):
        assert words in told


def test_outcomes_without_a_price_are_told_in_bales() -> None:
    of = farm(hay=(lot(price=quantity("20 GBP", "money")),), promises=(until(days(60)),))
    advice = feed_advice(scene(of, heights(7, 7, 7)))
    assert advice is not None
    assert "GBP" in " ".join(advice.sentences)
