"""Sun against the cases of sun.csv.

Where the sun stands at an hour is asked of pvlib, which the chain uses for it; the case holds
that library to the shelf's figures. Day length and the diffuse share are ours.
"""

import csv
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
import pytest

from browseline.science import sun

CASES = list(csv.DictReader(Path(__file__).with_name("sun.csv").read_text("utf-8").splitlines()))


def places(x: dict[str, Any], clock_h: list[float]) -> pd.DataFrame:
    """Return where the sun stands at hours of the clock."""
    midnight = pd.Timestamp(x["date"], tz="UTC") - pd.Timedelta(hours=x["utc_offset_h"])
    times = pd.DatetimeIndex([midnight + pd.Timedelta(hours=h) for h in clock_h])
    found = pvlib.solarposition.get_solarposition(times, x["latitude_deg"], x["longitude_deg"])
    return pd.DataFrame(found)


def at_hour(column: str) -> Callable[[dict[str, Any]], float]:
    """Return elevation or azimuth at the hour of the case."""
    return lambda x: float(places(x, [x["clock_h"]])[column].iloc[0])


def noon(x: dict[str, Any]) -> float:
    """Return the highest elevation of the day, by the minute."""
    return float(places(x, [10 + minute / 60 for minute in range(300)])["elevation"].max())


def day_length(x: dict[str, Any]) -> float:
    day = date.fromisoformat(x["date"]).timetuple().tm_yday
    return float(sun.day_length_h(x["latitude_deg"], np.array([float(day)]))[0])


RESULT: dict[str, Callable[[dict[str, Any]], float]] = {
    "diffuse share from clearness": lambda x: float(sun.diffuse_share(np.array([x["clearness"]]))[0]),
    "noon elevation": noon,
    "sun elevation": at_hour("elevation"),
    "sun azimuth from north": at_hour("azimuth"),
    "day length without refraction": day_length,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](json.loads(case["inputs"]))
    assert result == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_diffuse_share_is_pvlibs_over_the_whole_range() -> None:
    # pvlib.irradiance.erbs, sun in the zenith so that clearness is light over light above the air
    clearness = np.linspace(0.0, 1.0, 201)
    above = pvlib.irradiance.get_extra_radiation(100)
    theirs = pvlib.irradiance.erbs(clearness * above, np.zeros(201), 100)["kt"]
    share = pvlib.irradiance.erbs(clearness[1:] * above, np.zeros(200), 100)["dhi"] / (clearness[1:] * above)
    assert theirs == pytest.approx(clearness, abs=1e-9)
    assert sun.diffuse_share(clearness[1:]) == pytest.approx(share, abs=2e-3)


@pytest.mark.parametrize("latitude_deg", [-44.0, 0.0, 38.0, 55.0])
def test_day_length_over_the_year_is_pvlibs_hour_angle(latitude_deg: float) -> None:
    # pvlib.solarposition.declination_cooper69, the sine that FAO-56 rounds, at sunset
    day = np.arange(1.0, 366.0)
    theirs = np.arccos(
        -np.tan(np.radians(latitude_deg)) * np.tan(pvlib.solarposition.declination_cooper69(day))
    )
    assert sun.day_length_h(latitude_deg, day) == pytest.approx(24 / np.pi * theirs, abs=0.03)


def test_polar_night_and_midnight_sun() -> None:
    day = np.array([172.0, 355.0])
    assert sun.day_length_h(75.0, day) == pytest.approx([24.0, 0.0])
    assert sun.extraterrestrial_mj_m2_d(75.0, day)[1] == 0.0
