"""The arrow ``weather``: normals or daily records to members by days.

Recorded days are the same for every member; gaps and the days after the record are generated,
each member with its own luck, and marked. Water use follows FAO-56 with its substitutes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.errors import Finding, finding
from browseline.farm import climate as farm_climate
from browseline.farm.records import DailyRecords, Normals, Place
from browseline.tables import Row

Array = npt.NDArray[np.float64]
Days = npt.NDArray[np.datetime64]
RECORDED, GAP_FILLED, GENERATED = 0, 1, 2
SPIN_DAYS = 30
_BLOCK_CELLS = 400_000


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """Weather of every member and day.

    Parameters
    ----------
    days : array of datetime64[D], shape (day,)
        In order, without holes; the first ``warmup_days`` lie before the wanted first day.
    tmin_c, tmax_c, rain_mm, rs_mj_m2_d : array, shape (member, day)
        Lowest and highest temperature, rain, solar radiation on open ground. [C, C, mm, MJ/m2/d]
    et0_mm, et0_hargreaves_mm : array, shape (member, day)
        Water use of reference grass by Penman-Monteith, and by Hargreaves beside it. [mm]
    et0_light_mm : array, shape (member, day)
        The part of ``et0_mm`` that absorbed sunlight pays for. [mm]
    day_length_h : array, shape (day,)
        [h]
    source : array of uint8, shape (day,)
        0 recorded, 1 gap filled, 2 generated.
    warmup_days : int
        Days before the wanted first day.
    normals : Normals
        Those used: typed, or made from the record.
    rows : tuple of Row
        Coefficients used.
    findings : tuple of Finding
        Substitutes taken, gaps filled.
    """

    days: Days
    tmin_c: Array
    tmax_c: Array
    rain_mm: Array
    rs_mj_m2_d: Array
    et0_mm: Array
    et0_hargreaves_mm: Array
    et0_light_mm: Array
    day_length_h: Array
    source: npt.NDArray[np.uint8]
    warmup_days: int
    normals: Normals
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]

    def shaded_et0_mm(self, light_frac: Array | float) -> Array:
        """Return the reference water use under trees that pass a share of the light.

        Parameters
        ----------
        light_frac : array, broadcast with (member, day)
            0 to 1; 1 is open sky. [1]

        Returns
        -------
        array, shape (member, day)
            Not below 0; the trees' own water use is not in it. [mm]
        """
        return np.maximum(self.et0_mm - (1 - np.asarray(light_frac)) * self.et0_light_mm, 0.0)


class _Rows:
    """Rows of the weather table, each remembered when it is used."""

    def __init__(self) -> None:
        self.used: dict[tuple[str, str], Row] = {}

    def __call__(self, key: str, applies_to: str) -> float:
        return self.row(key, applies_to).middle()

    def row(self, key: str, applies_to: str) -> Row:
        self.used[key, applies_to] = tables.row("weather", key, applies_to)
        return self.used[key, applies_to]

    def span(self, key: str, applies_to: str) -> tuple[float, float]:
        row = self.row(key, applies_to)
        middle = row.middle()
        return (middle if row.low is None else row.low), (middle if row.high is None else row.high)

    def matrix(self, key: str) -> Array:
        names = ("tmax", "tmin", "rs")
        return np.array([[self(key, f"{row},{column}") for column in names] for row in names])


@dataclass(frozen=True, slots=True, eq=False)
class _Monthly:
    """Normals with every hole filled: daily means of each month, shape (12,)."""

    tmax_c: Array
    tmin_c: Array
    rain_mm_d: Array
    wet_share: Array
    rs_mj_m2_d: Array
    ea_over_dawn: Array
    wind_m_s: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Known:
    """What was recorded on each day, NaN elsewhere, and where each day came from."""

    tmax_c: Array
    tmin_c: Array
    rain_mm: Array
    rs_mj_m2_d: Array
    ea_kpa: Array
    wind_m_s: Array
    source: npt.NDArray[np.uint8]


def make(
    place: Place, normals: Normals | None, records: DailyRecords | None, first: date, last: date,
    members: int, seed: int, *, today: date | None = None, rain_typed: Mapping[date, float] | None = None,
    warmup_days: int = 0, first_member: int = 0,
) -> Weather | None:  # fmt: skip
    """Make the weather of a place for a stretch of days.

    Parameters
    ----------
    place : Place
        Latitude, elevation, coast.
    normals : Normals or None
        Monthly normals; without them they are made from a year or more of records.
    records : DailyRecords or None
        What was read; used as it is, gaps filled by the generator. A year or more also shows how
        temperature scatters there, in place of the book.
    first, last : date
        The stretch holds ``first`` and not ``last``.
    members : int
        How many members.
    seed : int
        The farm's seed.
    today : date, optional
        Records after this day are not known yet and are left out.
    rain_typed : mapping of date to float, optional
        Rain entered in the record; it wins over the file. [mm]
    warmup_days : int
        Days wanted before ``first``.
    first_member : int
        The first of the members: a block of many may be made by itself.

    Returns
    -------
    Weather or None
        None when there are neither normals nor a year of records: then nothing is known to grow.
    """
    found: list[Finding] = []
    records = _until(records, today)
    if normals is None:
        normals = farm_climate.from_records(records) if records is not None else None
        if normals is None or records is None:
            return None
        years = f"{farm_climate.years_read(records):.1f}"
        found.append(finding("weather.normals_from_records", "weather.csv", level="note", years=years))
    rows = _Rows()
    start = first - timedelta(days=warmup_days + SPIN_DAYS)
    days = np.arange(np.datetime64(start), np.datetime64(last))
    monthly = _completed(place, normals, rows, found)
    known = _known(place, days, records, rain_typed or {}, rows)
    if gaps := int(np.sum(known.source[SPIN_DAYS:] == GAP_FILLED)):
        found.append(finding("weather.gaps_filled", "weather.csv", level="note", days=gaps))
    generator = _Generator(place, normals, monthly, records, rows)
    blocks = _blocks(members, days.size, first_member)
    made = [generator.members(block, days, known, seed) for block in blocks]
    names = ("tmin_c", "tmax_c", "rain_mm", "rs_mj_m2_d", "et0_mm", "et0_hargreaves_mm", "et0_light_mm")
    arrays = {name: np.concatenate([block[name] for block in made])[:, SPIN_DAYS:] for name in names}
    return Weather(
        days=days[SPIN_DAYS:], day_length_h=_day_length_h(place, days[SPIN_DAYS:]),
        source=known.source[SPIN_DAYS:], warmup_days=warmup_days, normals=normals,
        rows=tuple(rows.used.values()), findings=tuple(found), **arrays,
    )  # fmt: skip


def _until(records: DailyRecords | None, today: date | None) -> DailyRecords | None:
    """Return the records without the days after today."""
    if records is None or today is None or not records.days or records.days[-1] <= today:
        return records
    count = sum(day <= today for day in records.days)
    values = {f.name: getattr(records, f.name) for f in fields(records)}
    return replace(records, **{name: series and series[:count] for name, series in values.items()})


def _blocks(members: int, days: int, first: int) -> list[range]:
    size, end = max(1, _BLOCK_CELLS // max(days, 1)), first + members
    return [range(start, min(start + size, end)) for start in range(first, end, size)]


def _day_of_year(days: Days) -> npt.NDArray[np.int64]:
    new_year = days.astype("datetime64[Y]").astype("datetime64[D]")
    return np.asarray((days - new_year).astype(np.int64) + 1, dtype=np.int64)


def _years(days: Days) -> npt.NDArray[np.int64]:
    return np.asarray(days.astype("datetime64[Y]").astype(np.int64) + 1970, dtype=np.int64)


def _place_in_leap_year(days: Days) -> npt.NDArray[np.int64]:
    """Return where each day stands in a year of 366 days, 29 February among them."""
    from browseline.science.climate import MONTH_STARTS

    months = days.astype("datetime64[M]")
    of_month = (days - months.astype("datetime64[D]")).astype(np.int64)
    return np.asarray(MONTH_STARTS[months.astype(np.int64) % 12] + of_month, dtype=np.int64)


def _day_length_h(place: Place, days: Days) -> Array:
    from browseline.science import sun

    return sun.day_length_h(place.latitude_deg, _day_of_year(days).astype(np.float64))


def _krs(place: Place, rows: _Rows) -> float:
    return rows("krs", "coast" if place.coast else "inland")


def _completed(place: Place, normals: Normals, rows: _Rows, found: list[Finding]) -> _Monthly:
    """Return normals with the substitutes of FAO-56, each told in a finding."""
    from browseline.science import climate, sun, weather

    def note(code: str) -> None:
        found.append(finding(f"weather.{code}", "farm.toml [normals]", level="note"))

    high, low = np.array(normals.tmax_c), np.array(normals.tmin_c)
    year = np.arange(1.0, climate.YEAR_DAYS + 1)
    above_air = climate.monthly_mean(sun.extraterrestrial_mj_m2_d(place.latitude_deg, year))
    if normals.rs_mj_m2_d is not None:
        light = np.array(normals.rs_mj_m2_d)
    elif normals.sun_h_d is not None:
        length_h = climate.monthly_mean(sun.day_length_h(place.latitude_deg, year))
        overcast, clear = rows("angstrom_overcast", "any place"), rows("angstrom_clear", "any place")
        light = weather.solar_from_sunshine_mj_m2_d(
            above_air, np.array(normals.sun_h_d), length_h, overcast, clear
        )
    else:
        note("no_radiation")
        light = weather.solar_from_range_mj_m2_d(above_air, high, low, _krs(place, rows))
    dawn = weather.saturation_kpa(low)
    if normals.ea_kpa is None:
        note("no_humidity")
    if normals.wind_m_s is None:
        note("no_wind")
    if normals.wet_days is None:
        note("no_wet_days")
    length_d = np.array(farm_climate.MONTH_LENGTH_D)
    wet = np.full(12, rows("gen_wet_share", "no wet days given"))
    wet = wet if normals.wet_days is None else np.array(normals.wet_days) / length_d
    wind = np.full(12, rows("wind_substitute", "any place"))
    wind = wind if normals.wind_m_s is None else np.array(normals.wind_m_s)
    return _Monthly(
        high, low, np.array(normals.rain_mm) / length_d, wet, light,
        np.ones(12) if normals.ea_kpa is None else np.array(normals.ea_kpa) / dawn, wind,
    )  # fmt: skip


def _aligned(days: Days, records: DailyRecords, values: tuple[float, ...] | None) -> Array:
    """Return recorded values on the wanted days, NaN elsewhere."""
    out = np.full(days.size, np.nan)
    if values is None or not records.days:
        return out
    at = (np.array(records.days, dtype="datetime64[D]") - days[0]).astype(np.int64)
    inside = (at >= 0) & (at < days.size)
    out[at[inside]] = np.asarray(values, dtype=np.float64)[inside]
    return out


def _known(
    place: Place, days: Days, records: DailyRecords | None, rain_typed: Mapping[date, float], rows: _Rows
) -> _Known:
    """Return the recorded days, typed rain over the file, light from the range where none was read."""
    from browseline.science import sun, weather

    records = records or DailyRecords((), (), (), ())
    high, low = _aligned(days, records, records.tmax_c), _aligned(days, records, records.tmin_c)
    rain = _aligned(days, records, records.rain_mm)
    for day, amount in rain_typed.items():
        at = int((np.datetime64(day) - days[0]).astype(np.int64))
        if 0 <= at < days.size:
            rain[at] = amount
    light = _aligned(days, records, records.rs_mj_m2_d)
    above_air = sun.extraterrestrial_mj_m2_d(place.latitude_deg, _day_of_year(days).astype(np.float64))
    light = np.where(
        np.isnan(light), weather.solar_from_range_mj_m2_d(above_air, high, low, _krs(place, rows)), light
    )
    source = np.full(days.size, GENERATED, dtype=np.uint8)
    if records.days:
        within = (days >= np.datetime64(records.days[0])) & (days <= np.datetime64(records.days[-1]))
        whole = ~(np.isnan(high) | np.isnan(low) | np.isnan(rain))
        source[within] = np.where(whole[within], RECORDED, GAP_FILLED)
    ea, wind = _aligned(days, records, records.ea_kpa), _aligned(days, records, records.wind_m_s)
    return _Known(high, low, rain, light, ea, wind, source)


class _Generator:
    """The generator of one place: its climate, its chances, its coefficients."""

    def __init__(
        self, place: Place, normals: Normals, monthly: _Monthly, records: DailyRecords | None, rows: _Rows
    ) -> None:
        from browseline.science import climate, generator, sun, weather

        self.place, self.monthly, self.rows = place, monthly, rows
        self.a, self.b = rows.matrix("gen_a"), rows.matrix("gen_b")
        above_air = sun.extraterrestrial_mj_m2_d(place.latitude_deg, np.arange(1.0, 367.0))
        cap = min(rows("gen_rs_high", "rs"), weather.clear_share(place.elevation_m))
        self.threshold_mm = farm_climate.threshold_mm(normals)
        sd_c, cooler_c = self._spread(records)
        spread = climate.Spread(
            cooler_c, sd_c, rows("gen_rs_wet_over_dry", "rs"), rows("gen_rs_cv", "dry"),
            rows("gen_rs_cv", "wet"), rows("gen_rs_low", "rs"), cap, rows("gen_least_range", "any day"),
        )  # fmt: skip
        self.climate = climate.climate(
            monthly.tmax_c, monthly.tmin_c, monthly.rain_mm_d, monthly.wet_share, monthly.rs_mj_m2_d,
            above_air, self.threshold_mm, spread, generator.residual_covariance(self.a, self.b),
        )  # fmt: skip
        self.least_mm = self.climate.least_mm
        self.shape, self.scale = generator.amount_shape_scale(
            self.least_mm + self.climate.above_mm, self.least_mm, rows("gen_scale_intercept", "wet days"),
            rows("gen_scale_slope", "wet days"), rows("gen_exponential_below", "wet days"),
        )  # fmt: skip
        self.persistence = rows("gen_persistence", "wet days")
        before = np.roll(self.climate.wet_share, 1)
        self.chances = generator.wet_chances(self.climate.wet_share, before, self.persistence)
        self.slow_sd = self._slow_sd(normals, records)

    def _spread(self, records: DailyRecords | None) -> tuple[Array, float]:
        """Return how temperature scatters and how much cooler wet days are: of the record, or the book."""
        from browseline.science import climate

        high, low = self.monthly.tmax_c, self.monthly.tmin_c
        if records is None or farm_climate.from_records(records) is None:
            mean_c = (high + low) / 2
            sd = [climate.seasonal_sd(*self.rows.span("gen_sd", name), mean_c) for name in ("tmax", "tmin")]
            return np.array(sd), self.rows("gen_cooler_wet", "tmax")
        days = np.array(records.days, dtype="datetime64[D]")
        rain = np.array(records.rain_mm)
        wet = np.where(np.isnan(rain), np.nan, rain >= self.threshold_mm)
        usual = np.array([climate.daily_means(high), climate.daily_means(low)])
        at = _place_in_leap_year(days)
        return climate.spread_of_records(at, np.array(records.tmax_c), np.array(records.tmin_c), wet, usual)

    def _slow_sd(self, normals: Normals, records: DailyRecords | None) -> float:
        """Return the spread of the slow factor on rain, from the place's own yearly variation."""
        from browseline.science import generator

        target = normals.cv_year_rain
        if target is None and records is not None:
            target = farm_climate.year_rain_cv(records)
        if target is None:
            target = self.rows("gen_cv_year", "no long record")
        wet, above = self.climate.wet_share, self.climate.above_mm
        chain = generator.year_rain_cv(wet, self.least_mm, self.shape, self.scale, self.persistence)
        excess = wet * above / max(float(np.sum(wet * (self.least_mm + above))), 1e-9)
        return generator.slow_factor_sd(generator.slow_factor_cv(target, chain), excess)

    def members(self, members: range, days: Days, known: _Known, seed: int) -> dict[str, Array]:
        """Return the weather of some members, shape (member, day) each."""
        from browseline.science import draws, generator

        years, of_year, at = _years(days), _day_of_year(days), _place_in_leap_year(days)

        def luck(quantity: str) -> Array:
            return draws.uniform_by_day(seed, f"weather.{quantity}", members, years, of_year)

        noise = draws.normal(np.array([luck(name) for name in ("tmax", "tmin", "rs")]))
        was_wet = np.where(np.isnan(known.rain_mm), -1, known.rain_mm >= self.threshold_mm).astype(np.int8)
        wet, (high, low, light) = generator.run_days(
            luck("wet"), noise, *self.chances, at, self.climate.mean, self.climate.sd, self.a, self.b,
            was_wet, np.array([known.tmax_c, known.tmin_c, known.rs_mj_m2_d]), self.climate.rs_low,
            self.climate.rs_high, self.climate.least_range_c,
        )  # fmt: skip
        around = np.arange(years[0] - 1, years[-1] + 2)
        yearly = draws.normal(draws.uniform_by_year(seed, "weather.year_rain", members, around))
        weights = generator.mid_year_weights(of_year.astype(np.float64))
        factor = generator.slow_factor(self.slow_sd, yearly, years - around[0], weights)
        rain = generator.rain_mm(
            wet, luck("amount"), self.least_mm[at], self.shape[at], self.scale[at], factor
        )
        rain = np.where(np.isnan(known.rain_mm), rain, known.rain_mm)
        made = {"tmin_c": low, "tmax_c": high, "rain_mm": rain, "rs_mj_m2_d": light}
        return made | self._water_use(high, low, light, days, at, known)

    def _water_use(
        self, high: Array, low: Array, light: Array, days: Days, at: npt.NDArray[np.int64], known: _Known
    ) -> dict[str, Array]:
        """Return the reference water use by both equations, and what sunlight pays for of the first."""
        from browseline.science import climate, sun, weather

        above_air = sun.extraterrestrial_mj_m2_d(
            self.place.latitude_deg, _day_of_year(days).astype(np.float64)
        )
        ratio = climate.daily_means(self.monthly.ea_over_dawn)[at]
        usual_wind = climate.daily_amounts(self.monthly.wind_m_s)[at]
        ea = np.where(np.isnan(known.ea_kpa), ratio * weather.saturation_kpa(low), known.ea_kpa)
        wind = np.where(np.isnan(known.wind_m_s), usual_wind, known.wind_m_s)
        gamma = weather.psychrometric_kpa_c(self.place.elevation_m)
        clear = weather.clear_share(self.place.elevation_m) * above_air
        kept = weather.net_shortwave_mj_m2_d(light, self.rows("albedo", "reference grass"))
        net = kept - weather.net_longwave_mj_m2_d(high, low, ea, light, clear)
        return {
            "et0_mm": weather.reference_et_mm_d(high, low, ea, wind, net, gamma),
            "et0_hargreaves_mm": weather.hargreaves_mm_d(high, low, above_air),
            "et0_light_mm": weather.sunlit_et_mm_d(high, low, wind, kept, gamma),
        }
