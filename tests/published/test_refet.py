"""Reference water use against refet, a second implementation (method asce, rso_type simple)."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
import refet

from browseline import weather
from browseline.farm.records import Normals, Place
from browseline.science.weather import Array, saturation_kpa
from tests.published.normals import INLAND

PLACES = {
    "41 N, 200 m": Place(41.0, -90.0, 200.0),
    "41 N, coast": Place(41.0, -70.0, 5.0, coast=True),
    "38 S, 900 m": Place(-38.0, 145.0, 900.0),
    "61 N, 10 m": Place(61.0, 10.0, 10.0),
}


def theirs(made: weather.Weather, place: Place, ea_kpa: Array, wind_m_s: Array) -> Array:
    """Return refet's water use on the days of one member."""
    of_year = (made.days - made.days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1
    days = refet.Daily(
        tmin=made.tmin_c[0], tmax=made.tmax_c[0], rs=made.rs_mj_m2_d[0], uz=wind_m_s, zw=2.0,
        elev=place.elevation_m, lat=place.latitude_deg, doy=of_year, ea=ea_kpa, method="asce",
        rso_type="simple",
    )  # fmt: skip
    return np.asarray(days.eto())


def turned(normals: Normals) -> Normals:
    """Return normals of the other half of the earth."""

    def half_a_year_on(values: tuple[float, ...]) -> tuple[float, ...]:
        return values[6:] + values[:6]

    return replace(
        normals,
        tmax_c=half_a_year_on(normals.tmax_c),
        tmin_c=half_a_year_on(normals.tmin_c),
        rain_mm=half_a_year_on(normals.rain_mm),
        wet_days=half_a_year_on(normals.wet_days or ()),
    )


@pytest.mark.parametrize("name", PLACES)
def test_a_generated_year_agrees(name: str) -> None:
    place = PLACES[name]
    normals = turned(INLAND) if place.latitude_deg < 0 else INLAND
    made = weather.make(place, normals, None, date(2027, 1, 1), date(2028, 1, 1), 1, 11)
    assert made is not None
    other = theirs(made, place, saturation_kpa(made.tmin_c[0]), np.full(365, 2.0))
    assert float(np.max(np.abs(made.et0_mm[0] - np.maximum(other, 0.0)))) <= 0.005


def test_shade_takes_off_what_less_light_takes_off() -> None:
    # The same equation with tau * Rs in the net shortwave term alone: the sky's clearness stays.
    place = PLACES["41 N, 200 m"]
    made = weather.make(place, INLAND, None, date(2027, 5, 1), date(2027, 9, 1), 1, 11)
    assert made is not None
    open_sky, dark = made.shaded_et0_mm(1.0), made.shaded_et0_mm(0.0)
    half = made.shaded_et0_mm(0.5)
    assert open_sky == pytest.approx(made.et0_mm)
    above = dark > 0
    assert half[above] == pytest.approx(((open_sky + dark) / 2)[above])
    assert np.all(half <= open_sky)
