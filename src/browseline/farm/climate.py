"""Monthly normals: checked, made from records where none were typed, and completed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from browseline import tables
from browseline.errors import Finding, finding
from browseline.farm.records import DailyRecords, Normals

MONTHS = 12
MONTH_LENGTH_D = (31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)
WHERE = "farm.toml [normals]"


def check(normals: Normals) -> tuple[Finding, ...]:
    """Return what cannot be true of typed normals.

    Parameters
    ----------
    normals : Normals
        Monthly normals, January first.

    Returns
    -------
    tuple of Finding
        Empty when all is well.
    """
    found: list[Finding] = []
    named = {
        "tmax": normals.tmax_c, "tmin": normals.tmin_c, "rain": normals.rain_mm, "wet_days": normals.wet_days,
        "radiation": normals.rs_mj_m2_d, "sun": normals.sun_h_d, "vapour": normals.ea_kpa,
        "wind": normals.wind_m_s,
    }  # fmt: skip
    for name, values in named.items():
        if values is not None and (len(values) != MONTHS or not all(map(math.isfinite, values))):
            found.append(finding("weather.twelve", WHERE, name=name, numbers=len(values)))
    if found:
        return tuple(found)
    for month in range(MONTHS):
        found += _month_findings(normals, month)
    return tuple(found)


def _month_findings(normals: Normals, month: int) -> list[Finding]:
    where = f"{WHERE} {date(2001, month + 1, 1):%B}"
    found = []
    high, low, rain = normals.tmax_c[month], normals.tmin_c[month], normals.rain_mm[month]
    if high <= low:
        found.append(finding("weather.upside_down", where, tmax=f"{high:g}", tmin=f"{low:g}"))
    if not (low >= -60 and high <= 60):
        found.append(finding("weather.temperature", where, tmax=f"{high:g}", tmin=f"{low:g}"))
    if rain < 0:
        found.append(finding("weather.negative_rain", where, rain=f"{rain:g}"))
    if normals.wet_days is not None:
        wet = normals.wet_days[month]
        threshold = threshold_mm(normals)
        if not 0 <= wet <= math.ceil(MONTH_LENGTH_D[month]):
            found.append(finding("weather.wet_days", where, wet=f"{wet:g}"))
        elif rain > 0 and wet == 0:
            found.append(finding("weather.rain_without_days", where, rain=f"{rain:g}"))
        elif wet * threshold > rain:
            found.append(
                finding(
                    "weather.too_little_rain",
                    where,
                    rain=f"{rain:g}",
                    wet=f"{wet:g}",
                    threshold=f"{threshold:g}",
                )
            )
    return found


def threshold_mm(normals: Normals | None) -> float:
    """Return the least rain of a wet day: typed, or the table's.

    Returns
    -------
    float
        [mm]
    """
    if normals is not None and normals.wet_day_threshold_mm is not None:
        return normals.wet_day_threshold_mm
    return tables.row("weather", "gen_wet_threshold", "no threshold given").middle()


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _by_month(days: Sequence[date], values: Sequence[float] | None) -> list[list[float]]:
    months: list[list[float]] = [[] for _ in range(MONTHS)]
    for day, value in zip(days, values or (), strict=False):
        if math.isfinite(value):
            months[day.month - 1].append(value)
    return months


def _means(days: Sequence[date], values: Sequence[float] | None) -> tuple[float, ...] | None:
    """Return the mean of each month, or None where a month has no value."""
    months = _by_month(days, values)
    return tuple(map(_mean, months)) if all(months) else None


def years_read(records: DailyRecords) -> float:
    """Return how many years of complete days (temperatures and rain) the record holds. [yr]"""
    complete = sum(
        all(map(math.isfinite, day))
        for day in zip(records.tmax_c, records.tmin_c, records.rain_mm, strict=True)
    )
    return complete / 365.25


def from_records(records: DailyRecords) -> Normals | None:
    """Return normals made from records, or None when they hold less than a year.

    A year means 365 complete days and, in every month of the calendar, half its days or more.

    Parameters
    ----------
    records : DailyRecords
        Daily weather with gaps.

    Returns
    -------
    Normals or None
        Monthly means of what was recorded.
    """
    months = [_by_month(records.days, v) for v in (records.tmax_c, records.tmin_c, records.rain_mm)]
    if years_read(records) * 365.25 < 365 or any(len(m) < 15 for of in months for m in of):
        return None
    length = MONTH_LENGTH_D
    threshold = threshold_mm(None)
    rain = months[2]
    return Normals(
        tmax_c=tuple(map(_mean, months[0])),
        tmin_c=tuple(map(_mean, months[1])),
        rain_mm=tuple(_mean(rain[m]) * length[m] for m in range(MONTHS)),
        wet_days=tuple(_mean([float(r >= threshold) for r in rain[m]]) * length[m] for m in range(MONTHS)),
        wet_day_threshold_mm=threshold,
        rs_mj_m2_d=_means(records.days, records.rs_mj_m2_d),
        ea_kpa=_means(records.days, records.ea_kpa),
        wind_m_s=_means(records.days, records.wind_m_s),
        cv_year_rain=year_rain_cv(records),
    )


def year_rain_cv(records: DailyRecords) -> float | None:
    """Return how much a year's rain varies in a long record, None in a short one.

    Parameters
    ----------
    records : DailyRecords
        Daily weather; calendar years with every day's rain count.

    Returns
    -------
    float or None
        Standard deviation over mean. [1]
    """
    by_year: defaultdict[int, list[float]] = defaultdict(list)
    for day, rain in zip(records.days, records.rain_mm, strict=True):
        if math.isfinite(rain):
            by_year[day.year].append(rain)
    years = [math.fsum(rains) for rains in by_year.values() if len(rains) >= 365]
    least = tables.row("weather", "gen_fit_years", "any place").middle()
    if len(years) < least or _mean(years) <= 0:
        return None
    mean = _mean(years)
    return math.sqrt(math.fsum((y - mean) ** 2 for y in years) / (len(years) - 1)) / mean
