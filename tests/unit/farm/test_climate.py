"""Normals: what cannot be true, and normals made from a record."""

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from browseline.farm import climate
from browseline.farm.records import DailyRecords
from tests.published.normals import INLAND


def record(years: int, wet_every: int = 3) -> DailyRecords:
    """Return days of 20 and 10 C with 6 mm on every so manieth day."""
    first = date(2001, 1, 1)
    days = tuple(first + timedelta(days=n) for n in range((date(2001 + years, 1, 1) - first).days))
    rain = tuple(6.0 if n % wet_every == 0 else 0.0 for n in range(len(days)))
    return DailyRecords(days, (20.0,) * len(days), (10.0,) * len(days), rain)


def put(values: tuple[float, ...], value: float) -> tuple[float, ...]:
    return (value, *values[1:])


def test_good_normals_have_no_finding() -> None:
    assert climate.check(INLAND) == ()
    assert climate.check(replace(INLAND, wet_days=None)) == ()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"tmax_c": INLAND.tmax_c[:11]}, "twelve"),
        ({"wind_m_s": put(INLAND.tmax_c, math.nan)}, "twelve"),
        ({"tmax_c": put(INLAND.tmax_c, -9)}, "upside_down"),
        ({"tmax_c": put(INLAND.tmax_c, 75)}, "temperature"),
        ({"rain_mm": put(INLAND.rain_mm, -1)}, "negative_rain"),
        ({"wet_days": put(INLAND.wet_days or (), 40)}, "wet_days"),
        ({"wet_days": put(INLAND.wet_days or (), 0)}, "rain_without_days"),
        ({"rain_mm": put(INLAND.rain_mm, 2)}, "too_little_rain"),
    ],
)
def test_what_cannot_be_true_is_told(change: dict[str, tuple[float, ...]], code: str) -> None:
    assert f"weather.{code}" in [found.code for found in climate.check(replace(INLAND, **change))]  # type: ignore[arg-type]


def test_normals_of_a_record() -> None:
    made = climate.from_records(record(2))
    assert made is not None
    assert made.tmax_c == (20.0,) * 12
    assert made.wet_days is not None
    assert sum(made.wet_days) == pytest.approx(365.25 / 3, rel=0.02)
    assert sum(made.rain_mm) == pytest.approx(6 * sum(made.wet_days))
    assert made.cv_year_rain is None


def test_less_than_a_year_makes_no_normals() -> None:
    short = record(1)
    holed = replace(short, rain_mm=(math.nan, *short.rain_mm[1:]))
    assert climate.from_records(short) is not None
    assert climate.from_records(holed) is None
    assert climate.from_records(replace(record(2), tmax_c=(20.0,) * 31 + (math.nan,) * 699)) is None


def test_twenty_years_give_their_own_variation() -> None:
    long = record(20)
    wetter = tuple(r * (1.5 if day.year % 2 else 0.5) for day, r in zip(long.days, long.rain_mm, strict=True))
    cv = climate.year_rain_cv(replace(long, rain_mm=wetter))
    assert cv == pytest.approx(0.5 * math.sqrt(20 / 19), rel=0.01)
    assert climate.year_rain_cv(record(19)) is None
