"""Light on the paddocks through the years: the engine at a few ages, straight between by size of the crowns.

For each paddock light, by month, is known as a function of the ground its crowns would cover side by side.
A member reads it at its own crowns. Ages that were left out say how far off that is. Which ages are worked
out follows from a fixed set of members and stretches of forty years: neither more members nor more years
change what any member reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes, grow_trees, paddock_cover, trees_there
from browseline.canopy.cells import Cells
from browseline.canopy.light import crown_cover, light_maps, middle_trees, paddock_light
from browseline.canopy.shade import UNSHADED
from browseline.decades.form import LightAhead
from browseline.decades.start import MONTHS, Start, in_paddock, season_months, thinnings, works_of
from browseline.farm.records import Farm, Paddock
from browseline.layout.form import Layout
from browseline.science import trees_crown
from browseline.units import factor

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
KNOTS, LEFT_OUT = 6, 2
FIXED, STRETCH = 21, 40
LARGE = 0.95
TINY = 1e-6


@dataclass(frozen=True, eq=False)
class Asked:
    """What the engine gave for the trees of some years; places on the map are paddocks of the cells.

    Attributes
    ----------
    first, end : array of int, shape (age,)
        The stretch between thinnings that an age belongs to, as places along the years, ``end`` not in it.
    left_out : bool array, shape (age,)
        Ages that only check what is read between the others.
    light : array, shape (age, month, place)
        What the trees leave of the light. [1]
    cover : array, shape (age, place)
        Ground under crowns, each spot once. [1]
    crowns : array, shape (age, paddock)
        Ground under crowns side by side over a paddock's own. [1]
    """

    first: Ints
    end: Ints
    left_out: npt.NDArray[np.bool_]
    light: Array
    cover: Array
    crowns: Array

    def of(self, first: int, left_out: bool) -> list[int]:
        """Return the ages of a stretch, those that were left out or the others."""
        return [int(n) for n in np.flatnonzero((self.first == first) & (self.left_out == left_out))]


def stretch(years: Sequence[int]) -> tuple[int, ...]:
    """Return the years from the first to the end of the stretch of forty that holds the last. [yr]"""
    whole = max(1, -(-(len(years) - 1) // STRETCH)) * STRETCH
    return tuple(range(years[0], years[0] + whole + 1))


def light_ahead(start: Start, sizes: TreeSizes, asked: Asked | None) -> LightAhead:
    """Return the light on the grass of every paddock by year and member.

    Parameters
    ----------
    start : Start
    sizes : TreeSizes
        Of the years and members wanted.
    asked : Asked or None
        What ``ask`` gave for those years; None without trees on a map.
    """
    farm, paddocks = start.farm, tuple(start.farm.paddocks)
    shape = (len(sizes.years), len(sizes.members), len(paddocks))
    light = np.ones((*shape[:2], 12, shape[2]))
    cover, error = np.zeros(shape), np.zeros((shape[0], shape[2]))
    stand_in: list[str] = []
    weight = month_light(start)
    weight = weight / weight.sum()
    pattern = np.ones((12, shape[2]))
    if start.cells is not None and asked is not None:
        deepest = _from_maps(start, start.cells, sizes, asked, (light, cover, error))
        shade = 1 - deepest
        of_year = weight @ shade
        pattern = np.where(of_year > 1 - UNSHADED, shade / np.maximum(of_year, TINY), 1.0)
    for at, paddock in enumerate(paddocks):
        if start.cells is None or _place(start.cells, paddock) is None:
            by_rows = paddock_cover(farm, sizes, paddock.id)
            if by_rows is not None and by_rows.any():
                cover[:, :, at] = by_rows
                stand_in.append(paddock.id)
        _typed(paddock, light[:, :, :, at], cover[:, :, at])
    season = [m - 1 for m in season_months(farm, start.today)]
    part = weight[season] / weight[season].sum()
    of_season = np.einsum("ymkp,k->ymp", light[:, :, season], part)
    return LightAhead(
        tuple(p.id for p in paddocks), of_season, light, cover, error, tuple(stand_in), weight,
        pattern,
    )  # fmt: skip


def month_light(start: Start) -> Array:
    """Return the light of each month on open ground: weights of the months. [MJ/m2]"""
    from browseline.canopy.light import MONTH_LENGTH, clear_mj_m2_d

    if start.farm.place is None:
        return np.ones(12)
    daily = np.array([clear_mj_m2_d(start.farm.place, month) for month in MONTHS])
    return np.asarray(daily * np.array(start.of_clear) * np.array(MONTH_LENGTH))


def _typed(paddock: Paddock, light: Array, cover: Array) -> None:
    """Put a typed light or cover into a paddock's columns: it holds today, trees of the map change it."""
    if paddock.light is not None:
        today = light[0].mean(axis=0)
        light[:] = np.clip(paddock.light.to("1") * light / np.maximum(today, TINY), 0.0, 1.0)
    elif paddock.cover is not None and (light > UNSHADED).all() and not cover.any():
        cover[:] = paddock.cover.to("1")


