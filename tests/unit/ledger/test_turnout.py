"""The first grazing: the day, the hay until then, where to begin, what to keep off."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from browseline.events import Cut, Event, Forecast, Moved, Shut, Walked
from browseline.farm.records import Normals, Paddock, Place, Planting, Rules
from browseline.ledger.advice import feed_advice
from browseline.ledger.trees_near import feeding_ground, treed
from browseline.ledger.turnout import turnout
from browseline.limits import Scene
from browseline.sward import growing_days, left_alone
from browseline.weather import make
from tests.unit.ledger.small import (
    NOW,
    TODAY,
    ZONE,
    event,
    ewes,
    farm,
    heights,
    lot,
    mob,
    quantity,
    scene,
    stage,
    until,
)  # fmt: skip


def days(n: int) -> date:
    return TODAY + timedelta(days=n)


def in_yard(*more: Event, heights_cm: tuple[float, ...] = (6, 8, 7), **of: Any) -> Scene:
    return scene(farm(**({"mobs": (mob(at="yard"),)} | of)), [*heights(*heights_cm), *more])


def grows(cm_d: float, last: int = 90) -> Event:
    return event("farm", Forecast(days(last), height=quantity(f"{cm_d} cm/d", "height growth")))


def test_each_growth_has_its_day_and_the_slowest_comes_first() -> None:
    """The mean by area is (6 + 16 + 21) / 6 = 7.17 cm: 2.83 cm to go."""
    start = turnout(in_yard(grows(0.5), grows(0.1)), ())
    assert start is not None
    assert start.mean_cm == pytest.approx(43 / 6)
    assert [s.day for s in start.starts] == [days(29), days(6)]


def test_grass_high_enough_starts_today_and_no_growth_never() -> None:
    start = turnout(in_yard(grows(0.1), heights_cm=(12, 12, 12)), ())
    assert start is not None
    assert start.starts[0].day == TODAY
    still = turnout(in_yard(grows(0)), ())
    assert still is not None
    assert [s.day for s in still.starts] == [None]
    ends = turnout(in_yard(grows(0.1, last=20)), ())
    assert ends is not None
    assert ends.starts[0].day is None
    words = feed_advice(in_yard(grows(0.1, last=20)))
    assert words is not None
    assert "not as far as can be seen" in " ".join(words.sentences)


def test_hay_is_judged_at_the_most_they_will_eat() -> None:
    """648 kg: 6.48 d at 100 kg/d, 4.32 d at 150."""
    hungry = mob(ewes(50, "2 kg/d", (stage(days(3), "3 kg/d"),)), at="yard")
    start = turnout(in_yard(grows(0.1), mobs=(hungry,)), ())
    assert start is not None
    assert start.now is not None
    assert start.highest is not None
    assert start.now.days.value == pytest.approx(6.48)
    assert start.highest.days.value == pytest.approx(4.32)
    assert start.starts[0].spare_d == 4 - 29
    assert start.buy == -(-((29 + 5) * 150 - 648) // 64.8)


def test_the_farm_sets_its_own_margin() -> None:
    rules = Rules(hay_margin=quantity("0 d", "time"))
    start = turnout(in_yard(grows(0.1), rules=rules, hay=(lot(40),)), ())
    assert start is not None
    assert start.buy == -(-(29 * 100 - 40 * 64.8) // 64.8)


def test_enough_hay_buys_nothing() -> None:
    start = turnout(in_yard(grows(0.5), hay=(lot(40),)), ())
    assert start is not None
    assert (start.buy, start.starts[0].spare_d) == (0, 25 - 6)
    advice = feed_advice(in_yard(grows(0.5), hay=(lot(40),)))
    assert advice is not None
    assert "19 spare days" in " ".join(advice.sentences)
    assert "Buy" not in " ".join(advice.sentences)


@pytest.mark.parametrize("of", [{"hay": ()}, {"mobs": (mob(ewes(50, None), at="yard"),)}])
def test_without_hay_or_need_no_days_of_hay_are_made_up(of: dict[str, Any]) -> None:
    start = turnout(in_yard(grows(0.1), **of), ())
    assert start is not None
    assert (start.now, start.highest, start.buy, start.buy_d) == (None, None, 0, None)
    assert start.starts[0].spare_d is None
    advice = feed_advice(in_yard(grows(0.1), **of))
    assert advice is not None
    assert "Hay lasts" not in " ".join(advice.sentences)


def test_growth_that_nobody_typed_is_asked_for() -> None:
    advice = feed_advice(in_yard())
    assert advice is not None
    assert advice.turnout is not None
    assert advice.turnout.starts == ()
    assert "Growth is not known" in " ".join(advice.sentences)


def test_on_grass_or_unread_there_is_no_first_grazing() -> None:
    assert turnout(scene(farm(), heights(6, 6, 6)), ()) is None
    assert turnout(scene(farm(mobs=(mob(at="yard"),))), ()) is None
    assert turnout(scene(farm(mobs=()), heights(6, 6, 6)), ()) is None


def late_spring(*heights_cm: float, **of: Any) -> Scene:
    """Mobs in the yard while growth rises from a twentieth of what it is to all of it, day by day."""
    place, normals = Place(41.0, -45.0), Normals((20.0,) * 12, (9.0,) * 12, (80.0,) * 12)
    weather = make(place, normals, None, TODAY, days(40), 5, 1, warmup_days=60)
    assert weather is not None
    land = farm(place=place, normals=normals, mobs=(mob(at="yard"),), **of)
    seen = scene(land, heights(*heights_cm), growing=growing_days(land, weather))
    ahead, warmer = seen.herbage.ahead, np.linspace(0.05, 1, 30)[None, None, :, None]
    slow = replace(
        seen.herbage,
        ahead=ahead._replace(potential_kg_ha_d=ahead.potential_kg_ha_d * warmer),
        growth_kg_ha_d=seen.herbage.growth_kg_ha_d * 0.05,
    )
    return replace(seen, herbage=slow)


def test_growth_of_the_weather_is_that_of_each_day_ahead_not_of_today() -> None:
    seen = late_spring(8.5, 8.5, 8.5)
    start = turnout(seen, ())
    assert start is not None
    area = np.array([1.0, 2.0, 3.0])
    stands = np.average(np.median(left_alone(seen.herbage), axis=0), axis=1, weights=area)
    assert start.starts[0].day == days(int(np.flatnonzero(stands >= 1000)[0]))
    at_todays_growth = np.median(seen.herbage.growth_kg_ha_d, axis=0).mean()
    assert start.starts[0].day is not None
    assert start.starts[0].day < days(int(150 / at_todays_growth))


def test_a_height_beyond_the_days_that_are_foreseen_has_no_day_gap_or_bales() -> None:
    seen = late_spring(5.2, 5.2, 5.2)
    start = turnout(seen, ())
    assert start is not None
    assert (start.starts[0].day, start.starts[0].spare_d, start.buy) == (None, None, 0)
    told = feed_advice(seen)
    assert told is not None
    words = " ".join(told.sentences)
    assert "10 cm is reached not as far as can be seen, to 7 Aug, with growth" in words
    assert "gap" not in words
    assert "Buy" not in words


def test_a_move_from_field_to_field_is_no_turnout() -> None:
    moves = [planned("1", 22), planned("2", 24), planned("yard", 26), planned("3", 27)]
    start = turnout(late_spring(5.2, 5.2, 5.2), moves)
    assert start is not None
    assert [early.day for early in start.too_early] == [days(22), days(27)]
    assert start.too_early[0].low_cm < start.too_early[1].low_cm


def test_a_move_beyond_the_days_that_are_foreseen_is_not_judged() -> None:
    start = turnout(late_spring(5.2, 5.2, 5.2), [planned("1", 31)])
    assert start is not None
    assert start.too_early == ()


def planned(place: str, n: int) -> Event:
    at = datetime.combine(days(n), NOW.timetz())
    return event("ewes", Moved(place), at, planned=True)


def test_a_move_planned_before_any_growth_gets_there_is_too_early() -> None:
    moves = [
        planned("1", 3),
        planned("2", 10),
        planned("yard", 2),
        planned("1", -2),
        event("ewes", Moved("1")),
    ]
    start = turnout(in_yard(grows(0.1), grows(0.5)), moves)
    assert start is not None
    (early,) = start.too_early
    assert early.day == days(3)
    assert (early.low_cm, early.high_cm) == pytest.approx((43 / 6 + 0.3, 43 / 6 + 1.5))
    unknown = turnout(in_yard(), moves)
    assert unknown is not None
    assert unknown.too_early == ()


def test_begin_in_the_tallest_paddock_without_trees() -> None:
    trees = (Planting("row", "Row", "walnut_english", "2"),)
    start = turnout(in_yard(grows(0.1), plantings=trees), ())
    assert start is not None
    assert start.first == "3"
    assert start.first_cm == pytest.approx(7)
    everywhere = tuple(Planting(f"row{n}", "Row", "walnut_english", str(n)) for n in (1, 2, 3))
    none = turnout(in_yard(grows(0.1), plantings=everywhere), ())
    assert none is not None
    assert none.first is None


def test_the_first_of_last_year_is_named() -> None:
    began = datetime(2025, 4, 25, 8, tzinfo=ZONE)
    stays = [event("ewes", Moved("1"), began), event("ewes", Moved("3"), began + timedelta(days=4))]
    back = event("ewes", Moved("yard"), began + timedelta(days=9))
    of = replace(farm(mobs=(replace(mob(at="yard"), since=None),)), as_of=date(2025, 1, 1))
    advice = feed_advice(scene(of, [*heights(6, 8, 7), *stays, back, grows(0.1)]))
    assert advice is not None
    assert advice.turnout is not None
    assert advice.turnout.last_years_first == "1"
    assert "not in P1, which was first last year" in " ".join(advice.sentences)


def test_trees_are_seen_in_every_way_they_are_told() -> None:
    paddocks = (
        Paddock("a", "A", 1.0),
        Paddock("b", "B", 1.0, row_area_ha=0.1),
        Paddock("c", "C", 1.0, cover=quantity("30 %", "share")),
        Paddock("d", "D", 1.0, open_ground=False),
        Paddock("e", "E", 1.0),
    )
    of = farm(paddocks=paddocks, plantings=(Planting("x", "X", "hazel_hybrid", "e"),))
    assert [treed(of, p) for p in ("a", "b", "c", "d", "e", "gone")] == [False, True, True, True, True, False]


def test_hay_is_fed_where_the_farm_said_but_never_among_trees() -> None:
    def ground(sacrifice: str, *plantings: Planting, events: tuple[Event, ...] = ()) -> str | None:
        marked = tuple(replace(p, sacrifice=p.id == sacrifice) for p in farm().paddocks)
        seen = scene(farm(paddocks=marked, plantings=plantings), [*heights(9, 6, 7), *events])
        return feeding_ground(seen, [0, 1, 2])

    row = Planting("x", "X", "hazel_hybrid", "1")
    assert ground("1") == "1"
    assert ground("1", row) == "2"
    assert ground("1", events=(event("1", Shut("mud")),)) == "2"
    assert ground("none", row, replace(row, paddock="2"), replace(row, paddock="3")) is None


def test_the_words_name_lots_that_are_not_described() -> None:
    events = [event("2", Cut(bales=quantity("5 bales", "count")), NOW), grows(0.1)]
    advice = feed_advice(in_yard(*events, hay=(lot(), lot(0, "loft"))))
    assert advice is not None
    assert any(words.startswith("cut/2") for words in advice.sentences)


def test_a_newer_height_rules() -> None:
    newer = [*heights(6, 8, 7), event("1", Walked(quantity("12 cm", "length")))]
    start = turnout(scene(farm(mobs=(mob(at="yard"),)), newer), ())
    assert start is not None
    assert start.mean_cm == pytest.approx((12 + 16 + 21) / 6)


def test_hay_that_lasts_is_told_in_weight_as_stored() -> None:
    """50 ewes at 2 kg for 5 d eat 500 kg of the 648: 771.6 kg as stored."""
    promise = until(days(5))
    advice = feed_advice(scene(farm(mobs=(mob(at="yard"),), promises=(promise,))))
    assert advice is not None
    assert "As stored that is 772 kg of hay." in advice.sentences
    assert advice.options == ()


def test_where_trees_stand_everywhere_no_paddock_is_named_to_start_or_feed_in() -> None:
    everywhere = tuple(Planting(f"row{n}", "Row", "walnut_english", str(n)) for n in (1, 2, 3))
    start = feed_advice(in_yard(grows(0.1), plantings=everywhere))
    assert start is not None
    assert not any(words.startswith("Start in") for words in start.sentences)
    dry = feed_advice(scene(farm(plantings=everywhere, promises=(until(days(60)),)), heights(7, 7, 7)))
    assert dry is not None
    assert dry.feed_in is None
    assert "one open paddock" not in " ".join(dry.sentences)
    assert any(words.startswith("No short grass among trees") for words in dry.sentences)


def test_hay_is_told_even_where_the_grass_never_gets_there() -> None:
    advice = feed_advice(in_yard(grows(0)))
    assert advice is not None
    told = " ".join(advice.sentences)
    assert "Hay lasts 6.5 d" in told
    assert "spare" not in told
    assert "gap" not in told
