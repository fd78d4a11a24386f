"""The sward arrow on a small farm: what a height becomes, hour by hour and member by member."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Sward
from browseline.record.state import CutDone, GroundLook, HeightRead, Stay
from browseline.sward import Herbage, leave_at, share_eaten, still, sward_numbers
from browseline.sward.clock import day_number
from browseline.sward.start import paired_normal, reading_error_kg_ha
from browseline.units import parse
from tests.small_farm import NOW, ZONE, ewes, farm, heights, scene, state

LB_AC_KG_HA = 0.45359237 / 0.40468564224


def test_a_height_is_mass_straight_through_the_ground() -> None:
    # 8 in x 275 lb/ac/in = 2,200 lb/ac, University of Maine lesson 5 (mean "good" row), by hand
    herbage = scene().herbage
    assert np.median(herbage.mass_kg_ha[:, 0]) == pytest.approx(2200 * LB_AC_KG_HA, rel=1e-9)


def test_the_middle_member_is_the_height_as_read() -> None:
    drawn = paired_normal(7, "anything", 31)
    assert drawn[0] == 0
    assert np.median(drawn) == 0
    assert drawn[1::2] == pytest.approx(-drawn[2::2])
    assert paired_normal(7, "anything", 51)[:31] == pytest.approx(drawn)


def test_more_readings_narrow_the_error() -> None:
    # 350 to 750 kg/ha for a mean of few readings (forage.md 1.3, 6)
    errors = [reading_error_kg_ha(n) for n in (1, 5, 20, 1000)]
    assert errors == sorted(errors, reverse=True)
    assert errors[0] == pytest.approx(750)
    assert errors[-1] == pytest.approx(350, rel=0.01)
    assert reading_error_kg_ha(None) == 550


def test_grazing_since_the_height_has_come_off() -> None:
    small = farm()
    read = NOW - timedelta(days=2)
    mob = replace(ewes(since=read))
    seen = state(
        small,
        mob=mob,
        stays=(Stay("ewes", "1", When.at(read)),),
        heights=heights({"1": "8 in", "2": "8 in", "3": "8 in"}, read),
    )
    herbage = scene(small, seen).herbage
    eaten_in = 2 * 264 / 0.7 / 3 / 275
    assert herbage.numbers[0].height_cm(float(np.median(herbage.mass_kg_ha[:, 0]))) / 2.54 == pytest.approx(
        8 - eaten_in
    )
    assert herbage.numbers[1].height_cm(float(np.median(herbage.mass_kg_ha[:, 1]))) / 2.54 == pytest.approx(8)


def test_a_height_read_at_noon_is_not_grazed_twice_for_the_morning() -> None:
    small = farm()
    begin, read = NOW, NOW + timedelta(hours=5)
    seen = state(
        small,
        mob=ewes(since=begin),
        stays=(Stay("ewes", "1", When.at(begin)),),
        heights=heights({"1": "7 in", "2": "7 in", "3": "7 in"}, read),
    )
    at_read = scene(small, seen, read).herbage
    assert at_read.numbers[0].height_cm(float(np.median(at_read.mass_kg_ha[:, 0]))) / 2.54 == pytest.approx(7)
    later = scene(small, seen, read + timedelta(hours=6)).herbage
    lost = 0.25 * 264 / 0.7 / 3 / 275
    assert later.numbers[0].height_cm(float(np.median(later.mass_kg_ha[:, 0]))) / 2.54 == pytest.approx(
        7 - lost, rel=1e-6
    )


def test_a_cut_leaves_the_height_of_the_bar() -> None:
    small = farm()
    read = NOW - timedelta(days=3)
    cut = CutDone("2", When.at(NOW - timedelta(days=1)), "hay", parse("3 in", "length"))
    seen = state(small, heights=heights({p.id: "12 in" for p in small.paddocks}, read), cuts=(cut,))
    herbage = scene(small, seen).herbage
    assert herbage.numbers[1].height_cm(float(np.median(herbage.mass_kg_ha[:, 1]))) / 2.54 == pytest.approx(
        3, rel=1e-6
    )


def test_without_weather_or_a_typed_figure_nothing_grows_and_nothing_rots() -> None:
    herbage = scene().herbage
    assert not herbage.growth_kg_ha_d.any()
    assert set(herbage.growth_from) == {""}


def test_with_normals_may_grass_grows_and_still_days_stand_beside() -> None:
    herbage = scene(farm(weather=True)).herbage
    assert set(herbage.growth_from) == {"weather"}
    # N Ireland weekly reports reach 100 kg/ha/d in May; slump and winter 0-30 (forage.md 1.5)
    assert 10 < np.median(herbage.growth_kg_ha_d[:, 0]) < 130
    assert not np.nan_to_num(still(herbage).ahead.typed_kg_ha_d).any()


def test_one_more_paddock_changes_no_other_draw() -> None:
    three, four = farm(weather=True), farm((3.0, 3.0, 3.0, 3.0), weather=True)
    a, b = scene(three).herbage, scene(four).herbage
    assert np.array_equal(a.mass_kg_ha, b.mass_kg_ha[:, :3])
    assert np.array_equal(a.fertility, b.fertility[:, :3])


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 8), 23), (date(2026, 6, 1), 24), (date(2026, 11, 1), 25)]
)
def test_days_of_23_and_25_hours_are_whole_days(day: date, hours: int) -> None:
    # US clock changes of 2026 (tz database)
    zone = ZoneInfo("America/New_York")
    begin = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC)
    assert day_number(begin + timedelta(hours=hours), day, zone) == 1
    assert day_number(begin + timedelta(hours=hours / 2), day, zone) == pytest.approx(0.5)


def test_book_sward_leaves_more_for_sheep_in_worm_season() -> None:
    own = Sward("home", "orchardgrass_legume")
    small = farm(own=own)
    numbers = sward_numbers(small, small.paddocks[0])
    # orchardgrass 3-4 in (list), worm rule 6-8 in (attra_parasites): the higher wins (K07)
    assert leave_at(numbers, ["cattle"]).value == pytest.approx(4 * 2.54)
    assert leave_at(numbers, ["sheep"]).value == pytest.approx(15)


def test_what_the_farm_typed_rules_over_the_worm_height() -> None:
    small = farm()
    assert leave_at(sward_numbers(small, small.paddocks[0]), ["sheep"]).value == pytest.approx(4 * 2.54)


@pytest.mark.parametrize(("days", "share"), [(0.5, 0.80), (1, 0.80), (3.2, 0.70), (7, 0.60), (30, 0.60)])
def test_share_eaten_falls_with_the_stay(days: float, share: float) -> None:
    # psu_agronomy_guide, Table 1.8-9
    small = farm(own=Sward("home", "mixed_cool"))
    assert share_eaten(sward_numbers(small, small.paddocks[0]), days).value == pytest.approx(share)


def test_density_class_of_a_reading_changes_its_mass() -> None:
    small = farm(own=Sward("home", "mixed_cool"))
    read = HeightRead("2", When.at(NOW), parse("8 in", "length"), density="fair", event="height-2")
    seen = state(small)
    seen = replace(seen, heights=(*seen.heights[:1], read, *seen.heights[2:]))
    herbage = scene(small, seen).herbage
    good, fair = (float(np.median(herbage.mass_kg_ha[:, i])) for i in (0, 1))
    # mixed pasture: fair 150-200, good 250-300 lb/ac/in (cornell_stick)
    assert fair / good == pytest.approx(175 / 275)
    assert ZONE.key == small.time_zone


# ---------------------------------------------------------------- bare ground


def looked(share: str, days: float) -> GroundLook:
    """A look at paddock 1 so many days ago."""
    return GroundLook("1", When.at(NOW - timedelta(days=days)), parse(share, "share"), event=f"look {days}")


def stands(*looks: GroundLook, read_days: float = 2) -> Herbage:
    small = farm()
    read = HeightRead("1", When.at(NOW - timedelta(days=read_days)), parse("8 in", "length"))
    known = replace(state(small), heights=(read,), ground=looks)
    return scene(small, known).herbage


def test_what_a_look_found_bare_bears_nothing_any_more() -> None:
    all_of_it = stands().mass_kg_ha[:, 0]
    assert stands(looked("45 %", 1)).mass_kg_ha[:, 0] == pytest.approx(0.55 * all_of_it)
    assert stands(looked("30 %", 1.5), looked("45 %", 1)).mass_kg_ha[:, 0] == pytest.approx(0.55 * all_of_it)
    assert stands(looked("100 %", 1)).mass_kg_ha[:, 0] == pytest.approx(0)
    (bare,) = [f for f in stands(looked("45 %", 1)).height_now(0).parts if f.name == "bare"]
    assert bare.value == pytest.approx(45)
    assert bare.typed == "45 %"


@pytest.mark.parametrize("looks", [(("45 %", 3),), (("45 %", 3), ("45 %", 1)), (("45 %", 3), ("20 %", 1))])
def test_a_height_holds_what_was_bare_before_it(looks: tuple[tuple[str, float], ...]) -> None:
    found = stands(*(looked(*one) for one in looks))
    assert found.mass_kg_ha[:, 0] == pytest.approx(stands().mass_kg_ha[:, 0])
    assert all(f.name != "bare" for f in found.height_now(0).parts)


def test_only_what_became_bare_since_the_height_comes_off() -> None:
    found = stands(looked("20 %", 3), looked("60 %", 1)).mass_kg_ha[:, 0]
    assert found == pytest.approx(0.5 * stands().mass_kg_ha[:, 0])


def test_what_stood_before_a_look_at_bare_ground_stays_as_it_was() -> None:
    before, after = stands(), stands(looked("45 %", 1))
    day = (NOW.date() - before.first_day).days
    assert after.history_kg_ha[:, :day, 0] == pytest.approx(before.history_kg_ha[:, :day, 0])
    assert (after.history_kg_ha[:, -1, 0] < before.history_kg_ha[:, -1, 0]).all()
