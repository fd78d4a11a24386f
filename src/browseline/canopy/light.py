"""Light under a farm's own trees: maps by year and month, and what they come to in each paddock.

A map is one year's trees in one month's leaf, under that month's sun and sky. Many maps are never all
held: they come one by one. Trunks are left out, and shelter from wind is not modelled at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from browseline.canopy import book
from browseline.canopy.cells import Cells, strip_of
from browseline.canopy.cover import crowns_over
from browseline.canopy.places import TreesThere, trees_there
from browseline.canopy.season import EVERGREEN, monthly_leaf_share
from browseline.canopy.sizes import TreeSizes
from browseline.farm.records import Place
from browseline.layout.form import Layout
from browseline.science import light, light_sky
from browseline.science.light_scene import Crowns, Directions
from browseline.units import factor

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
SKY_YEAR = 2025
MONTHS = tuple(range(1, 13))
MONTH_LENGTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MAP_DAYS, MAP_STEP_MIN = 12, 30.0
MEAN_DAYS, MEAN_STEP_MIN = 3, 60.0
MEAN_STEP_S = 3600.0
HOT_HOURS = (12, 17)
MINUTES = 60
LEAST_M = 1e-3
OPAQUE_PER_M = 1e3
STRIPS_M = (1.0, 2.0, 4.0, 6.0, 9.0, 12.0)


@dataclass(frozen=True, eq=False)
class MonthLight:
    """The light map of one month of one year.

    Attributes
    ----------
    light_frac : array, shape (row, col), float32
        What the trees leave of a cell's own open light. [1]
    open_frac : array, shape (row, col), float32
        A cell's open light over that of level ground without a horizon. [1]
    """

    year: int
    month: int
    light_frac: Floats
    open_frac: Floats


def middle_trees(sizes: TreeSizes, quantile: float = 0.5) -> TreeSizes:
    """Return sizes with one member, whose trees are as large as a quantile of the members'.

    Which trees live is that of the first member.

    Parameters
    ----------
    sizes : TreeSizes
    quantile : float
        0 to 1. [1]
    """
    one = {
        name: np.quantile(getattr(sizes, name), quantile, axis=1, keepdims=True)
        for name in ("stem_cm", "height_m", "crown_m", "base_m", "leaf_m2")
    }
    return replace(sizes, members=sizes.members[:1], alive=sizes.alive[:, :1], **one)


def month_days(month: int, count: int) -> list[int]:
    """Return days of the year spread evenly over a month. [d]"""
    begin, length = sum(MONTH_LENGTH[: month - 1]), MONTH_LENGTH[month - 1]
    return sorted({begin + 1 + int((n + 0.5) * length / count) for n in range(count)})


@cache
def sky_of(place: Place, month: int, of_clear: float = 1.0, fine: bool = True) -> Directions | None:
    """Return where a month's light comes from; None where the sun does not rise.

    Parameters
    ----------
    place : Place
    month : int
        From 1.
    of_clear : float
        The month's light over that of a clear sky: the less, the more comes from the whole sky. [1]
    fine : bool
        By half hours of twelve days, for maps; else by hours of three days, for means.
    """
    count, step = (MAP_DAYS, MAP_STEP_MIN) if fine else (MEAN_DAYS, MEAN_STEP_MIN)
    try:
        return light_sky.days_light(
            SKY_YEAR, month_days(month, count), place.latitude_deg, place.longitude_deg, of_clear, step
        )
    except ValueError:
        return None


def clear_mj_m2_d(place: Place, month: int) -> float:
    """Return the light of a clear sky on level ground, mean of a month's days. [MJ/m2/d]"""
    times = light_sky.sun_times(
        SKY_YEAR, month_days(month, MEAN_DAYS), MEAN_STEP_MIN, place.latitude_deg, place.longitude_deg
    )
    watts = float(light_sky.clear_global_w_m2(times.zenith_deg).sum())
    return watts * MEAN_STEP_S / MEAN_DAYS * factor("J", "MJ")


@cache
def leaf_factor(place: Place, species: str, month: int) -> float:
    """Return a crown's optical depth in a month over that in full leaf: bare wood still shades. [1]"""
    if book.kinds(species)["leaf_habit"] == EVERGREEN:
        return 1.0
    leaf = float(monthly_leaf_share(place, species)[month - 1])
    return leaf + (1 - leaf) * book.middle("bare_share", "any leaf-losing tree")


def crowns_in(
    place: Place, sizes: TreeSizes, there: TreesThere, month: int, ground_m: Array | None = None
) -> Crowns:
    """Return the crowns of standing trees in the leaf of a month, as the light engine reads them.

    Parameters
    ----------
    place : Place
    sizes : TreeSizes
        That the trees were taken from.
    there : TreesThere
    month : int
    ground_m : array, shape (tree,), optional
        Height of the ground at each foot. [m]
    """
    radius = there.crown_m / 2
    half = np.maximum((there.height_m - there.base_m) / 2, LEAST_M)
    volume = 4 / 3 * np.pi * np.maximum(radius, LEAST_M) ** 2 * half
    by_cohort = np.array(
        [book.leaf_projection(c.species) * leaf_factor(place, c.species, month) for c in sizes.cohorts]
    )
    per_m = there.leaf_m2 / volume * (by_cohort[there.cohort] if len(by_cohort) else 0.0)
    foot = np.zeros(len(radius)) if ground_m is None else ground_m
    return Crowns(there.east_m, there.north_m, foot, (there.height_m + there.base_m) / 2, radius, half, per_m)