def _place(cells: Cells, paddock: Paddock) -> int | None:
    """Return which of the cells' paddocks a paddock, or the whole that it is a part of, is."""
    own = (paddock.id, *paddock.parents)
    return next((cells.paddocks.index(p) for p in own if p in cells.paddocks), None)


def crowns_side_by_side(farm: Farm, sizes: TreeSizes) -> Array:
    """Return the ground that crowns would cover side by side over a paddock's own, (year, member, paddock).

    A paddock without trees takes that of the whole farm: what shades it stands beyond its fence. [1]
    """
    ground = trees_crown.footprint_m2(sizes.crown_m) * sizes.alive * factor("m2", "ha")
    area = np.array([p.area_ha for p in farm.paddocks])
    out = np.zeros((*ground.shape[:2], len(farm.paddocks)))
    own = np.zeros(len(farm.paddocks), dtype=bool)
    by_name = {p.id: p for p in farm.plantings}
    for c, cohort in enumerate(sizes.cohorts):
        there = np.array([in_paddock(by_name[cohort.planting], p) for p in farm.paddocks], dtype=bool)
        if there.any():
            out[:, :, there] += ground[:, :, c, None] / area[there].sum()
        own |= there
    out[:, :, ~own] = (ground.sum(axis=2) / max(area.sum(), TINY))[:, :, None]
    return out


# ---------------------------------------------------------------- what the engine is asked


def ask(start: Start, years: Sequence[int]) -> Asked | None:
    """Return what the light engine gives for the ages that are worked out; None without trees on a map.

    Parameters
    ----------
    start : Start
    years : sequence of int
        Calendar years wanted; the ages are those of their ``stretch``. [yr]
    """
    farm, works = start.farm, works_of(start.farm, start.farm.future)
    if start.cells is None or start.layout is None or not len(start.layout.trees):
        return None
    known = grow_trees(farm, start.state, stretch(years), range(FIXED), works, farm.future.replant)
    middle, large = middle_trees(known), middle_trees(known, LARGE)
    whole = farm_wide(crowns_side_by_side(farm, middle)[:, 0], farm)
    wanted = []
    for era in eras(known.years, thinnings(works)):
        knots, left = ages_wanted(whole[era])
        wanted += [(era, middle, era.start + k, False) for k in knots]
        wanted += [(era, large, era.stop - 1, False)]
        wanted += [(era, middle, era.start + k, True) for k in left]
    seen = [_seen(start, start.cells, start.layout, one, place) for _, one, place, _ in wanted]
    light, cover, crowns = (np.array([one[n] for one in seen]) for n in range(3))
    first, end = (np.array([getattr(era, end) for era, *_ in wanted]) for end in ("start", "stop"))
    return Asked(first, end, np.array([left for *_, left in wanted]), light, cover, crowns)


