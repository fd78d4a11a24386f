"""Real weather through the whole arrow: files that two packages carry.

vega_datasets holds four years of daily weather of Seattle, pvlib a typical year of hours at
Greensboro without rain. Nothing is fetched.
"""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import refet
from vega_datasets import data

from browseline import weather
from browseline.farm import weather_csv
from browseline.farm.records import DailyRecords, Normals, Place
from tests.published.normals import INLAND

SEATTLE = Place(47.45, -122.31, 132.0, coast=True)
GREENSBORO = Place(36.1, -79.95, 273.0)
TYPICAL_YEAR = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


@pytest.fixture(scope="module")
def four_years() -> DailyRecords:
    frame = data.seattle_weather()
    names = {
        "temp_max": "tmax (C)",
        "temp_min": "tmin (C)",
        "precipitation": "rain (mm)",
        "wind": "wind (m/s)",
    }
    text = frame.drop(columns="weather").rename(columns=names).to_csv(index=False)
    records, found = weather_csv.parse(text)
    assert [str(f) for f in found] == []
    assert records is not None
    assert len(records.days) == 1461
    return records


@pytest.fixture(scope="module")
def typical_year() -> DailyRecords:
    hours, _ = pvlib.iotools.read_tmy3(TYPICAL_YEAR, coerce_year=2025, map_variables=True)
    day = (hours.index - pd.Timedelta(hours=1)).strftime("%Y-%m-%d")
    by_day = hours.groupby(day)
    columns = {
        "tmax (C)": by_day["temp_air"].max(),
        "tmin (C)": by_day["temp_air"].min(),
        "rain (mm)": "",
        "radiation (MJ/m2/d)": by_day["ghi"].sum() * 0.0036,
        "vapour (kPa)": by_day["temp_dew"].apply(lambda t: (0.6108 * np.exp(17.27 * t / (t + 237.3))).mean()),
        "wind (m/s)": by_day["wind_speed"].mean() * 4.87 / np.log(67.8 * 10 - 5.42),
    }
    records, found = weather_csv.parse(pd.DataFrame(columns).rename_axis("date").to_csv())
    assert [f.code for f in found] == ["weather_csv.gaps"]
    assert records is not None
    return records


def test_recorded_days_come_through_unchanged(four_years: DailyRecords) -> None:
    made = weather.make(SEATTLE, None, four_years, date(2012, 1, 1), date(2016, 1, 1), 3, 5)
    assert made is not None
    assert np.all(made.source == weather.RECORDED)
    assert np.all(made.tmax_c == np.array(four_years.tmax_c))
    assert np.all(made.rain_mm == np.array(four_years.rain_mm))
    assert np.all((made.et0_mm >= 0) & (made.et0_mm < 12))
    year = made.et0_mm[0].sum() / 4
    assert 600 < year < 1100
    assert [f.code for f in made.findings] == [
        "weather.normals_from_records",
        "weather.no_radiation",
        "weather.no_humidity",
    ]


def test_years_after_the_record_keep_its_normals(four_years: DailyRecords) -> None:
    made = weather.make(SEATTLE, None, four_years, date(2016, 1, 1), date(2026, 1, 1), 60, 5, warmup_days=365)
    assert made is not None
    assert np.all(made.source[:365] == weather.RECORDED)
    assert np.all(made.source[365:] == weather.GENERATED)
    month = made.days.astype("datetime64[M]").astype(int) % 12
    later = np.arange(made.days.size) >= 365 + 31  # the record's last days linger for a while
    for m in range(12):
        at = (month == m) & later
        assert made.tmax_c[:, at].mean() == pytest.approx(made.normals.tmax_c[m], abs=0.3)
        assert made.tmin_c[:, at].mean() == pytest.approx(made.normals.tmin_c[m], abs=0.3)


def test_generated_days_scatter_as_the_recorded_ones(four_years: DailyRecords) -> None:
    past = weather.make(SEATTLE, None, four_years, date(2012, 1, 1), date(2016, 1, 1), 1, 5)
    ahead = weather.make(SEATTLE, None, four_years, date(2017, 1, 1), date(2027, 1, 1), 60, 5)
    assert past is not None
    assert ahead is not None
    months = [made.days.astype("datetime64[M]").astype(int) % 12 for made in (past, ahead)]
    for name in ("tmax_c", "tmin_c"):
        was, will = (
            np.array([getattr(made, name)[:, month == m].std() for m in range(12)])
            for made, month in zip((past, ahead), months, strict=True)
        )
        assert will == pytest.approx(was, rel=0.25)
    cooler = [
        made.tmax_c[made.rain_mm < 0.25].mean() - made.tmax_c[made.rain_mm >= 0.25].mean()
        for made in (past, ahead)
    ]
    assert cooler[1] == pytest.approx(cooler[0], abs=0.5)


