"""Measured sward series, read in place, with the weather and water that drive the growth equations.

Nothing measured is copied into the repository: the folder of the series is an argument.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.science import forage, sun, water, weather

Array = NDArray[np.float64]
NO_RUNOFF = (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class Sky:
    """Daily weather of a place from a 1 January on: arrays of shape (day,)."""

    latitude_deg: float
    first: date
    temp_c: Array
    solar_mj_m2_d: Array
    rain_mm: Array
    et0_mm: Array

    def day_of_year(self) -> Array:
        """Return the day of the year of each day."""
        days = [self.first + timedelta(d) for d in range(len(self.temp_c))]
        return np.array([d.timetuple().tm_yday for d in days], float)


@dataclass(frozen=True)
class Series:
    """Weekly growth of one plot set or county in one year.

    day holds the last day of each week from 1 January (0); growth in kg/ha/d. A trial week rests on
    four plots cut every 28 days; a grazed week on the sward as it stands.
    """

    site: str
    year: int
    name: str
    irrigated: bool
    day: NDArray[np.int64]
    growth: Array
    sky: Sky = field(repr=False)


def rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def latitudes(folder: Path) -> dict[str, float]:
    """Return the latitude of each site that has one."""
    return {r["site_id"]: float(r["latitude"]) for r in rows(folder / "series_sites.csv") if r["latitude"]}


def column(lines: list[dict[str, str]], name: str) -> Array:
    """Return one column as numbers."""
    return np.array([float(line[name]) for line in lines])


def reference_et_mm(
    latitude_deg: float, day_of_year: Array, tmax_c: Array, tmin_c: Array,
    solar: Array, ea_kpa: Array, wind: Array,
) -> Array:  # fmt: skip
    """Return FAO-56 Penman-Monteith at sea level: the series carry no elevation."""
    albedo = tables.row("weather", "albedo", "reference grass").middle()
    clear = weather.clear_share(0.0) * sun.extraterrestrial_mj_m2_d(latitude_deg, day_of_year)
    lost = weather.net_longwave_mj_m2_d(tmax_c, tmin_c, ea_kpa, solar, clear)
    net = weather.net_shortwave_mj_m2_d(solar, albedo) - lost
    return weather.reference_et_mm_d(tmax_c, tmin_c, ea_kpa, wind, net, weather.psychrometric_kpa_c(0.0))


def trial_skies(folder: Path) -> dict[tuple[str, int], Sky]:
    """Return the weather of each trial year, run on into the next where it was recorded."""
    place = latitudes(folder)
    by_site: dict[str, list[dict[str, str]]] = defaultdict(list)
    for line in rows(folder / "fao_trials_weather.csv"):
        by_site[line["site_id"]].append(line)
    skies = {}
    for site, lines in by_site.items():
        for year in sorted({line["date"][:4] for line in lines}):
            first = date(int(year), 1, 1)
            last = (first + timedelta(366 + 28)).isoformat()
            own = [line for line in lines if first.isoformat() <= line["date"] < last]
            dates = np.array([line["date"] for line in own], "datetime64[D]")
            own = own[: int(np.argmax(np.append(np.diff(dates) != np.timedelta64(1), True))) + 1]
            skies[site, int(year)] = _trial_sky(place[site], first, own)
    return skies


def _trial_sky(latitude_deg: float, first: date, lines: list[dict[str, str]]) -> Sky:
    tmax, tmin, solar, rain, vapour, wind = (
        column(lines, c) for c in ("tmax_c", "tmin_c", "rs_mj_m2_d", "rain_mm", "vap_kpa", "wind_m_s")
    )
    of_year = np.array([date.fromisoformat(x["date"]).timetuple().tm_yday for x in lines], float)
    et0 = reference_et_mm(latitude_deg, of_year, tmax, tmin, solar, vapour, wind)
    return Sky(latitude_deg, first, (tmax + tmin) / 2, solar, rain, et0)


def trials(folder: Path) -> list[Series]:
    """Return the trial series: figures that stand a week after the one before."""
    skies = trial_skies(folder)
    by_series: dict[tuple[str, str, str, str], list[dict[str, str]]] = defaultdict(list)
    for line in rows(folder / "fao_trials_growth.csv"):
        by_series[line["site_id"], line["year"], line["series"], line["water"]].append(line)
    found = []
    for (site, year, name, kind), lines in by_series.items():
        sky = skies[site, int(year)]
        day = np.array([(date.fromisoformat(x["day"]) - sky.first).days for x in lines])
        kept = np.flatnonzero(np.append(False, np.diff(day) == 7))
        growth = np.array([float(lines[i]["growth_kg_dm_ha_d"]) for i in kept])
        label = f"{name} {kind}"
        found.append(Series(site, int(year), label, kind == "irrigated", day[kept], growth, sky))
    return found


def monthly_sky(folder: Path, site: str, year: int) -> Sky:
    """Return days drawn smoothly through a year of monthly figures: no wet and dry days, each month kept."""
    lines = [x for x in rows(folder / "met_monthly.csv") if x["site_id"] == site and int(x["year"]) == year]
    latitude, first = latitudes(folder)[site], date(year, 1, 1)
    starts = np.array([(date(year + m // 12, m % 12 + 1, 1) - first).days for m in range(13)])
    length = np.diff(starts)
    tmax, tmin = (_through_months(column(lines, c), starts) for c in ("tmax_c", "tmin_c"))
    sun_h, rain = (
        np.maximum(_through_months(column(lines, c) / length, starts), 0) for c in ("sun_h", "rain_mm")
    )
    of_year = np.arange(1, starts[-1] + 1.0)
    overcast, clear = (
        tables.row("weather", k, "any place").middle() for k in ("angstrom_overcast", "angstrom_clear")
    )
    above, day = sun.extraterrestrial_mj_m2_d(latitude, of_year), sun.day_length_h(latitude, of_year)
    solar = weather.solar_from_sunshine_mj_m2_d(above, sun_h, day, overcast, clear)
    wind = np.full(len(of_year), tables.row("weather", "wind_substitute", "any place").middle())
    dew = weather.saturation_kpa(tmin)
    et0 = reference_et_mm(latitude, of_year, tmax, tmin, solar, dew, wind)
    return Sky(latitude, first, (tmax + tmin) / 2, solar, rain, et0)


def _through_months(means: Array, starts: NDArray[np.int64]) -> Array:
    """Return straight lines between mid-months, bent until each month keeps its mean."""
    middle = (starts[:-1] + starts[1:]) / 2
    around = np.concatenate(([middle[-1] - starts[-1]], middle, [middle[0] + starts[-1]]))
    knots, days = means.copy(), np.arange(starts[-1]) + 0.5
    drawn = means[:0]
    for _ in range(4):
        drawn = np.interp(days, around, np.concatenate((knots[-1:], knots, knots[:1])))
        knots += means - np.add.reduceat(drawn, starts[:-1]) / np.diff(starts)
    return drawn


def counties(folder: Path) -> list[Series]:
    """Return weekly growth of each county and year; the bulletin's date stands in mid-week."""
    lines = rows(folder / "ni_weekly_growth.csv")
    skies = {y: monthly_sky(folder, "met_armagh", y) for y in sorted({int(x["week"][:4]) for x in lines})}
    found = []
    for site in sorted({x["site_id"] for x in lines}):
        for year, sky in skies.items():
            own = [x for x in lines if x["site_id"] == site and int(x["week"][:4]) == year]
            found.append(_weeks(site, own, sky, half_week=4))
    return found


