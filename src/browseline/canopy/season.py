"""When a farm's trees are in leaf."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cache

import numpy as np
import numpy.typing as npt

from browseline.canopy import book
from browseline.farm.records import Place
from browseline.science import trees_season

Array = npt.NDArray[np.float64]
EVERGREEN = "evergreen"


def leaf_days(place: Place, species: str) -> tuple[float, float] | None:
    """Return the day of leaf-out and of half leaf-fall, or None for what is always green. [d]"""
    words = book.kinds(species)
    if words["leaf_habit"] == EVERGREEN:
        return None
    offset = book.middle("leaf_out_offset", words["leafout_group"])
    base, degree, metre = (book.middle(key) for key in ("leaf_out", "leaf_out_degree", "leaf_out_metre"))
    out = trees_season.leaf_out_day(place.latitude_deg, place.elevation_m, offset, base, degree, metre)
    fall = trees_season.leaf_fall_day(
        place.latitude_deg, book.middle("leaf_fall"), book.middle("leaf_fall_degree")
    )
    return out, fall


def leaf_share(place: Place, species: str, days: Sequence[date]) -> Array:
    """Return the share of full leaf on a species' trees, shape (day,). [1]"""
    ends = leaf_days(place, species)
    if ends is None:
        return np.ones(len(days))
    of_year = np.array([day.timetuple().tm_yday for day in days], dtype=np.float64)
    return trees_season.leaf_share(of_year, ends[0], book.middle("leaf_opening"), ends[1])


@cache
def monthly_leaf_share(place: Place, species: str) -> Array:
    """Return the mean share of full leaf by month, shape (12,), January first; not to be written to. [1]"""
    days = [date.fromordinal(date(2025, 1, 1).toordinal() + n) for n in range(365)]
    share = leaf_share(place, species, days)
    months = np.array([day.month for day in days])
    monthly = np.array([share[months == month].mean() for month in range(1, 13)])
    monthly.setflags(write=False)
    return monthly
