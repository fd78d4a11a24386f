"""Worms with weather: the day-degree date beside 4 and 35 days, all readings of K06, who shares worms."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from browseline.events import When
from browseline.farm.records import DailyRecords
from browseline.limits import Scene, bites, faces, ready
from browseline.record.state import HeadLine, Stay
from tests.small_farm import NOW, ZONE, days_after, ewes, farm, scene, state

SUMMER = datetime(2026, 7, 10, 7, tzinfo=ZONE)
APRIL = datetime(2026, 4, 2, 7, tzinfo=ZONE)


def worms(found: list[Any]) -> Any:
    return next(b for b in found if b.limit == "worms")


def rest(seen: Scene) -> Any:
    return next(r for r in ready(seen, "ewes", "2") if r.limit == "worms")


def on(now: datetime, since: datetime | None = None, **more: Any) -> Scene:
    small = farm(weather=True)
    made = state(small, at=now, mob=ewes(since=since or now), **more)
    return scene(small, replace(made, heights=tuple(replace(h, at=When.at(now)) for h in made.heights)), now)


def test_the_likely_date_is_the_rules_whatever_the_weather() -> None:
    for instant in (SUMMER, APRIL):
        moment = worms(bites(on(instant), "ewes", "1")).moment
        assert days_after(instant, moment.likely) == 4


def test_in_the_cold_the_latest_is_later_and_the_planner_keeps_4_days() -> None:
    seen = on(APRIL)
    bite = worms(bites(seen, "ewes", "1"))
    assert days_after(APRIL, bite.moment.latest) > 10
    assert "lengthens no stay" in bite.because
    face: Any = next(f for f in faces(seen) if f.name == "worms")
    assert (face.longest_stay_d == 4).all()


def test_without_weather_only_the_rule_speaks() -> None:
    bite = worms(bites(scene(), "ewes", "1"))
    assert bite.moment.earliest == bite.moment.likely == bite.moment.latest
    assert "warmth" not in bite.because


def test_rest_is_35_days_and_a_cold_spring_only_moves_the_latest() -> None:
    left = Stay("ewes", "2", When.at(APRIL - timedelta(days=5)), When.at(APRIL - timedelta(days=1)))
    seen = on(APRIL, stays=(left,))
    answer = rest(seen)
    assert days_after(APRIL, answer.moment.likely) == 34
    assert answer.moment.earliest == answer.moment.likely <= answer.moment.latest


@pytest.mark.parametrize(("rest_over_d", "orders"), [(-1, True), (0, False), (3, False)])
def test_a_rest_that_is_over_orders_nobody_out(rest_over_d: int, orders: bool) -> None:
    """They went in a day or more before the rest was over; once it is over that is a note of what was."""
    since = NOW - timedelta(days=rest_over_d + 1)
    left = NOW - timedelta(days=35 + rest_over_d)
    small = farm()
    stays = (Stay("ewes", "1", When.at(left - timedelta(days=3)), When.at(left)),)
    seen = scene(small, state(small, mob=ewes(since=since), stays=stays))
    found = [b for b in bites(seen, "ewes", "1") if b.limit == "worms"]
    assert any(b.short == "rest not over" for b in found) is orders
    longest = next(b for b in found if b.short != "rest not over")
    assert ("They went in before the 35 d of rest ended" in longest.because) is not orders
    assert any(f.name == "worm_rest" for f in longest.figures) is not orders


def test_all_three_readings_of_k06_stand_under_why() -> None:
    left = Stay("ewes", "2", When.at(NOW - timedelta(days=9)), When.at(NOW - timedelta(days=5)))
    small = farm()
    seen = scene(small, state(small, stays=(left,)))
    for figures in (
        rest(seen).figures,
        worms(bites(seen, "ewes", "2")).figures,
    ):
        told = {(f.name, f.value, f.low, f.high) for f in figures}
        assert ("worm_rest", 35, None, None) in told
        assert ("worm_rest_long", 70, None, None) in told
        assert ("worm_die_off", None, 60, 150) in told
        assert ("worm_die_off", None, 90, 180) in told
    assert all(f.mark == "B" for f in figures)


def test_the_page_calls_no_interval_clean() -> None:
    left = Stay("ewes", "2", When.at(NOW - timedelta(days=90)), When.at(NOW - timedelta(days=86)))
    small = farm()
    seen = scene(small, state(small, stays=(left,)))
    answer = rest(seen)
    assert answer.moment.likely <= NOW
    assert "not clean pasture" in answer.because


@pytest.mark.parametrize("kind", ["cattle", "horse", "pig", "goose", "chicken"])
def test_other_kinds_carry_none_of_these_worms(kind: str) -> None:
    other = replace(ewes(), lines=(HeadLine(kind, "", 5),))
    small = farm()
    seen = scene(small, state(small, mob=other))
    assert not [b for b in bites(seen, "ewes", "1") if b.limit == "worms"]
    assert next((r for r in ready(seen, "ewes", "2") if r.limit == "worms"), None) is None


def test_goats_leave_what_sheep_must_not_eat() -> None:
    goats = replace(ewes("2"), id="goats", lines=(HeadLine("goat", "doe maintenance", 20),))
    small = farm()
    stay = Stay("goats", "2", When.at(NOW - timedelta(days=9)), When.at(NOW - timedelta(days=5)))
    made = state(small, stays=(stay,))
    seen = scene(small, replace(made, mobs=(*made.mobs, replace(goats, place=None, since=None))))
    answer = rest(seen)
    assert days_after(NOW, answer.moment.likely) == pytest.approx(30)


def test_rain_over_drying_is_told_once_three_days_are_over() -> None:
    days = tuple(date(2026, 6, 25) + timedelta(days=n) for n in range(16))
    daily = DailyRecords(days, (28.0,) * 16, (16.0,) * 16, (10.0,) * 16)
    small = farm(weather=True, daily=daily)
    for stood_d, told in ((2, False), (4, True)):
        since = SUMMER - timedelta(days=stood_d)
        seen = scene(small, state(small, at=SUMMER, mob=ewes(since=since)), SUMMER)
        bite = worms(bites(seen, "ewes", "1"))
        assert ("Rain over drying" in bite.because) is told
    ratio = next(f for f in bite.figures if f.name == "worm_moisture")
    assert 1 < ratio.value < 4  # 10 mm a day over the 4 to 6 mm that a hot July day dries


def test_weather_that_ends_before_the_day_says_nothing() -> None:
    from browseline.limits import _larvae

    seen = on(SUMMER)
    assert _larvae.infective(seen, SUMMER + timedelta(days=900)) is None
    assert _larvae.wetness(seen, SUMMER - timedelta(days=9000)) is None