def ireland(folder: Path) -> list[Series]:
    """Return national weekly growth by type of farm: the week before the letter."""
    met = rows(folder / "met_daily.csv")
    lines = rows(folder / "ie_weekly_growth.csv")
    temp, solar, rain, pet = (column(met, c) for c in ("tmean_c", "rs_mj_m2_d", "rain_mm", "pet_mm"))
    first = date.fromisoformat(met[0]["date"])
    sky = Sky(latitudes(folder)["ie_national"], first, temp, solar, rain, pet)
    kinds = sorted({x["farm_type"] for x in lines})
    return [_weeks(k, [x for x in lines if x["farm_type"] == k], sky, half_week=0) for k in kinds]


def _weeks(site: str, lines: list[dict[str, str]], sky: Sky, half_week: int) -> Series:
    day = np.array([(date.fromisoformat(x["week"]) - sky.first).days + half_week for x in lines])
    kept = (day >= 7) & (day <= len(sky.temp_c))
    return Series(site, sky.first.year, "", False, day[kept], column(lines, "growth_kg_dm_ha_d")[kept], sky)


@dataclass(frozen=True)
class Water:
    """How the store of soil water is set: total available [mm], crop coefficients, depletion share [1]."""

    total_mm: float
    kc_low: float
    kc_high: float
    depletion: float


def water_response(sky: Sky, temp_c: Array, group: forage.Group, store: Water, irrigated: bool) -> Array:
    """Return the factor of soil water on growth; a watered plot keeps its soil full."""
    if irrigated:
        return np.ones(len(temp_c))
    kc = forage.crop_coefficient(temp_c, group, store.kc_low, store.kc_high)
    missing, *_ = water.run_water(
        np.zeros(1), sky.rain_mm[None], sky.et0_mm[None], kc[None], store.total_mm, store.depletion,
        NO_RUNOFF, 0.0, 1.0,
    )  # fmt: skip
    return forage.water_response(1 - missing[0] / store.total_mm, sky.et0_mm)
