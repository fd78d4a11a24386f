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
from browseline.decades.held import Held, held_ground
from browseline.decades.start import Start
from browseline.decades.weather_years import WeatherYears, joined, known, over_blocks, years_of
from browseline.farm.records import Paddock
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
    which nothing is known to grow. ``full_kg`` (year, member, month) is all that grows, what stock may have
    and what they leave; ``held_kg``, ``held_full_kg`` (held ground, year, member, month) are the parts of
    ``month_kg`` and ``full_kg`` on ground that promises keep from stock (``held.held_ground``). [kg DM]
    """

    month_kg: Array
    paddock_kg: Array
    weather: WeatherYears | None
    unknown: tuple[str, ...]
    full_kg: Array | None = None
    held_kg: Array | None = None
    held_full_kg: Array | None = None


@dataclass(frozen=True, eq=False)
class _Sums:
    """What blocks of members add up to: the arrays of ``GrownAhead``."""

    month: Array
    paddock: Array
    full: Array
    held: Array
    held_full: Array

    @classmethod
    def empty(cls, years: int, members: int, paddocks: int, pieces: int) -> _Sums:
        """Return sums of nothing."""
        month = (years, members, 12)
        return cls(
            np.zeros(month), np.zeros((years, members, paddocks)), np.zeros(month),
            np.zeros((pieces, *month)), np.zeros((pieces, *month)),
        )  # fmt: skip

    def add(self, kg: Array, shares: Array, pieces: tuple[Held, ...], at: slice = slice(None)) -> None:
        """Add the growth that stock may have of some members, shape (paddock, member, year, month). [kg]"""
        full = kg / np.where(shares > 0, shares, 1.0)[:, None, None, None]
        self.month[:, at] += kg.sum(axis=0).transpose(1, 0, 2)
        self.paddock[:, at] += kg.sum(axis=3).transpose(2, 1, 0)
        self.full[:, at] += full.sum(axis=0).transpose(1, 0, 2)
        for n, piece in enumerate(pieces):
            self.held[n][:, at] += np.einsum("pmyk,pk->ymk", kg, piece.share)
            self.held_full[n][:, at] += np.einsum("pmyk,pk->ymk", full, piece.share)

    def made(self, weather: WeatherYears | None, unknown: tuple[str, ...] = ()) -> GrownAhead:
        """Return them as the growth of the years ahead."""
        return GrownAhead(
            self.month, self.paddock, weather, unknown, self.full, self.held, self.held_full
        )  # fmt: skip


def grown_ahead(start: Start, light: LightAhead, years: Sequence[int], members: int) -> GrownAhead:
    """Return what the paddocks grow for stock in every year and member."""
    ground = ground_of(start)
    share = ground.share_frac * ground.area_ha
    there = there_in(ground.paddocks, years)
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
    pieces, shares = held_ground(start.farm), ground.share_frac
    sums = _Sums.empty(len(years), members, len(ground.paddocks), len(pieces))

    def block(made: Weather, own: range) -> WeatherYears:
        kg = grow_block(start, ground, made, years, own, passed, bound)
        kg = kg * (scale[:, None] * there.T)[:, None, :, None]
        sums.add(kg, shares, pieces, slice(own.start, own.stop))
        return years_of(made, years, own, south)

    weather = joined(tuple(over_blocks(start.farm, years, members, start.today, block, rain)))
    return sums.made(weather)


def there_in(paddocks: Sequence[Paddock], years: Sequence[int]) -> Array:
    """Return 1 in the years in which a paddock is the farm's, shape (year, paddock)."""
    begun = np.array([p.from_day.year if p.from_day else 0 for p in paddocks])
    ended = np.array([(p.to_day or date.max).year for p in paddocks])
    year = np.array(years)[:, None]
    return ((year >= begun) & (year <= ended)).astype(np.float64)


def _typed_alone(start: Start, ground: Ground, light: LightAhead, share: Array, there: Array) -> GrownAhead:
    """Return what typed yields give under the trees by the table of yields under shade; every member alike.

    A paddock without a typed yield, or whose sward has no printed spread over months, grows nothing that is
    known, and is named.
    """
    years, members, count = light.light_frac.shape
    pieces, unknown = held_ground(start.farm), []
    sums = _Sums.empty(years, members, count, len(pieces))
    made, paddock = np.zeros((count, members, years, 12)), np.zeros((years, members, count))
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
        made[i] = (kg[:, :, None] * np.array(known_spread)).transpose(1, 0, 2)
    sums.add(made, ground.share_frac, pieces)
    sums.paddock[:] = paddock
    return sums.made(None, tuple(unknown))


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
