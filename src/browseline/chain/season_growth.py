"""What the weather grows over a whole season in every paddock: the supply where nobody typed a yield."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from browseline import sward, tables
from browseline.chain.keep import content_key, kept_weather
from browseline.chain.look import WARM_UP_D, Picture
from browseline.farm.records import Farm
from browseline.ledger.account import season_of
from browseline.ledger.balance_months import Grown, months_of
from browseline.science import grazing

if TYPE_CHECKING:
    from browseline.weather import Weather


def grown_of(picture: Picture) -> Grown | None:
    """Return the growth of the season by month, or None where no weather is known or none is asked for.

    Every paddock is cut back to its leave-at height at the rest of slowing growth, so that grass
    neither stands idle nor is stripped; stays and heights of the record play no part in it.
    """
    farm = picture.farm
    if all(s.yearly_yield is not None for s in farm.swards) and farm.swards:
        return None
    first, last = season_of(farm, picture.today)
    weather = _weather(picture, farm, first, last)
    if weather is None:
        return None
    rest_d = round(tables.row("stays", "rest", "growth slowing").middle())
    growth = _growth_kg_ha(
        picture, sward.growing_days(farm, weather, picture.scene.trees), first, (last - first).days, rest_d
    )
    months = months_of(first, last)
    return Grown(picture.scene.herbage.paddocks, months, _by_month(growth, first, months), rest_d)


def _growth_kg_ha(
    picture: Picture, growing: sward.Growing, first: date, length: int, rest_d: int
) -> NDArray[np.float64]:
    """Return daily growth, shape (member, day, paddock). [kg DM/ha]"""
    herbage = picture.scene.herbage
    leave = np.array([n.mass_kg_ha(n.leave_at.value or 0.0) for n in herbage.numbers])
    cut = np.full((length, len(leave)), np.inf)
    cut[::rest_d] = leave
    untyped = np.full((length, len(leave)), np.nan)
    days = growing.slice(first, length)._replace(cut_to_kg_ha=cut, typed_kg_ha_d=untyped)
    land = herbage.land._replace(curve=np.array([growing.curve_of[p] for p in herbage.paddocks], np.int64))
    start = np.broadcast_to(leave, (herbage.members, len(leave)))
    nobody = grazing.stays_of(length, [], [], [], [], [])
    eats = np.zeros((1, length, 0))
    run = grazing.run(start, herbage.fertility, eats, land, days, nobody, growing.leaf)
    return run.growth_kg_ha


def _by_month(
    growth_kg_ha: NDArray[np.float64], first: date, months: tuple[tuple[int, int], ...]
) -> NDArray[np.float64]:
    """Return daily growth summed over calendar months, shape (member, month, paddock). [kg DM/ha]"""
    days = [first + timedelta(days=d) for d in range(growth_kg_ha.shape[1])]
    of = np.array([months.index((day.year, day.month)) for day in days])
    return np.stack([growth_kg_ha[:, of == m].sum(axis=1) for m in range(len(months))], axis=1)


def _weather(picture: Picture, farm: Farm, first: date, last: date) -> Weather | None:
    if farm.place is None or (farm.normals is None and farm.daily is None):
        return None
    from browseline.weather import make

    place, members = farm.place, picture.scene.herbage.members
    rain = {day: depth.to("mm") for day, depth in picture.state.rain}
    end = last + timedelta(days=2)
    key = content_key(
        place, farm.normals, farm.daily, first, end, members, farm.seed, picture.today, sorted(rain.items())
    )
    return kept_weather(
        key,
        lambda: make(
            place, farm.normals, farm.daily, first, end, members, farm.seed, today=picture.today,
            rain_typed=rain, warmup_days=WARM_UP_D,
        ),
    )  # fmt: skip
