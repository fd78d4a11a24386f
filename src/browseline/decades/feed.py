"""Feed of the years ahead: what grows under the trees' light in every member's weather, month by month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.decades.form import LightAhead
from browseline.decades.start import Start, own_name, season_days
from browseline.decades.weather_years import month_of, places, weather_of
from browseline.farm.records import Paddock, Soil
from browseline.figures import Figure, typed
from browseline.science import draws, forage
from browseline.sward.constants import COOL, group, leaf, season
from browseline.sward.growing import (
    CROP_ROW,
    DEFAULT_GROUP,
    DEFAULT_TEXTURE,
    ROTATED,
    book_available_mm,
    curve_numbers,
)
from browseline.sward.numbers import GROUPS, SwardNumbers, sward_numbers
from browseline.units import factor

if TYPE_CHECKING:
    from browseline.science.growth_years import Groups, Lands, Skies
    from browseline.weather import Weather

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
FIXED, KNOWN_YEARS = 8, 5
PERCENT = factor("%", "1")
FLUSHES = ("rested 28 d or more", "grazed closer")


class Rhythm(NamedTuple):
    """When grass is cut back: months and days of the season, and after how many days. [d]"""

    first: date
    days: int
    rest_d: int


@dataclass(frozen=True, eq=False)
class Ground:
    """The paddocks of a farm as the years are grown on them.

    ``numbers`` are of each paddock's sward, ``share_frac`` what stock may have of the growth, ``area_ha``
    what is grazed, ``typed_kg_ha`` a yield as typed or NaN, ``known`` (year, paddock) whether the paddock is
    the farm's in a year.
    """

    paddocks: tuple[Paddock, ...]
    numbers: tuple[SwardNumbers, ...]
    shares: tuple[Figure, ...]
    area_ha: Array
    typed_kg_ha: Array
    lands: Lands
    groups: Groups
    rhythm: Rhythm

    @property
    def share_frac(self) -> Array:
        """Return what stock may have of each paddock's growth. [1]"""
        return np.array([share.value or 0.0 for share in self.shares])


def ground_of(start: Start) -> Ground:
    """Return a farm's paddocks as the years are grown on them."""
    from browseline.science.growth_years import Lands

    farm = start.farm
    paddocks = tuple(farm.paddocks)
    numbers = tuple(sward_numbers(farm, p) for p in paddocks)
    lands = Lands(
        np.array([n.shares for n in numbers]), np.array([0 if n.long_rest else 1 for n in numbers]),
        np.array([_water(start, p, n) for p, n in zip(paddocks, numbers, strict=True)]),
        np.array([n.mass_kg_ha(n.leave_at.value or 0.0) for n in numbers]),
    )  # fmt: skip
    first, last = season_days(farm, start.today)
    rest_d = round(tables.row("stays", "rest", "growth slowing").middle())
    return Ground(
        paddocks, numbers, tuple(share_harvested(start, p) for p in paddocks),
        np.array([p.grazed_ha for p in paddocks]), np.array([_typed_kg_ha(start, p) for p in paddocks]),
        lands, _groups(), Rhythm(first, (last - first).days, rest_d),
    )  # fmt: skip


def _groups() -> Groups:
    from browseline.science.growth_years import Groups

    each = [group(name) for name in GROUPS]
    return Groups(
        10 * np.array([g.rue_g_mj for g in each]), np.array([g.par_decline_m2_d_mj for g in each]),
        np.array([g.par0_mj_m2_d for g in each]), np.array([int(name == COOL) for name in GROUPS]),
        tables.row("forage", "standing_loss", "any sward").middle(),
        tables.row("forage", "idle_below", "any sward").middle(),
    )  # fmt: skip


def share_harvested(start: Start, paddock: Paddock) -> Figure:
    """Return the share of a year's growth that stock may have: typed, else the planning default. [1]"""
    own = start.farm.sward_of(paddock)
    if own is not None and own.harvest_share is not None:
        return typed("share_harvested", own.harvest_share.to("1"), "1", own.harvest_share.text, about=own.id)
    row = tables.row("balance", "share_harvested", "set-stocked or slow rotation")
    origins = row.figure("share_harvested").origins
    return Figure("share_harvested", row.middle() * PERCENT, "1", origins=origins)


def _typed_kg_ha(start: Start, paddock: Paddock) -> float:
    own = start.farm.sward_of(paddock)
    return own.yearly_yield.to("kg/ha") if own is not None and own.yearly_yield is not None else np.nan


def _water(start: Start, paddock: Paddock, numbers: SwardNumbers) -> tuple[float, ...]:
    """Return what the soil's water of a paddock follows, in the order of ``Lands.water``."""
    soil = start.farm.soil_of(paddock) or Soil("")
    own = soil.available_water
    total = own.to("mm") if own is not None else book_available_mm(soil.texture or DEFAULT_TEXTURE)
    crop = CROP_ROW.get(numbers.kind, ROTATED)
    ini, mid, p = (
        tables.row("soil", key, crop).middle() for key in ("kc_ini", "kc_mid", "p_depletion")
    )  # fmt: skip
    leading = group(GROUPS[int(np.argmax(numbers.shares))])
    dry, wet = (
        tables.row("soil", key, "soil store").middle() for key in ("moisture_dry_below", "moisture_wet_above")
    )
    return (total, p, ini, mid, leading.t0_c, *curve_numbers(soil.group or DEFAULT_GROUP), dry, wet)


