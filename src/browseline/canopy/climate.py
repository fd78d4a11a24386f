"""Which measured city is nearest in climate to a farm."""

from __future__ import annotations

import numpy as np

from browseline import tables
from browseline.farm.records import Farm

PARTS = ("city_coldest", "city_warmest", "city_rain")


def nearest_cities(farm: Farm) -> tuple[str, ...]:
    """Return the measured cities by likeness of climate, nearest first; none where no weather is known.

    Mean of the coldest and of the warmest month and the log of the year's rain, each over its spread among
    the cities. The cities' climates are recalled.
    """
    normals = farm.normals
    if normals is None:
        return ()
    months = (np.array(normals.tmax_c) + np.array(normals.tmin_c)) / 2
    return by_climate(float(months.min()), float(months.max()), float(sum(normals.rain_mm)))


def by_climate(coldest_c: float, warmest_c: float, rain_mm_yr: float) -> tuple[str, ...]:
    """Return the cities nearest first.

    Parameters
    ----------
    coldest_c, warmest_c : float
        Mean of the coldest and the warmest month. [C]
    rain_mm_yr : float
        [mm/yr]
    """
    names = cities()
    known = np.array([climate_of(name) for name in names])
    here = np.array([coldest_c, warmest_c, np.log(max(rain_mm_yr, 1.0))])
    far = (((known - here) / known.std(axis=0)) ** 2).sum(axis=1)
    return tuple(names[i] for i in np.argsort(far, kind="stable"))


def cities() -> tuple[str, ...]:
    """Return the codes of the measured cities."""
    return tables.applies("trees", PARTS[0])


def climate_of(city: str) -> tuple[float, float, float]:
    """Return coldest month, warmest month and log of the year's rain of a city. [C, C, 1]"""
    cold, warm, rain = (tables.row("trees", part, city).middle() for part in PARTS)
    return cold, warm, float(np.log(rain))
