"""Stock on the feed that grows: three rules, worked by hand; herds that keep their number."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline import tables
from browseline.decades.herd import Herd, herd_of, is_young, rate
from browseline.decades.start import Start
from browseline.decades.stock import Carried, carry
from browseline.farm.future import Future, StockRule
from browseline.farm.records import Line, Mob, Promise
from browseline.record.state import HeadLine, MobState
from browseline.units import parse
from tests import small_farm

Array = NDArray[np.float64]
MONTH_KG = 1000.0
MAY, JUNE = 4, 5


def start(*lines: Line, season: tuple[date, date] | None = None) -> Start:
    promises = (Promise("s", "grazing", "season", *season),) if season else ()
    farm = replace(small_farm.farm(), mobs=(Mob("mob", "Mob", lines),), promises=promises)
    heads = tuple(HeadLine(x.kind, x.klass, x.head, x.weight, x.intake) for x in lines)
    state = replace(small_farm.state(farm), mobs=(MobState("mob", "Mob", heads, "1", None),))
    return Start(farm, state, date(2026, 5, 6))


def ewes(head: int = 100, births: date | None = None) -> Line:
    return Line("sheep", "ewe maintenance", head, intake=parse("1 kg/d", "intake"), births=births)


def grown(*yearly_kg: float) -> Array:
    """Return growth spread evenly over the months, one member."""
    return np.repeat(np.array(yearly_kg)[:, None, None] / 12, 12, axis=2)


def carried(made: Herd, kg: Array, rule: StockRule, build_up: str | None = None) -> Carried:
    typed = parse(build_up, "share") if build_up else None
    return carry(made, kg, Future(stock=rule, build_up=typed), 1, range(kg.shape[1]))


def test_need_is_head_times_intake_times_days() -> None:
    (only,) = herd_of(start(ewes())).classes
    assert only.need_kg.sum() == pytest.approx(365)
    assert only.need_kg[[0, 1, 3]] == pytest.approx([31, 28, 30])


def test_only_the_days_of_the_season_are_grazed() -> None:
    (only,) = herd_of(start(ewes(), season=(date(2026, 5, 11), date(2026, 7, 1)))).classes
    assert only.grazed_kg[[MAY, JUNE]] == pytest.approx([21, 30])
    assert only.grazed_kg.sum() == pytest.approx(51)
    assert only.need_kg.sum() == pytest.approx(365)


def test_fixed_head_buy_what_is_short() -> None:
    made = carried(herd_of(start(ewes())), grown(36_500, 18_250), "fixed")
    assert made.head[:, 0, 0] == pytest.approx([100, 100])
    assert made.hay_kg.sum(axis=2)[1, 0] == pytest.approx(18_250, rel=0.01)


def test_follow_carries_next_year_what_the_last_one_bore() -> None:
    made = carried(herd_of(start(ewes())), grown(36_500, 18_250, 36_500, 36_500), "follow", "20 %")
    assert made.head[:, 0, 0] == pytest.approx([100, 100, 50, 70])
    assert made.hay_kg[1].sum() > 0


def test_sell_down_sells_after_a_short_year_and_builds_up_to_todays_head_only() -> None:
    feed = grown(60_000, 18_250, 60_000, 60_000, 60_000, 60_000)
    made = carried(herd_of(start(ewes())), feed, "sell_down", "20 %")
    assert made.head[:, 0, 0] == pytest.approx([100, 100, 50, 70, 90, 100])
    followed = carried(herd_of(start(ewes())), feed, "follow", "20 %")
    assert followed.head[1, 0, 0] == pytest.approx(120)


def test_what_a_month_grows_lasts_for_the_next_one_only() -> None:
    feed = np.zeros((1, 1, 12))
    feed[0, 0, MAY] = 10_000.0
    made = carried(herd_of(start(ewes())), feed, "fixed")
    bought = made.hay_kg[0, 0]
    assert bought[MAY] == 0
    assert bought[JUNE] == 0
    assert bought[JUNE + 1] == pytest.approx(3100)
    assert made.spare_kg[0, 0] == pytest.approx(10_000 - 3100 - 3000)


def test_a_flock_that_keeps_its_number_sells_what_it_does_not_keep() -> None:
    """Born less dead and kept is sold: head in equals head out, by the table's own rates."""
    herd = herd_of(start(ewes(births=date(2026, 4, 10))))
    made = carried(herd, np.repeat(grown(60_000, 60_000), 40, axis=1), "fixed")
    balance = made.born + made.bought - made.died - made.sold
    assert balance == pytest.approx(0, abs=1e-9)
    middle = float(np.median(made.born[0, :, 0]))
    assert middle == pytest.approx(100 * tables.row("breeding", "born_per_head", "sheep").middle(), rel=0.15)