def skies_of(made: Weather, years: Sequence[int], rhythm: Rhythm, south: bool) -> Skies:
    """Return what all paddocks share of a block's weather."""
    from browseline.science.growth_years import Skies

    mean_c = (made.tmax_c + made.tmin_c) / 2
    mean10 = forage.mean_of_last(mean_c)
    warm = np.stack([forage.temperature_response(mean10, group(name)) for name in GROUPS], axis=2)
    months = made.days.astype("datetime64[M]")
    new_year = (months.astype(int) % 12 == (6 if south else 0)) & (
        made.days == months.astype(made.days.dtype)
    )
    knots = season()
    warmth = forage.photothermal_increment_c_d(mean_c, made.day_length_h, knots)
    height = forage.season_factor(forage.sum_since(warmth, new_year), knots, 2.0) - 1
    rows = [tables.row("forage", "flush", name).middle() for name in FLUSHES]
    year_at, _ = places(made, years)
    return Skies(
        year_at, month_of(made), tables.row("forage", "par_share", "sunlight").middle() * made.rs_mj_m2_d,
        made.et0_mm, made.et0_light_mm, made.rain_mm, mean10, np.ascontiguousarray(warm),
        np.stack([1 + (flush - 1) * height for flush in rows]), cuts_of(made, years, rhythm),
    )  # fmt: skip


def cuts_of(made: Weather, years: Sequence[int], rhythm: Rhythm) -> Ints:
    """Return for each day 1 where grass is cut back, 0 in season, -1 out of season; every year alike."""
    out = np.full(len(made.days), -1, dtype=np.int64)
    origin: date = made.days[0].astype(object)
    for year in range(years[0] - 1, years[-1] + 1):
        first = (_same_day(rhythm.first, year) - origin).days
        # A season of a whole year ends where the next one begins.
        end = min(first + rhythm.days, (_same_day(rhythm.first, year + 1) - origin).days)
        out[max(first, 0) : max(end, 0)] = 0
        cut = np.arange(first, end, rhythm.rest_d)
        out[cut[(cut >= 0) & (cut < len(out))]] = 1
    return out


def _same_day(day: date, year: int) -> date:
    """Return a day of another year; 28 February for the 29th."""
    return day.replace(year=year, day=min(day.day, 28)) if day.month == 2 else day.replace(year=year)


# ---------------------------------------------------------------- luck, light and their bounds


def fertility_of(start: Start, ground: Ground, members: Sequence[int]) -> Array:
    """Return the fertility of each paddock, one for all years of a member, shape (paddock, member). [1]

    Where a yield was typed its level is known: there the mean stands, and the weather alone moves about it.
    """
    limits = tables.row("forage", "NI", "limits")
    out = np.empty((len(ground.paddocks), len(members)))
    for i, (paddock, numbers) in enumerate(zip(ground.paddocks, ground.numbers, strict=True)):
        figure = numbers.fertility
        mean, sd = figure.value or 0.0, 0.0
        if figure.low is not None and figure.high is not None:
            sd = (figure.high - figure.low) / 2
        mean, sd = start.fertility.get(paddock.id, (mean, sd))
        if not np.isnan(ground.typed_kg_ha[i]):
            sd = 0.0
        name = f"decades.fertility.{own_name(paddock)}"
        chance = np.array([draws.uniform(start.farm.seed, name, member, 0, 1)[0] for member in members])
        out[i] = np.clip(mean + sd * draws.normal(chance), limits.low, limits.high)
    return out


def known_weather(start: Start, years: Sequence[int], rain: dict[date, float]) -> Weather | None:
    """Return the weather of the fixed members in the first years: what bounds and typed yields go by."""
    first = tuple(range(years[0], years[0] + KNOWN_YEARS))
    return weather_of(start.farm, first, range(FIXED), start.today, rain)


def by_member(light: LightAhead) -> Array:
    """Return the light by month as the growth reads it, shape (paddock, member, year, month). [1]"""
    return np.ascontiguousarray(light.month_frac.transpose(3, 1, 0, 2))


def grow_block(
    start: Start, ground: Ground, made: Weather, years: Sequence[int], members: range,
    light: Array, bound: Array,
) -> Array:  # fmt: skip
    """Return the growth of a block of members, shape (paddock, member, year, month). [kg DM/ha]

    Parameters
    ----------
    light : array, shape (paddock, member, year, month)
        Of all members. [1]
    bound : array, shape (paddock, member, year, group)
        Of all members. [1]
    """
    from browseline.science.growth_years import grown

    south = start.farm.place is not None and start.farm.place.latitude_deg < 0
    skies = skies_of(made, years, ground.rhythm, south)
    own = slice(members.start, members.stop)
    return np.asarray(
        grown(
            skies, ground.lands, ground.groups, leaf(GROUPS), np.ascontiguousarray(light[:, own]),
            np.ascontiguousarray(bound[:, own]), fertility_of(start, ground, members),
        )
    )  # fmt: skip


def typed_scale(start: Start, ground: Ground, made: Weather, years: Sequence[int], light: Array) -> Array:
    """Return typed yield over what the model grows today, by paddock; 1 where nobody typed one. [1]

    Parameters
    ----------
    made : Weather
        Of ``known_weather``.
    light : array, shape (paddock, member, year, month)
        Today's is that of the first member in the first year. [1]
    """
    if np.isnan(ground.typed_kg_ha).all():
        return np.ones(len(ground.paddocks))
    first = tuple(range(years[0], years[0] + KNOWN_YEARS))
    shape = (len(ground.paddocks), FIXED, KNOWN_YEARS, 12)
    today = np.broadcast_to(light[:, :1, :1, :], shape)
    bound = np.ones((*shape[:3], len(GROUPS)))
    grown = grow_block(start, ground, made, first, range(FIXED), today, bound)
    usual = grown.sum(axis=3).mean(axis=(1, 2))
    return np.where(np.isnan(ground.typed_kg_ha), 1.0, ground.typed_kg_ha / np.maximum(usual, 1e-9))
