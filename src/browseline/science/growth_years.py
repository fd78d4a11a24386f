"""Grass of many years in one pass: soil water, potential and growth of every paddock, member after member.

The equations are those of the day by day sward (``forage``, ``water``, ``grazing``); here they run side by
side for each paddock's own light, so that nothing is interpolated.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.science.compiled import bare, compiled
from browseline.science.grazing import Leaf, paddock_day
from browseline.science.water import water_day

Array = NDArray[np.float64]
Index = NDArray[np.int64]


class Skies(NamedTuple):
    """Weather of a block of members, shared by all paddocks.

    year, month (day,) are places of each day; par [MJ/m2/d], et0_mm, et0_light_mm, rain_mm, mean10_c
    (member, day); warm (member, day, group) [1]; flush (variant, member, day) [1]; cut (day,) is 1 on days
    on which grass is taken down to the height to leave, 0 on others of the season, -1 out of season: what
    grows then is not counted.
    """

    year: Index
    month: Index
    par_mj_m2_d: Array
    et0_mm: Array
    et0_light_mm: Array
    rain_mm: Array
    mean10_c: Array
    warm: Array
    flush: Array
    cut: Index


class Lands(NamedTuple):
    """What stays fixed of every paddock.

    share (paddock, group); flush (paddock,) is the variant; water (paddock, 10): total [mm], p, kc before and
    in growth [1], least temperature of growth [C], three curve numbers, dry below and wet above [1];
    leave_kg_ha (paddock,).
    """

    share: Array
    flush: Index
    water: Array
    leave_kg_ha: Array


class Groups(NamedTuple):
    """Constants by forage group: full efficiency [kg/MJ x m2/ha], decline [m2 d/MJ], its onset [MJ/m2/d].

    cool (group,) is 1 where the spring flush counts; loss_per_d and idle_below are of the standing loss.
    """

    kg_per_mj: Array
    decline: Array
    onset_mj_m2_d: Array
    cool: Index
    loss_per_d: float
    idle_below: float


@bare
def wet_share(water_frac: float, et0_mm: float) -> float:
    """Share of growth that soil water allows on a day: ``forage.water_response`` of one number.

    Parameters
    ----------
    water_frac : float
        Plant-available water over the store. [1]
    et0_mm : float
        [mm/d]

    Returns
    -------
    float
        [1]

    References
    ----------
    jouven2006a, as in ``forage.water_response``
    """
    x = min(max(water_frac, 0.0), 1.0)
    if et0_mm > 6.5:
        return x
    if et0_mm > 3.8:
        if x < 0.2:
            return 2.0 * x
        if x < 0.4:
            return 0.4 + 1.5 * (x - 0.2)
        if x < 0.6:
            return 0.7 + (x - 0.4)
        return min(0.9 + 0.5 * (x - 0.6), 1.0)
    if x < 0.2:
        return 4.0 * x
    if x < 0.4:
        return 0.8 + 0.75 * (x - 0.2)
    return min(0.95 + 0.25 * (x - 0.4), 1.0)


@bare
def one_land(skies, lands, groups, leaf, member, land, light, bound, fertility, out, potential, loss):  # type: ignore[no-untyped-def]
    """Growth of one paddock and member, added up by year and month.

    Parameters
    ----------
    light : array, shape (year, month)
        What trees leave of the light. [1]
    bound : array, shape (year, group)
        Factor on shaded growth. [1]
    fertility : float
        [1]
    out : array, shape (year, month)
        Growth is added to it. [kg/ha]
    potential, loss : array, shape (1, group), (1,)
        Room to work in.

    References
    ----------
    derived_here, forage.md 1.2, 2 and 3: the sward's own equations
    """
    count = lands.share.shape[1]
    total, p, least_c = lands.water[land, 0], lands.water[land, 1], lands.water[land, 4]
    kc_before, kc_in = lands.water[land, 2], lands.water[land, 3]
    numbers = (lands.water[land, 5], lands.water[land, 6], lands.water[land, 7])
    dry, wet_from = lands.water[land, 8], lands.water[land, 9]
    share = lands.share[land]
    missing, mass = 0.0, lands.leave_kg_ha[land]
    for day in range(skies.year.shape[0]):
        y, m = skies.year[day], skies.month[day]
        passed = light[y, m]
        et0 = max(skies.et0_mm[member, day] - (1.0 - passed) * skies.et0_light_mm[member, day], 0.0)
        kc = kc_in if skies.mean10_c[member, day] >= least_c else kc_before
        missing = water_day(missing, skies.rain_mm[member, day], kc * et0, total, p, numbers, dry, wet_from)[
            0
        ]
        wet = wet_share(1.0 - missing / total, et0)
        par = skies.par_mj_m2_d[member, day] * passed
        vigour = 0.0
        for g in range(count):
            potential[0, g] = 0.0
            if share[g] > 0.0:
                warm = skies.warm[member, day, g] * wet
                vigour += share[g] * warm
                strong = min(max(1.0 - groups.decline[g] * (par - groups.onset_mj_m2_d[g]), 0.0), 1.0)
                season = skies.flush[lands.flush[land], member, day] if groups.cool[g] == 1 else 1.0
                potential[0, g] = groups.kg_per_mj[g] * par * strong * warm * season * bound[y, g]
        loss[0] = groups.loss_per_d if vigour < groups.idle_below else 0.0
        cut_to = lands.leave_kg_ha[land] if skies.cut[day] == 1 else np.inf
        mass, growth, _, _, _ = paddock_day(
            mass, 0.0, 0.0, cut_to, np.nan, fertility, potential, loss, 0, share, leaf
        )
        if skies.cut[day] >= 0:
            out[y, m] += growth


@compiled
def grown(skies, lands, groups, leaf, light, bound, fertility):  # type: ignore[no-untyped-def]
    """Growth of every paddock and member of a block, by year and month.

    Parameters
    ----------
    skies : Skies
    lands : Lands
    groups : Groups
    leaf : Leaf
    light : array, shape (paddock, member, year, month)
        [1]
    bound : array, shape (paddock, member, year, group)
        [1]
    fertility : array, shape (paddock, member)
        [1]

    Returns
    -------
    array, shape (paddock, member, year, month)
        [kg/ha]

    References
    ----------
    derived_here, forage.md 1.2, 2 and 3: the sward's own equations
    """
    out, potential, loss = np.zeros(light.shape), np.zeros((1, lands.share.shape[1])), np.zeros(1)
    for land in range(light.shape[0]):
        for member in range(light.shape[1]):
            one_land(
                skies, lands, groups, leaf, member, land, light[land, member], bound[land, member],
                fertility[land, member], out[land, member], potential, loss,
            )  # fmt: skip
    return out


__all__ = ["Groups", "Lands", "Leaf", "Skies", "grown", "wet_share"]
