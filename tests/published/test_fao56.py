"""Weather and soil water against the worked examples of FAO-56; fao56.csv names each one."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline import tables
from browseline.science import sun, water, weather
from browseline.science.weather import Array

CASES = list(csv.DictReader(Path(__file__).with_name("fao56.csv").read_text("utf-8").splitlines()))


def row(key: str, applies_to: str) -> float:
    """Return the number of a coefficient."""
    return tables.row("weather", key, applies_to).middle()


class Example:
    """The inputs of one example, and what follows from them step by step."""

    def __init__(self, inputs: dict[str, Any]) -> None:
        self.inputs = inputs

    def __getattr__(self, name: str) -> Array:
        return np.array([float(self.inputs[name])])

    @property
    def above_air(self) -> Array:
        return sun.extraterrestrial_mj_m2_d(float(self.inputs["latitude_deg"]), self.day_of_year)

    @property
    def day_length(self) -> Array:
        return sun.day_length_h(float(self.inputs["latitude_deg"]), self.day_of_year)

    @property
    def light(self) -> Array:
        overcast, clear = row("angstrom_overcast", "any place"), row("angstrom_clear", "any place")
        return weather.solar_from_sunshine_mj_m2_d(
            self.above_air, self.sun_h, self.day_length, overcast, clear
        )

    @property
    def clear_light(self) -> Array:
        return weather.clear_share(float(self.inputs["altitude_m"])) * self.above_air

    @property
    def longwave(self) -> Array:
        return weather.net_longwave_mj_m2_d(
            self.tmax_c, self.tmin_c, self.ea_kpa, self.light, self.clear_light
        )

    @property
    def net(self) -> Array:
        return weather.net_shortwave_mj_m2_d(self.light, row("albedo", "reference grass")) - self.longwave

    @property
    def into_soil(self) -> Array:
        if "temp_month_after_c" in self.inputs:
            return weather.soil_heat_month_mj_m2_d(self.temp_month_before_c, self.temp_month_after_c)
        return weather.soil_heat_from_month_before_mj_m2_d(self.tmean_month_before_c, self.tmean_c)

    @property
    def gamma(self) -> float:
        return weather.psychrometric_kpa_c(float(self.inputs["altitude_m"]))

    @property
    def et0(self) -> Array:
        return weather.reference_et_mm_d(
            self.tmax_c, self.tmin_c, self.ea_kpa, self.u2_m_s, self.net - self.into_soil, self.gamma
        )


def available(x: Example) -> Array:
    """Return what a soil holds, from the table's row of its texture."""
    texture = str(x.inputs["texture"])
    assert tables.row("soil", "available_water", texture).middle() == pytest.approx(x.inputs["awc_mid_m3_m3"])
    return water.total_available_mm(x.awc_mid_m3_m3, x.root_depth_m)


RESULT: dict[str, Callable[[Example], Array | float]] = {
    "saturation vapour pressure": lambda x: weather.saturation_kpa(x.temp_c),
    "mean saturation vapour pressure of a day": lambda x: weather.mean_saturation_kpa(x.tmax_c, x.tmin_c),
    "inverse relative earth-sun distance": lambda x: sun.inverse_distance(x.day_of_year),
    "solar declination": lambda x: sun.declination_rad(x.day_of_year),
    "sunset hour angle": lambda x: sun.sunset_hour_angle_rad(float(x.inputs["latitude_deg"]), x.day_of_year),
    "radiation outside the atmosphere": lambda x: x.above_air,
    "daylight hours": lambda x: x.day_length,
    "monthly soil heat flux": lambda x: x.into_soil,
    "radiation to equivalent evaporation": lambda x: weather.evaporation_mm(x.mj_m2_d),
    "solar radiation from the temperature range, inland": lambda x: weather.solar_from_range_mj_m2_d(
        x.ra_mj_m2_d, x.tmax_c, x.tmin_c, row("krs", "inland")
    ),
    "solar radiation from sunshine hours": lambda x: x.light,
    "clear-sky radiation": lambda x: x.clear_light,
    "net longwave radiation": lambda x: x.longwave,
    "net radiation": lambda x: x.net,
    "slope of the vapour pressure curve": lambda x: weather.vapour_slope_kpa_c(x.tmean_c),
    "psychrometric constant": lambda x: x.gamma,
    "reference evapotranspiration": lambda x: x.et0,
    "available water from texture": available,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](Example(json.loads(case["inputs"])))
    assert float(np.asarray(result).item()) == pytest.approx(
        float(case["expected"]), abs=float(case["tolerance"])
    )


