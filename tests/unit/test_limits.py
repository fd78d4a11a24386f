"""Limits on a small farm: each number is the arithmetic of the sheet, done by hand beside it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Planting, Promise, Rules
from browseline.limits import Bite, bites, faces, known, ready
from browseline.record.state import Question, ShutState, Stay, TypedGrowth
from browseline.units import parse
from tests.small_farm import NOW, days_after, ewes, farm, scene, some, state


def of(found: list[Bite], limit: str) -> Bite:
    return next(b for b in found if b.limit == limit)


def test_every_limit_has_one_form_and_a_name_in_words() -> None:
    from browseline.words import say

    names = [limit.name for limit in known()]
    assert names == sorted(names)
    assert len(set(names)) == len(names)
    assert {"grass", "worms", "shut", "harvest", "count", "water", "promise"} <= set(names)
    assert all(say(f"limits.{name}.name") for name in names)


def test_grass_is_height_above_leave_over_demand() -> None:
    # 3 ac x 4 in x 275 lb x 0.70 / 264 lb/d = 8.75 d (arithmetic of the job sheet, M1)
    grass = of(bites(scene(), "ewes", "1"), "grass")
    assert days_after(NOW, some(grass.moment).likely) == pytest.approx(8.75, abs=1e-6)
    assert grass.no_growth == some(grass.moment).likely
    assert some(grass.moment).earliest < some(grass.moment).likely < some(grass.moment).latest


def test_worms_come_before_grass_and_are_told_first() -> None:
    found = bites(scene(), "ewes", "1")
    assert [b.limit for b in found[:2]] == ["worms", "grass"]
    assert days_after(NOW, some(found[0].moment).likely) == 4


def test_a_lower_height_puts_grass_first() -> None:
    # 5 in: 3 ac x 1 in x 275 x 0.70 / 264 = 2.19 d (M2)
    small = farm()
    found = bites(scene(small, state(small, height="5 in")), "ewes", "1")
    assert found[0].limit == "grass"
    assert days_after(NOW, some(found[0].moment).likely) == pytest.approx(2.1875, abs=1e-6)


def test_typed_growth_lengthens_the_stay_and_the_still_date_stands_beside() -> None:
    small = farm()
    typed = TypedGrowth(When.at(NOW), date(2026, 7, 1), "", parse("8 lb/ac/d", "herbage growth"))
    grass = of(bites(scene(small, state(small, growth=(typed,))), "ewes", "1"), "grass")
    # 2310 lb / (264 - 3 ac x 8 lb x 0.70)
    assert days_after(NOW, some(grass.moment).likely) == pytest.approx(2310 / (264 - 3 * 8 * 0.7), rel=0.01)
    assert days_after(NOW, some(grass.no_growth)) == pytest.approx(8.75, abs=1e-6)


def test_one_day_late_takes_what_one_day_takes() -> None:
    grass = of(bites(scene(), "ewes", "1"), "grass")
    assert [late.days for late in grass.late] == [1, 2, 3]
    assert some(grass.late[0].feed_kg).value == pytest.approx(264 * 0.45359237 / 0.7, rel=1e-3)


def test_where_growth_keeps_up_a_day_late_takes_nothing_and_nothing_is_told_of_it() -> None:
    """3 ac × 200 lb a day grow past the 264 ÷ 0.7 lb that they take: "about 0 in" helps nobody."""
    small = farm()
    typed = TypedGrowth(When.at(NOW), date(2026, 7, 1), "", parse("200 lb/ac/d", "herbage growth"))
    grass = of(bites(scene(small, state(small, height="4 in", growth=(typed,))), "ewes", "1"), "grass")
    assert some(grass.moment).likely <= NOW
    assert grass.late == ()


def test_grass_that_lasts_with_no_growth_is_not_kept_up_by_growth_and_its_days_are_its_formula() -> None:
    small = farm()
    typed = TypedGrowth(When.at(NOW), date(2026, 7, 1), "", parse("1 lb/ac/d", "herbage growth"))
    grass = of(bites(scene(small, state(small, height="200 in", growth=(typed,))), "ewes", "1"), "grass")
    assert grass.moment is None
    assert "lasts for as far as can be seen with no growth" in grass.because
    _, above, days = grass.figures
    assert some(days.value) == pytest.approx(some(above.value) / (264 * 0.45359237))
    assert days.formula.endswith("÷ 119.7 kg/d")


def test_a_stay_since_an_interval_counts_worms_from_its_start() -> None:
    mob = replace(ewes(), since=When(NOW - timedelta(hours=10), NOW))
    worms = of(bites(scene(state_=state(farm(), mob=mob)), "ewes", "1"), "worms")
    assert days_after(NOW, some(worms.moment).likely) == pytest.approx(4 - 10 / 24)
    assert days_after(NOW, some(worms.moment).latest) == pytest.approx(4)


def test_rest_after_hosts_is_told_and_the_later_ready_date_comes_first() -> None:
    small = farm()
    left = Stay("ewes", "2", When.at(NOW - timedelta(days=18)), When.at(NOW - timedelta(days=14)))
    seen = scene(small, state(small, stays=(left, Stay("ewes", "1", When.at(NOW)))))
    answers = ready(seen, "ewes", "2")
    assert answers[0].limit == "worms"
    assert days_after(NOW, some(answers[0].moment).likely) == pytest.approx(21)
    assert some(next(a for a in answers if a.limit == "grass").moment).likely <= NOW
    too_soon = of(bites(seen, "ewes", "2"), "worms")
    assert some(too_soon.moment).likely == NOW
    assert "27 May" in too_soon.because


def test_shut_until_a_condition_never_ends_by_itself() -> None:
    small = farm()
    shut = ShutState("2", "limb down", When.at(NOW), until="cleared")
    seen = scene(small, state(small, shut=(shut,)))
    closed = some(next(f for f in faces(seen) if f.name == "shut").closed)
    assert closed[:, :, 1].all()
    assert not closed[:, :, 0].any()
    bite = of(bites(seen, "ewes", "2"), "shut")
    assert (bite.hardness, bite.short) == ("hard", "limb down")


def test_shut_until_a_day_opens_on_that_day() -> None:
    small = farm()
    shut = ShutState("2", "reseeded", When.at(NOW), until_day=date(2026, 5, 16))
    closed = some(next(f for f in faces(scene(small, state(small, shut=(shut,)))) if f.name == "shut").closed)
    assert closed[0, :10, 1].all()
    assert not closed[0, 10:, 1].any()


@pytest.mark.parametrize(("interval", "last"), [("120 d", date(2026, 5, 28)), ("90 d", date(2026, 6, 27))])
def test_harvest_less_the_interval_is_the_last_grazing(interval: str, last: date) -> None:
    # 25 Sep - 120 d = 28 May; - 90 d = 27 Jun (M11, P8)
    rows = Planting(
        "rows", "Rows", "walnut_english", "2", first_drop=date(2026, 9, 25), interval=parse(interval, "time")
    )
    small = farm(plantings=(rows,))
    harvest = of(bites(scene(small), "ewes", "2"), "harvest")
    assert some(harvest.moment).likely.date() == last
    assert harvest.hardness == "hard"


def test_water_none_shuts_and_a_trailer_runs_dry() -> None:
    small = farm()
    dry, trailer, open_ = small.paddocks
    small = replace(
        small,
        paddocks=(
            replace(dry, water="none"),
            replace(trailer, water="trailer", trough=parse("150 gal", "volume")),
            open_,
        ),
    )
    seen = scene(small)
    assert of(bites(seen, "ewes", "1"), "water").hardness == "hard"
    water = of(bites(seen, "ewes", "2"), "water")
    # a ewe in milk drinks 2.36 gal cool (sdsu_ewe_water2022) to 12.5 L hot: 150 gal = 567.8 L
    assert days_after(NOW, some(water.moment).earliest) == pytest.approx(567.81 / 60 / 12.5, rel=1e-3)
    cool_l = 2.36 * 3.785412
    assert days_after(NOW, some(water.moment).latest) == pytest.approx(567.81 / 60 / cool_l, rel=1e-3)
    assert some(next(f for f in faces(seen) if f.name == "water").closed)[0, :, 0].all()


def test_a_promise_keeps_out_and_an_absence_stops_moves() -> None:
    hay = Promise("h", "hay", "hay", date(2026, 5, 10), date(2026, 5, 20), ("3",))
    away = Promise("a", "away", "away", date(2026, 5, 12), date(2026, 5, 14))
    small = farm(promises=(hay, away), rules=Rules(no_move_weekdays=(7,)))
    face = next(f for f in faces(scene(small)) if f.name == "promise")
    assert np.flatnonzero(some(face.closed)[0, :, 2]).tolist() == list(range(4, 14))
    assert np.flatnonzero(some(face.no_move))[:4].tolist() == [4, 6, 7, 11]


def test_a_count_that_does_not_add_up_is_a_question_and_changes_nothing() -> None:
    small = farm()
    asked = Question(
        "count",
        "ewes",
        When.at(NOW),
        (
            ("mob", "Ewes"),
            ("counted", "59"),
            ("expected", "60"),
            ("difference", "-1"),
            ("animals", "sheep"),
            ("since_at", "Wed 7:00"),
        ),
    )
    found = bites(scene(small, state(small, questions=(asked,))), "ewes", "1")
    assert of(found, "count").hardness == "question"
    assert of(found, "grass").moment == of(bites(scene(), "ewes", "1"), "grass").moment


def test_no_height_is_said_and_not_guessed() -> None:
    small = farm()
    grass = of(bites(scene(small, state(small, heights=())), "ewes", "1"), "grass")
    assert grass.moment is None
    assert grass.hardness == "question"


def test_regrowth_bites_only_where_grass_grows() -> None:
    assert not [b for b in bites(scene(), "ewes", "1") if b.limit == "regrowth"]
    small = farm(weather=True)
    again = of(bites(scene(small), "ewes", "1"), "regrowth")
    assert 3 <= days_after(NOW, some(again.moment).likely) <= 7