def feet_m(cells: Cells, there: TreesThere) -> Array:
    """Return the height of the ground at each tree, that of the nearest cell. [m]"""
    rows, cols = cells.grid.ground_m.shape
    row = np.clip(np.rint((there.north_m - cells.grid.y_m) / cells.grid.cell_m), 0, rows - 1).astype(int)
    col = np.clip(np.rint((there.east_m - cells.grid.x_m) / cells.grid.cell_m), 0, cols - 1).astype(int)
    return np.asarray(cells.grid.ground_m[row, col], dtype=np.float64)


def month_map(
    cells: Cells, place: Place, sizes: TreeSizes, there: TreesThere, year: int, month: int,
    of_clear: float = 1.0, fine: bool = True,
) -> MonthLight:  # fmt: skip
    """Return the light map of a month; fully dark months count as open."""
    sky = sky_of(place, month, of_clear, fine)
    shape = cells.grid.ground_m.shape
    if sky is None:
        return MonthLight(year, month, np.ones(shape, np.float32), np.ones(shape, np.float32))
    made = light.light_map(crowns_in(place, sizes, there, month, feet_m(cells, there)), cells.grid, sky)
    return MonthLight(year, month, made.light_frac, made.open_frac)


def light_maps(
    cells: Cells, place: Place, layout: Layout, sizes: TreeSizes, years: Sequence[int],
    months: Sequence[int] = MONTHS, of_clear: Sequence[float] = (1.0,) * 12, fine: bool = True,
) -> Iterator[MonthLight]:  # fmt: skip
    """Yield a light map for every month of every year, one at a time.

    Parameters
    ----------
    cells : Cells
    place : Place
    layout : Layout
        On the plane of the cells.
    sizes : TreeSizes
        With those years; the trees of its first member are drawn (``middle_trees``).
    years, months : sequence of int
        Calendar years of ``sizes``; months from 1.
    of_clear : sequence of float, twelve
        Light of each month over that of a clear sky. [1]
    fine : bool
        As in ``sky_of``.
    """
    for year in years:
        there = trees_there(layout, sizes, year, sizes.members[0])
        for month in months:
            yield month_map(cells, place, sizes, there, year, month, of_clear[month - 1], fine)


# ---------------------------------------------------------------- what maps come to


def paddock_light(cells: Cells, made: MonthLight) -> Array:
    """Return what the trees leave of each paddock's own open light, shape (paddock,); NaN without a cell."""
    lit = light.mean_by_area(made.light_frac * made.open_frac, cells.paddock_of, len(cells.paddocks))
    bare = light.mean_by_area(made.open_frac, cells.paddock_of, len(cells.paddocks))
    out = np.full(len(cells.paddocks), np.nan)
    np.divide(lit, bare, out=out, where=bare > 0)
    return np.asarray(np.clip(out, 0.0, 1.0))


def land_light(cells: Cells, made: MonthLight) -> Array:
    """Return each paddock's open light over that of level ground, shape (paddock,). [1]"""
    return light.mean_by_area(made.open_frac, cells.paddock_of, len(cells.paddocks))


def strip_light(cells: Cells, layout: Layout, made: MonthLight, paddock: str) -> Array:
    """Return the mean light by strip from the nearest row, shape (strip,); NaN where a strip has no cell.

    Strips end at ``STRIPS_M``; the last has no far end. [1]
    """
    strips = strip_of(cells, layout, STRIPS_M, paddock)
    return light.mean_by_area(made.light_frac, strips, len(STRIPS_M) + 1)


def crown_cover(cells: Cells, there: TreesThere) -> Array:
    """Return the share of each paddock under crowns, each spot counted once, shape (paddock,). [1]"""
    trees = (there.east_m, there.north_m, there.crown_m)
    return np.array([crowns_over(*trees, outline) for outline in cells.outlines.values()])


def heat_shade(cells: Cells, place: Place, sizes: TreeSizes, there: TreesThere, month: int) -> Array:
    """Return the share of each paddock's ground in the shadow of a crown in the hot hours, shape (paddock,).

    The hot hours are those from noon to five by the sun on days of the hottest month; a shadow counts
    whole, however thin the crown that throws it. [1]

    References
    ----------
    ours: definition; trees.md section 3, 3 for the shadow
    """
    times = light_sky.sun_times(
        SKY_YEAR, month_days(month, MEAN_DAYS), MEAN_STEP_MIN / 2, place.latitude_deg, place.longitude_deg
    )
    west = times.azimuth_deg > 180
    steep = np.sort(times.zenith_deg[west])
    many = MEAN_DAYS * round((HOT_HOURS[1] - HOT_HOURS[0]) * MINUTES / (MEAN_STEP_MIN / 2))
    limit = steep[min(many, len(steep)) - 1] if len(steep) else 0.0
    hot = west & (times.zenith_deg <= limit)
    if not hot.any():
        return np.zeros(len(cells.paddocks))
    sun = Directions(times.azimuth_deg[hot], times.zenith_deg[hot], np.ones(int(hot.sum())))
    solid = crowns_in(place, sizes, there, month, feet_m(cells, there))
    solid = solid._replace(depth_per_m=np.where(solid.depth_per_m > 0, OPAQUE_PER_M, 0.0))
    lit = light.light_map(solid, cells.grid, sun).light_frac
    return 1 - light.mean_by_area(lit, cells.paddock_of, len(cells.paddocks))
