"""The arrow ``weather``: what it does with the parts of normals and records that are there."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from browseline import weather
from browseline.farm.records import DailyRecords, Normals, Place
from tests.published.normals import INLAND

PLACE = Place(41.0, -90.0, 200.0)
FIRST, LAST = date(2026, 3, 1), date(2026, 6, 1)
SUN_H = (4.5, 5.5, 6.0, 7.0, 8.0, 9.5, 10.0, 9.0, 7.5, 6.0, 4.5, 4.0)


def make(normals: Normals | None, records: DailyRecords | None = None, **how: object) -> weather.Weather:
    made = weather.make(PLACE, normals, records, FIRST, LAST, 3, 1, **how)  # type: ignore[arg-type]
    assert made is not None
    return made


def record(
    days: int, first: date = FIRST, tmax: float = 18.0, tmin: float = 6.0, rain: float = 0.0
) -> DailyRecords:
    calendar = tuple(first + timedelta(days=n) for n in range(days))
    return DailyRecords(calendar, (tmax,) * days, (tmin,) * days, (rain,) * days)


def codes(made: weather.Weather) -> set[str]:
    return {found.code.removeprefix("weather.") for found in made.findings}


def test_the_stretch_holds_its_first_day_and_not_its_last() -> None:
    made = make(INLAND, warmup_days=10)
    assert made.days[10] == np.datetime64(FIRST)
    assert made.days[-1] == np.datetime64(LAST) - 1
    assert made.tmax_c.shape == (3, 102)
    assert made.day_length_h.shape == made.source.shape == (102,)


def test_every_substitute_is_told_and_none_where_all_is_given() -> None:
    assert codes(make(INLAND)) == {"no_radiation", "no_humidity", "no_wind"}
    assert "no_wet_days" in codes(make(replace(INLAND, wet_days=None)))
    full = replace(INLAND, sun_h_d=SUN_H, ea_kpa=(0.5,) * 12, wind_m_s=(3.0,) * 12)
    assert codes(make(full)) == set()
    assert {row.key for row in make(full).rows} >= {"angstrom_overcast", "gen_a", "albedo"}


def test_radiation_comes_from_sun_hours_when_they_are_known() -> None:
    sunny = make(replace(INLAND, sun_h_d=tuple(min(1.4 * h, 12.0) for h in SUN_H)))
    dull = make(replace(INLAND, sun_h_d=tuple(0.5 * h for h in SUN_H)))
    assert sunny.rs_mj_m2_d.mean() > 1.3 * dull.rs_mj_m2_d.mean()


def test_dry_air_and_wind_use_more_water() -> None:
    usual = make(INLAND)
    dry = make(
        replace(
            INLAND,
            ea_kpa=tuple(
                0.5 * e for e in (0.34, 0.36, 0.53, 0.81, 1.15, 1.6, 1.9, 1.8, 1.4, 0.87, 0.66, 0.42)
            ),
        )
    )
    windy = make(replace(INLAND, wind_m_s=(5.0,) * 12))
    assert dry.et0_mm.mean() > usual.et0_mm.mean()
    assert windy.et0_mm.mean() > usual.et0_mm.mean()
    assert np.array_equal(windy.et0_hargreaves_mm, usual.et0_hargreaves_mm)


def test_without_wet_days_three_in_ten_are_wet() -> None:
    made = weather.make(
        PLACE, replace(INLAND, wet_days=None), None, date(2026, 1, 1), date(2036, 1, 1), 20, 1
    )
    assert made is not None
    assert (made.rain_mm > 0).mean() == pytest.approx(0.3, abs=0.01)


def test_a_place_without_rain_is_dry() -> None:
    assert make(replace(INLAND, rain_mm=(0,) * 12, wet_days=(0,) * 12)).rain_mm.max() == 0.0


def test_what_is_recorded_after_today_is_not_known() -> None:
    long = record(60, tmax=30.0, rain=4.0)
    made = make(INLAND, long, today=FIRST + timedelta(days=19))
    assert np.flatnonzero(made.source == weather.RECORDED).tolist() == list(range(20))
    assert np.all(made.tmax_c[:, :20] == 30.0)
    assert not np.any(made.tmax_c[:, 20:] == 30.0)
    assert np.array_equal(make(INLAND, long, today=LAST).rain_mm, make(INLAND, long).rain_mm)


def test_a_day_that_lacks_one_number_keeps_the_others() -> None:
    whole = record(40, tmax=9.0, tmin=8.9)
    holed = replace(
        whole,
        tmin_c=(np.nan, *whole.tmin_c[1:]),
        tmax_c=(whole.tmax_c[0], np.nan, *whole.tmax_c[2:]),
        rs_mj_m2_d=(*whole.tmax_c[:3], *(np.nan,) * 37),
        wind_m_s=(7.0,) * 40,
        ea_kpa=(0.4,) * 40,
    )
    made = make(INLAND, holed)
    assert made.source[:3].tolist() == [weather.GAP_FILLED, weather.GAP_FILLED, weather.RECORDED]
    assert np.all(made.tmax_c[:, 0] == 9.0)
    assert np.all(made.tmin_c[:, 0] <= 8.5)
    assert np.all(made.tmin_c[:, 1] == 8.9)
    assert np.all(made.tmax_c[:, 1] >= 9.4 - 1e-9)
    assert np.all(made.rs_mj_m2_d[:, :3] == 9.0)
    assert "gaps_filled" in codes(made)


def test_typed_rain_outside_the_stretch_changes_nothing() -> None:
    typed = {FIRST - timedelta(days=200): 40.0, LAST: 40.0}
    assert np.array_equal(make(INLAND, rain_typed=typed).rain_mm, make(INLAND).rain_mm)


def test_typed_rain_makes_the_next_day_likelier_wet() -> None:
    long = [
        weather.make(PLACE, INLAND, None, FIRST, LAST, 600, 1, rain_typed={FIRST: mm}) for mm in (0.0, 20.0)
    ]
    dry, wet = ((made.rain_mm[:, 1] > 0).mean() for made in long if made is not None)
    assert wet - dry == pytest.approx(0.25, abs=0.06)


def test_a_record_that_lies_before_or_after_is_no_harm() -> None:
    past, ahead = record(400, date(2020, 1, 1)), record(10, date(2030, 1, 1))
    assert np.all(make(INLAND, past).source == weather.GENERATED)
    assert np.array_equal(make(INLAND, ahead).tmax_c, make(INLAND).tmax_c)


def test_a_long_record_gives_its_own_yearly_variation() -> None:
    days = record(366 * 22, date(2000, 1, 1))
    rain = tuple((9.0 if d.toordinal() % 4 == 0 else 0.0) * (1.6 if d.year % 2 else 0.4) for d in days.days)
    made = make(INLAND, replace(days, rain_mm=rain))
    assert "gen_cv_year" not in {row.key for row in made.rows}
    assert "gen_cv_year" in {row.key for row in make(INLAND).rows}
