"""How much of the ground crowns cover, what grass is left under them, and when to thin.

Crown cover is not shade: it says what stands overhead, light says what reaches the grass.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy.sizes import TreeSizes
from browseline.farm.records import Farm, Planting
from browseline.science import trees_crown
from browseline.units import factor

if TYPE_CHECKING:
    from shapely import Polygon

Array = npt.NDArray[np.float64]
CIRCLE_SEGMENTS = 16


@dataclass(frozen=True)
class Cover:
    """Crown cover of one design by year; arrays share one shape, with the year first. [1]

    ``union`` counts ground once; ``random`` is that of as many crowns standing anywhere; ``total`` is the
    sum of the crowns, which may pass 1.
    """

    years: tuple[int, ...]
    union: Array
    random: Array
    total: Array


@dataclass(frozen=True)
class Thinning:
    """When a design closes. Years are counted as the design counts them; None is never within it.

    ``touch`` is when crowns meet in the row, ``near`` when cover passes the share at which thinning is
    due, ``window`` the whole years from the first to the last before it; ``below`` the first year in which
    grass falls below each level asked for. [yr]
    """

    touch: float | None
    near: float | None
    window: tuple[int, int] | None
    below: dict[float, float | None]


def row_cover(
    years: Sequence[int], crown_m: Array, in_row_m: float, alley_m: float, standing_frac: Array | float = 1.0
) -> Cover:
    """Return the cover of trees on a rectangular grid.

    Parameters
    ----------
    years : sequence of int
    crown_m : array, shape (year, ...)
        Crown diameter. [m]
    in_row_m, alley_m : float
        Between places in the row, and between rows. [m]
    standing_frac : array or float
        Share of the places with a standing tree; below 1 the gaps stand anywhere. [1]
    """
    standing = np.broadcast_to(np.asarray(standing_frac, dtype=np.float64), crown_m.shape)
    total = trees_crown.footprint_m2(crown_m) / (in_row_m * alley_m) * standing
    full = trees_crown.cover_of_rows(crown_m / 2, in_row_m, alley_m)
    if (standing < 1).any():
        gappy = trees_crown.cover_of_gappy_rows(crown_m / 2, in_row_m, alley_m, standing)
        full = np.where(standing < 1, gappy, full)
    return Cover(tuple(years), full, trees_crown.cover_at_random(total), total)


def planting_cover(sizes: TreeSizes, planting: Planting) -> Cover | None:
    """Return the cover of a planting on its own ground, shape (year, member); None without its spacings. [1]

    Trees taken out on purpose leave the others evenly spaced in the row; those that died leave gaps.

    Parameters
    ----------
    sizes : TreeSizes
    planting : Planting
        With ``spacing`` and ``alley``.
    """
    if planting.spacing is None or planting.alley is None or planting.id not in sizes.fates:
        return None
    at = list(sizes.of(planting.id))
    own = sizes.fates[planting.id]
    places = sum(c.count for c in own.cohorts if not c.replant)
    alive = sizes.alive[:, :, at].sum(axis=2)
    free = own.free_places(sizes.years)[:, [own.members.index(m) for m in sizes.members]]
    left = np.where(alive > 0, np.maximum(places - free, 1), places)
    standing = np.minimum(alive / left, 1.0)
    crown = np.nan_to_num(sizes.mean("crown_m", planting.id))
    union, random, total = (np.zeros(crown.shape) for _ in range(3))
    for n in np.unique(left):
        here = left == n
        in_row = planting.spacing.to("m") * places / n
        made = row_cover((), crown[here], in_row, planting.alley.to("m"), standing[here])
        union[here], random[here], total[here] = made.union, made.random, made.total
    return Cover(sizes.years, union, random, total)


def paddock_cover(farm: Farm, sizes: TreeSizes, paddock: str) -> Array | None:
    """Return the share of a paddock under crowns by its plantings' spacings, shape (year, member).

    Plantings of one paddock are taken to stand beside each other. None where the paddock is not known, or
    one of its plantings has no spacings. [1]
    """
    ground = farm.paddock(paddock)
    if ground is None or ground.area_ha <= 0:
        return None
    out = np.zeros((len(sizes.years), len(sizes.members)))
    for planting in (p for p in farm.plantings if p.paddock == paddock):
        cover = planting_cover(sizes, planting)
        if cover is None or planting.spacing is None or planting.alley is None:
            return None
        places = sum(c.count for c in sizes.fates[planting.id].cohorts if not c.replant)
        own_ha = places * planting.spacing.to("m") * planting.alley.to("m") * factor("m2", "ha")
        out += cover.union * own_ha / ground.area_ha
    return np.minimum(out, 1.0)


def crowns_over(east_m: Array, north_m: Array, crown_m: Array, ground: Polygon) -> float:
    """Return the share of a piece of ground under round crowns, each spot counted once.

    Parameters
    ----------
    east_m, north_m, crown_m : array, shape (tree,)
        Trunks and crown diameters. [m]
    ground : shapely Polygon
        On the same plane. [m]

    Returns
    -------
    float
        0 to 1. [1]
    """
    import shapely

    if not len(east_m) or ground.area <= 0:
        return 0.0
    west, south, east, north = ground.bounds
    reach = crown_m / 2
    near = (east_m + reach >= west) & (east_m - reach <= east)
    near &= (north_m + reach >= south) & (north_m - reach <= north)
    circles = shapely.buffer(
        shapely.points(east_m[near], north_m[near]), reach[near], quad_segs=CIRCLE_SEGMENTS
    )
    flat = np.pi / (2 * CIRCLE_SEGMENTS)
    lost = np.sin(flat) / flat
    union = shapely.union_all(circles[shapely.intersects(circles, ground)])
    return float(min(shapely.intersection(union, ground).area / lost / ground.area, 1.0))


def thinning(
    cover: Cover, crown_m: Array, in_row_m: float, grass: Callable[[float], float], levels: Sequence[float]
) -> Thinning:
    """Return when crowns meet, cover nears the share for thinning, and grass falls below some levels.

    Parameters
    ----------
    cover : Cover
        Of one design, shape (year,).
    crown_m : array, shape (year,)
        Crown diameter. [m]
    in_row_m : float
        Between trunks in the row. [m]
    grass : callable
        Share of open growth that grass keeps under a cover. [1]
    levels : sequence of float
        Shares of open growth. [1]
    """
    due = tables.row("trees", "thin_near", "canopy closure")
    touch = trees_crown.first_passing(cover.years, crown_m, in_row_m)
    near = trees_crown.first_passing(cover.years, cover.union, due.middle() * factor(due.unit, "1"))
    window = None
    if touch is not None and near is not None:
        window = (int(np.ceil(touch)), max(int(np.floor(near)), int(np.ceil(touch))))
    left = np.array([grass(float(share)) for share in cover.union])
    return Thinning(touch, near, window, {x: trees_crown.first_below(cover.years, left, x) for x in levels})
