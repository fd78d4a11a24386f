"""The weather of the years ahead, by the product's own generator, in blocks of members.

A member's weather is its own: which other members are asked for, and how many years, changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import numpy.typing as npt

from browseline.farm.records import Farm

if TYPE_CHECKING:
    from browseline.weather import Weather

Array = npt.NDArray[np.float64]
Daily = npt.NDArray[np.float32]
T = TypeVar("T")
LEAP_DAYS, MONTHS = 366, 12
BLOCK_DAYS = 150_000
WORKERS = 2
MONTH_STARTS = np.array([0, 31, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335])
LEAP_DAY = 59
MIDSUMMER = 182


@dataclass(frozen=True, eq=False)
class WeatherYears:
    """What crops and trees need of the weather ahead.

    Attributes
    ----------
    years, members : tuple of int
    tmin_c, mean_c : array of float32, shape (year, member, 366)
        Lowest and mean temperature of each day at its place in a leap year; NaN on 29 February of others. [C]
    rain_mm : array, shape (year, member, month)
        [mm]
    recorded : array, shape (year,)
        Share of the year's days that were recorded, not generated. [1]
    south : bool
        Whether spring begins in July.
    """

    years: tuple[int, ...]
    members: tuple[int, ...]
    tmin_c: Daily
    mean_c: Daily
    rain_mm: Array
    recorded: Array
    south: bool = False

    def last_frost(self, at_most_c: float) -> Array:
        """Return the last day of spring's half year as cold as that, shape (year, member).

        Parameters
        ----------
        at_most_c : float
            A day counts when its lowest temperature is not above. [C]

        Returns
        -------
        array
            Place in a leap year, from 0 (1 January); NaN where no day is as cold. [d]
        """
        first = MIDSUMMER if self.south else 0
        cold = self.tmin_c[:, :, first : first + MIDSUMMER] <= at_most_c
        last = first + MIDSUMMER - 1 - np.argmax(cold[:, :, ::-1], axis=2)
        return np.where(cold.any(axis=2), last.astype(np.float64), np.nan)

    def coldest(self, first: int, last: int) -> Array:
        """Return the lowest temperature between two places in the year, ``last`` not included. [C]"""
        return np.asarray(np.nanmin(self.tmin_c[:, :, first:last], axis=2), dtype=np.float64)


def known(farm: Farm) -> bool:
    """Return whether weather can be made for a farm: its place and its normals or records are there."""
    return farm.place is not None and (farm.normals is not None or farm.daily is not None)


def blocks(members: int, years: int) -> tuple[range, ...]:
    """Return the members in blocks of about as many days each; how they are cut changes no draw."""
    size = max(1, BLOCK_DAYS // (years * LEAP_DAYS))
    return tuple(range(start, min(start + size, members)) for start in range(0, members, size))


def weather_of(
    farm: Farm, years: Sequence[int], members: range, today: date, rain: Mapping[date, float] | None = None
) -> Weather | None:
    """Return the days of whole calendar years for some members; None where no weather can be made.

    Parameters
    ----------
    farm : Farm
    years : sequence of int
        Calendar years without holes. [yr]
    members : range
    today : date
        Records after it are not known yet.
    rain : mapping of date to float, optional
        Rain entered in the record. [mm]
    """
    if farm.place is None or not known(farm):
        return None
    from browseline.weather import make

    first, end = date(years[0], 1, 1), date(years[-1] + 1, 1, 1)
    return make(
        farm.place, farm.normals, farm.daily, first, end, len(members), farm.seed, today=today,
        rain_typed=rain, first_member=members.start,
    )  # fmt: skip


def over_blocks(
    farm: Farm, years: Sequence[int], members: int, today: date, each: Callable[[Weather, range], T],
    rain: Mapping[date, float] | None = None,
) -> Iterator[T]:  # fmt: skip
    """Yield what is made of each block of members, in order; two blocks are worked at a time.

    Parameters
    ----------
    each : callable
        Takes the weather of a block and its members.
    """

    def one(block: range) -> T:
        made = weather_of(farm, years, block, today, rain)
        if made is None:
            raise ValueError("no weather is known for the farm")
        return each(made, block)

    with ThreadPoolExecutor(WORKERS) as pool:
        yield from pool.map(one, blocks(members, len(years)))


def years_of(made: Weather, years: Sequence[int], members: Sequence[int], south: bool) -> WeatherYears:
    """Return a block's weather by year, each day at its place in a leap year."""
    year_at, place = places(made, years)
    shape = (len(years), len(members), LEAP_DAYS)
    low, mean = np.full(shape, np.nan, np.float32), np.full(shape, np.nan, np.float32)
    low[year_at, :, place] = made.tmin_c.T
    mean[year_at, :, place] = ((made.tmin_c + made.tmax_c) / 2).T
    begins = np.flatnonzero(np.diff(month_of(made), prepend=-1))
    rain = np.add.reduceat(made.rain_mm, begins, axis=1).reshape(len(members), len(years), MONTHS)
    days = np.bincount(year_at, minlength=len(years))
    recorded = np.bincount(year_at, weights=(made.source == 0).astype(np.float64), minlength=len(years))
    return WeatherYears(tuple(years), tuple(members), low, mean, rain.swapaxes(0, 1), recorded / days, south)


def places(made: Weather, years: Sequence[int]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return the place of each day's year among years, and its place in a leap year."""
    months = made.days.astype("datetime64[M]")
    within = (made.days - months.astype("datetime64[D]")).astype(np.int64)
    place = MONTH_STARTS[months.astype(np.int64) % MONTHS] + within
    return months.astype(np.int64) // MONTHS + 1970 - years[0], np.asarray(place, dtype=np.int64)


def month_of(made: Weather) -> npt.NDArray[np.int64]:
    """Return the month of each day, 0 for January."""
    return np.asarray(made.days.astype("datetime64[M]").astype(np.int64) % MONTHS, dtype=np.int64)


def joined(parts: Sequence[WeatherYears]) -> WeatherYears:
    """Return blocks of members side by side."""
    first = parts[0]
    return WeatherYears(
        first.years, tuple(m for part in parts for m in part.members),
        np.concatenate([p.tmin_c for p in parts], axis=1), np.concatenate([p.mean_c for p in parts], axis=1),
        np.concatenate([p.rain_mm for p in parts], axis=1), first.recorded, first.south,
    )  # fmt: skip


def weather_years(farm: Farm, years: Sequence[int], members: int, today: date) -> WeatherYears | None:
    """Return the weather ahead of all members; None where no weather can be made.

    Parameters
    ----------
    farm : Farm
    years : sequence of int
        Calendar years without holes. [yr]
    members : int
    today : date
        Records after it are not known yet.
    """
    if farm.place is None or not known(farm):
        return None
    south = farm.place.latitude_deg < 0
    parts = over_blocks(farm, years, members, today, lambda made, own: years_of(made, years, own, south))
    return joined(tuple(parts))