@pytest.mark.parametrize("rule", ["fixed", "follow", "sell_down"])
def test_head_change_by_what_comes_and_goes(rule: StockRule) -> None:
    herd = herd_of(start(ewes(births=date(2026, 4, 10))))
    made = carried(herd, np.repeat(grown(36_500, 18_000, 50_000, 40_000), 5, axis=1), rule)
    change = (made.born + made.bought - made.died - made.sold)[:-1]
    assert np.diff(made.head, axis=0) == pytest.approx(change, abs=1e-9)


def test_young_of_a_line_of_their_own_are_not_born_twice() -> None:
    lambs = Line("sheep", "lambs", 150, intake=parse("0.8 kg/d", "intake"))
    herd = herd_of(start(ewes(births=date(2026, 4, 10)), lambs))
    made = carried(herd, np.repeat(grown(90_000), 40, axis=1), "fixed")
    assert made.born[0, :, 0] == pytest.approx(0)
    assert made.born[0, :, 1] == pytest.approx(150)
    assert (made.sold[0, :, 1] < 150).all()


def test_bought_in_young_are_bought_every_year() -> None:
    steers = Line("cattle", "beef steer growing", 30, intake=parse("8 kg/d", "intake"))
    made = carried(herd_of(start(steers)), grown(60_000, 60_000), "fixed")
    assert made.bought[:, 0, 0] == pytest.approx([30, 30])
    assert (made.sold[:, 0, 0] < 30).all()
    assert (made.sold[:, 0, 0] > 27).all()


def test_hens_are_fed_and_lay() -> None:
    hens = Line("chicken", "layer", 50)
    made = carried(herd_of(start(hens)), np.repeat(grown(1000.0), 60, axis=1), "follow")
    assert made.need_kg.sum() == 0
    assert made.head[0, :, 0] == pytest.approx(50)
    laid = tables.row("breeding", "eggs_per_hen", "chicken").middle()
    assert float(np.median(made.eggs)) == pytest.approx(50 * laid, rel=0.1)


def test_a_class_whose_need_is_not_known_is_named_not_fed() -> None:
    made = herd_of(start(Line("goose", "strange", 5)))
    assert made.unknown == ("goose, strange",)
    assert made.need("need_kg").sum() == 0


def test_rates_hold_eight_members_in_ten_between_low_and_high() -> None:
    drawn = rate(7, "dying_young", "sheep", range(400))
    assert drawn is not None
    row = tables.row("breeding", "dying_young", "sheep")
    assert row.low is not None
    assert row.high is not None
    assert 0.75 <= float(((drawn > row.low) & (drawn < row.high)).mean()) <= 0.85


@pytest.mark.parametrize(
    ("kind", "klass", "young"),
    [("sheep", "Lambs", True), ("sheep", "ram", False), ("cattle", "beef cow lactating", False),
     ("cattle", "dairy heifer", True), ("pig", "sow gestating", False), ("pig", "grower 20-60 kg", True)],
)  # fmt: skip
def test_young_stock_are_known_by_name(kind: str, klass: str, young: bool) -> None:
    assert is_young(kind, klass) is young


def test_the_breeding_calendar_comes_round_every_year() -> None:
    """s14's steps 2.6, 4.0, 4.4 lb/d: the year's need is that of the days of each stage."""
    line = Line("sheep", "ewe lactating twins", 10, births=date(2026, 4, 10))
    (only,) = herd_of(start(line)).classes
    daily = only.need_kg / np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert daily[MAY] == daily.max()
    assert daily[8] == pytest.approx(daily[9])
    assert daily[2] > daily[9]
    assert only.breeds


def test_head_are_not_kept_on_ground_that_is_kept_for_hay() -> None:
    """36,500 kg grow for 100 ewes that want as much; a quarter is kept for hay: the rest bears 75 of them."""
    kg = grown(36_500, 36_500, 36_500)
    herd = herd_of(start(ewes()))
    for rule in ("follow", "sell_down"):
        future = Future(stock=rule)
        made = carry(herd, kg, future, 1, range(1), kg / 4)
        assert made.head[:, 0, 0] == pytest.approx([100, 75, 75])
        assert carry(herd, kg, future, 1, range(1)).head[:, 0, 0] == pytest.approx([100, 100, 100])
    assert carry(herd, kg, Future(), 1, range(1), kg / 4).head[-1, 0, 0] == 100