def test_stress_of_a_soil_that_has_lost_four_fifths_of_its_water() -> None:
    # fao56 eq. 83-84, worked in forage.md section 3: TAW 93, p 0.60, ETc 5, Dr 74.4 -> RAW 55.8, Ks 0.50
    share = water.depletion_share(tables.row("soil", "p_depletion", "grazing pasture, rotated").middle(), 5.0)
    assert water.readily_available_mm(93.0, share) == pytest.approx(55.8, abs=0.05)
    assert water.stress_frac(74.4, 93.0, share) == pytest.approx(0.50, abs=0.005)


def test_vapour_pressure_from_humidity_meets_that_from_the_dew_point() -> None:
    # fao56 eq. 17 with eq. 14: saturated all day, both are the mean saturation of the day
    high, low, full = np.array([24.5]), np.array([15.0]), np.array([1.0])
    assert weather.vapour_from_humidity_kpa(high, low, full, full) == pytest.approx(2.39, abs=0.005)


def test_wind_at_two_metres_is_itself_and_less_than_at_ten() -> None:
    # fao56 eq. 47: the factor is 1.000 at 2 m and 0.748 at 10 m
    assert weather.wind_at_2m_m_s(np.array([3.2, 3.2]), 2.0) == pytest.approx(3.2, abs=0.01)
    assert weather.wind_at_2m_m_s(np.array([3.2]), 10.0) == pytest.approx(3.2 * 0.748, abs=0.002)


def test_air_pressure_and_psychrometric_constant_at_1800_m() -> None:
    # fao56, Example 2 (recalled): 81.8 kPa, 0.054 kPa/C
    assert weather.air_pressure_kpa(1800.0) == pytest.approx(81.8, abs=0.05)
    assert weather.psychrometric_kpa_c(1800.0) == pytest.approx(0.054, abs=0.0005)


def test_hargreaves_of_a_summer_day() -> None:
    # fao56, Example 20 (recalled): Tmax 26.6, Tmin 14.8, Ra 40.6 -> 5.0 mm/d
    high, low, above_air = np.array([26.6]), np.array([14.8]), np.array([40.6])
    assert weather.hargreaves_mm_d(high, low, above_air) == pytest.approx(5.0, abs=0.05)


def test_sunlit_part_is_what_the_equation_loses_in_the_dark() -> None:
    # fao56, Example 17 with and without net shortwave; the equation is linear in net radiation
    x = Example(json.loads(next(c["inputs"] for c in CASES if c["id"] == "C213")))
    kept = weather.net_shortwave_mj_m2_d(x.light, row("albedo", "reference grass"))
    rest = x.net - x.into_soil - kept + 20.0  # lifted, so that neither side is cut at 0
    lit, dark = (
        weather.reference_et_mm_d(x.tmax_c, x.tmin_c, x.ea_kpa, x.u2_m_s, rest + part, x.gamma)
        for part in (kept, 0.0)
    )
    sunlit = weather.sunlit_et_mm_d(x.tmax_c, x.tmin_c, x.u2_m_s, kept, x.gamma)
    assert lit - dark == pytest.approx(sunlit)


@pytest.mark.parametrize(
    ("dawn", "rain", "demand", "night", "used", "drained"),
    [
        (0.0, 0.0, 5.0, 5.0, 5.0, 0.0),  # wet soil: use as much as the crop would
        (74.4, 0.0, 5.0, 76.9, 2.5, 0.0),  # the worked stress 0.50
        (10.0, 20.0, 5.0, 0.0, 5.0, 5.0),  # more rain than is missing: 5 mm drain
        (93.0, 0.0, 5.0, 93.0, 0.0, 0.0),  # nothing left to use
    ],
)
def test_a_day_of_soil_water_by_hand(
    dawn: float, rain: float, demand: float, night: float, used: float, drained: float
) -> None:
    # fao56, eq. 85 with TAW 93 and p 0.60 at 5 mm; curve number so low that nothing runs off
    numbers = (30.0, 30.0, 30.0)
    day = water.water_day(dawn, rain, demand, 93.0, 0.60, numbers, 0.35, 0.80)
    assert day[:4] == pytest.approx((night, used, 0.0, drained), abs=0.05)
    one = (np.array([dawn]), np.array([[rain]]), np.array([[demand]]), np.ones((1, 1)))
    run = water.run_water(*one, 93.0, 0.60, numbers, 0.35, 0.80)
    assert [float(part[0, 0]) for part in run] == pytest.approx(list(day))