def test_generated_days_go_on_from_the_last_recorded_one(four_years: DailyRecords) -> None:
    # The last recorded days of 2015 were some 5 C colder than usual: so is the day after, on average.
    made = weather.make(SEATTLE, None, four_years, date(2015, 12, 31), date(2016, 2, 1), 400, 5)
    assert made is not None
    usual = weather.make(SEATTLE, made.normals, None, date(2015, 12, 31), date(2016, 2, 1), 400, 5)
    assert usual is not None
    apart = (made.tmin_c - usual.tmin_c).mean(axis=0)
    assert apart[0] < -3
    assert apart[1] < 0.4 * apart[0]
    assert abs(apart[25:].mean()) < 0.3


def test_gaps_are_filled_and_marked(four_years: DailyRecords) -> None:
    hole = slice(500, 520)
    holed = {}
    for name in ("tmax_c", "tmin_c", "rain_mm"):
        values = list(getattr(four_years, name))
        values[hole] = [np.nan] * 20
        holed[name] = tuple(values)
    records = DailyRecords(four_years.days, holed["tmax_c"], holed["tmin_c"], holed["rain_mm"])
    made = weather.make(SEATTLE, None, records, date(2012, 1, 1), date(2016, 1, 1), 8, 5)
    assert made is not None
    assert np.flatnonzero(made.source == weather.GAP_FILLED).tolist() == list(range(500, 520))
    assert np.all(np.isfinite(made.tmax_c))
    assert np.all(np.isfinite(made.et0_mm))
    assert np.ptp(made.tmax_c[:, hole], axis=0).min() > 0
    assert np.ptp(made.tmax_c[:, :500], axis=0).max() == 0
    assert any(f.code == "weather.gaps_filled" and "20" in f.what for f in made.findings)


def test_typed_rain_wins_over_the_file(four_years: DailyRecords) -> None:
    typed = {four_years.days[10]: 33.0, date(2016, 1, 2): 12.5}
    made = weather.make(SEATTLE, None, four_years, date(2012, 1, 1), date(2016, 2, 1), 4, 5, rain_typed=typed)
    assert made is not None
    assert np.all(made.rain_mm[:, 10] == 33.0)
    assert np.all(made.rain_mm[:, 1462] == 12.5)
    assert np.all(made.rain_mm[:, 11] == four_years.rain_mm[11])


def test_a_typical_year_with_radiation_vapour_and_wind_agrees_with_refet(typical_year: DailyRecords) -> None:
    months = [day.month for day in typical_year.days]

    def mean(values: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(pd.Series(values).groupby(months).mean())

    normals = Normals(
        mean(typical_year.tmax_c), mean(typical_year.tmin_c), INLAND.rain_mm, INLAND.wet_days, 0.25
    )
    first = typical_year.days[0]
    made = weather.make(GREENSBORO, normals, typical_year, first, first + timedelta(days=365), 2, 3)
    assert made is not None
    assert np.all(made.source == weather.GAP_FILLED)  # rain was not read
    assert made.rs_mj_m2_d[0] == pytest.approx(np.array(typical_year.rs_mj_m2_d))
    other = refet.Daily(
        tmin=typical_year.tmin_c, tmax=typical_year.tmax_c, rs=typical_year.rs_mj_m2_d,
        uz=typical_year.wind_m_s,
        zw=2.0, elev=GREENSBORO.elevation_m, lat=GREENSBORO.latitude_deg, doy=np.arange(1, 366),
        ea=typical_year.ea_kpa, method="asce", rso_type="simple",
    )  # fmt: skip
    assert made.et0_mm[0] == pytest.approx(np.maximum(other.eto(), 0.0), abs=0.005)


def test_without_normals_or_a_year_of_records_there_is_no_weather(four_years: DailyRecords) -> None:
    few = DailyRecords(
        four_years.days[:300], four_years.tmax_c[:300], four_years.tmin_c[:300], four_years.rain_mm[:300]
    )
    assert weather.make(SEATTLE, None, few, date(2013, 1, 1), date(2013, 6, 1), 2, 1) is None
    assert weather.make(SEATTLE, None, None, date(2013, 1, 1), date(2013, 6, 1), 2, 1) is None