def _from_maps(
    start: Start, cells: Cells, sizes: TreeSizes, asked: Asked, into: tuple[Array, Array, Array]
) -> Array:
    """Fill light, cover and error of the paddocks on the map; return the first era's last light by month."""
    farm, (light, cover, error) = start.farm, into
    crowns = crowns_side_by_side(farm, sizes)
    at = np.array([-1 if (i := _place(cells, p)) is None else i for p in farm.paddocks])
    deepest = np.ones((12, len(at)))
    deepest[:, at >= 0] = asked.light[asked.of(0, left_out=False)[-1]][:, at[at >= 0]]
    for first, end in sorted(set(zip(asked.first.tolist(), asked.end.tolist(), strict=True))):
        own = slice(first, min(end, len(sizes.years)))
        known, checks = asked.of(first, left_out=False), asked.of(first, left_out=True)
        for p in (int(p) for p in np.flatnonzero(at >= 0) if own.start < own.stop):
            x, month, over = _curve(asked, known, p, int(at[p]))
            for m in range(12):
                light[own, :, m, p] = np.interp(crowns[own, :, p], x, month[:, m])
            cover[own, :, p] = np.interp(crowns[own, :, p], x, over)
            error[own, p] = max((_off(asked, n, p, int(at[p]), x, month) for n in checks), default=0.0)
    return deepest


def farm_wide(mid_crowns: Array, farm: Farm) -> Array:
    """Return the crowns of the middle member over the whole farm, shape (year,). [1]"""
    area = np.array([p.area_ha for p in farm.paddocks])
    return np.asarray(mid_crowns @ (area / max(area.sum(), TINY)))


def eras(years: Sequence[int], cuts: Sequence[int]) -> list[slice]:
    """Return the stretches of years between thinnings, forty at most, as places along the years."""
    ends = set(range(STRETCH + 1, len(years), STRETCH)) | {years.index(y) for y in cuts if y in years[1:]}
    edges = [0, *sorted(ends), len(years)]
    return [slice(a, b) for a, b in pairwise(edges)]


def ages_wanted(crowns: Array) -> tuple[list[int], list[int]]:
    """Return places of the years to ask the engine for, and of years between them that check it.

    Ends and steps of equal size in the square root of the crowns; the checks lie amid the widest steps.
    """
    size = np.sqrt(np.maximum.accumulate(np.maximum(crowns, 0.0)))
    steps = np.linspace(size[0], size[-1], KNOTS)
    knots = sorted({int(np.argmin(np.abs(size - step))) for step in steps} | {0, len(crowns) - 1})
    gaps = sorted(pairwise(knots), key=lambda g: size[g[0]] - size[g[1]])
    left = [(a + b) // 2 for a, b in gaps if b - a > 1][:LEFT_OUT]
    return knots, sorted(left)


def _seen(
    start: Start, cells: Cells, layout: Layout, one: TreeSizes, place: int
) -> tuple[Array, Array, Array]:
    """Return light by month, cover and crowns of a year's trees; ``one`` has a single member."""
    year = one.years[place]
    if start.farm.place is None:
        raise ValueError("light needs a latitude")
    made = light_maps(cells, start.farm.place, layout, one, (year,), MONTHS, start.of_clear, fine=False)
    light = np.nan_to_num(np.array([paddock_light(cells, each) for each in made]), nan=1.0)
    cover = crown_cover(cells, trees_there(layout, one, year, one.members[0]))
    return light, cover, crowns_side_by_side(start.farm, one)[place, 0]


def _curve(asked: Asked, known: Sequence[int], paddock: int, place: int) -> tuple[Array, Array, Array]:
    """Return crowns, light by month and cover of a paddock, from bare ground up: there all is light."""
    order = sorted(known, key=lambda n: float(asked.crowns[n, paddock]))
    x = np.array([0.0, *asked.crowns[order, paddock]])
    month = np.concatenate([np.ones((1, 12)), asked.light[order, :, place]])
    over = np.array([0.0, *asked.cover[order, place]])
    apart = np.concatenate(([True], np.diff(x) > TINY))
    return x[apart], month[apart], over[apart]


def _off(asked: Asked, check: int, paddock: int, place: int, x: Array, month: Array) -> float:
    """Return what a left-out age is off by, mean of the months. [1]"""
    read = [np.interp(asked.crowns[check, paddock], x, month[:, m]) for m in range(12)]
    return abs(float(np.mean(read) - asked.light[check, :, place].mean()))
