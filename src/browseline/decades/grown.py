"""What the paddocks grow in the years ahead, with weather or by typed yields alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from browseline.decades.bounds import bounds_of
from browseline.decades.feed import Ground, by_member, ground_of, grow_block, known_weather, typed_scale
from browseline.decades.form import LightAhead
from browseline.decades.start import Start
from browseline.decades.weather_years import WeatherYears, joined, known, over_blocks, years_of
from browseline.sward.numbers import GROUPS
from browseline.sward.shade import cover_factor
from browseline.sward.spread import month_share

if TYPE_CHECKING:
    from browseline.weather import Weather

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class GrownAhead:
    """What stock may have of the growth, shape (year, member, month) and (year, member, paddock). [kg DM]

    ``kept_frac`` (year, member, paddock) is growth over that without trees' shade where the table alone
    tells it (no weather), else NaN; ``weather`` is None where none can be made; ``unknown`` names paddocks of
    which nothing is known to grow.
    """

    month_kg: Array
    paddock_kg: Array
    weather: WeatherYears | None
    unknown: tuple[str, ...]


def grown_ahead(start: Start, light: LightAhead, years: Sequence[int], members: int) -> GrownAhead:
    """Return what the paddocks grow for stock in every year and member."""
    ground = ground_of(start)
    share = ground.share_frac * ground.area_ha
    there = _there(start, ground, years)
    if not known(start.farm):
        return _typed_alone(start, ground, light, share, there)
    rain = {day: depth.to("mm") for day, depth in start.state.rain}
    fixed = known_weather(start, years, rain)
    if fixed is None:
        return _typed_alone(start, ground, light, share, there)
    passed = by_member(light)
    bound = bounds_of(start, ground, light, fixed)
    scale = typed_scale(start, ground, fixed, years, passed) * share
    south = start.farm.place is not None and start.farm.place.latitude_deg < 0
    month = np.zeros((len(years), members, 12))
    paddock = np.zeros((len(years), members, len(ground.paddocks)))

    def block(made: Weather, own: range) -> WeatherYears:
        kg = grow_block(start, ground, made, years, own, passed, bound)
        kg = kg * (scale[:, None] * there.T)[:, None, :, None]
        at = slice(own.start, own.stop)
        month[:, at] = kg.sum(axis=0).transpose(1, 0, 2)
        paddock[:, at] = kg.sum(axis=3).transpose(2, 1, 0)
        return years_of(made, years, own, south)

    weather = joined(tuple(over_blocks(start.farm, years, members, start.today, block, rain)))
    return GrownAhead(month, paddock, weather, ())


def _there(start: Start, ground: Ground, years: Sequence[int]) -> Array:
    """Return 1 in the years in which a paddock is the farm's, shape (year, paddock)."""
    begun = np.array([p.from_day.year if p.from_day else 0 for p in ground.paddocks])
    ended = np.array([(p.to_day or date.max).year for p in ground.paddocks])
    year = np.array(years)[:, None]
    return ((year >= begun) & (year <= ended)).astype(np.float64)


def _typed_alone(start: Start, ground: Ground, light: LightAhead, share: Array, there: Array) -> GrownAhead:
    """Return what typed yields give under the trees by the table of yields under shade; every member alike.

    A paddock without a typed yield, or whose sward has no printed spread over months, grows nothing that is
    known, and is named.
    """
    years, members, count = light.light_frac.shape
    month = np.zeros((years, members, 12))
    paddock = np.zeros((years, members, count))
    unknown = []
    for i, one in enumerate(ground.paddocks):
        spread = [month_share(ground.numbers[i].kind, m) for m in range(1, 13)]
        known_spread = [x.value or 0.0 for x in spread if x is not None]
        if np.isnan(ground.typed_kg_ha[i]) or len(known_spread) < 12:
            unknown.append(one.id)
            continue
        kept = kept_share(ground.lands.share[i], light.light_frac[:, :, i], light.cover_frac[:, :, i],
                          one.id in light.stand_in)  # fmt: skip
        kg = ground.typed_kg_ha[i] * share[i] * kept / kept[:1, :1] * there[:, i, None]
        paddock[:, :, i] = kg
        month += kg[:, :, None] * np.array(known_spread)
    return GrownAhead(month, paddock, None, tuple(unknown))


def kept_share(shares: Array, light_frac: Array, cover_frac: Array, by_cover: bool) -> Array:
    """Return the share of its open yield that a sward keeps under trees, by the table of yields. [1]

    Parameters
    ----------
    shares : array, shape (group,)
        By mass. [1]
    light_frac, cover_frac : array, any shape
        [1]
    by_cover : bool
        Crown cover stands for the shade.

    References
    ----------
    mercier2020 and forage.md section 2: central values, straight between
    """
    grid = np.linspace(0.0, 1.0, 101)
    shade = cover_frac if by_cover else 1 - light_frac
    parts = [
        part * np.interp(shade, grid, [cover_factor(name, float(x)) for x in grid])
        for name, part in zip(GROUPS, shares, strict=True)
    ]
    return np.asarray(np.sum(parts, axis=0) / shares.sum())
