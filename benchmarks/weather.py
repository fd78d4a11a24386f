"""How long weather takes: Today's members and two years, and a projection of forty years."""

from __future__ import annotations

from datetime import date

from browseline import weather
from browseline.farm.records import Normals, Place

PLACE = Place(41.0, -90.0, 200.0)
NORMALS = Normals(
    tmax_c=(2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4),
    tmin_c=(-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5),
    rain_mm=(70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70),
    wet_days=(11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11),
    wet_day_threshold_mm=0.25,
)


def make(members: int, years: int) -> weather.Weather:
    """Return generated weather."""
    made = weather.make(PLACE, NORMALS, None, date(2026, 1, 1), date(2026 + years, 1, 1), members, 1)
    if made is None:
        raise RuntimeError("no weather")
    return made


class Weather:
    """Bars: 50 members x 2 years 0.3 s; 200 members x 40 years 10 s."""

    timeout = 120.0

    def setup(self) -> None:
        make(1, 1)

    def time_50_members_2_years(self) -> None:
        make(50, 2)

    def time_200_members_40_years(self) -> None:
        make(200, 40)

    def peakmem_200_members_40_years(self) -> None:
        make(200, 40)
