"""Light on the paddocks when the trees are so many years old: each planting at that age, all together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from browseline.canopy import light as own
from browseline.canopy.cells import Cells
from browseline.canopy.places import TreesThere, trees_there
from browseline.canopy.sizes import TreeSizes
from browseline.farm.records import Farm, Place, Planting
from browseline.layout.form import Layout

Array = npt.NDArray[np.float64]
AGES = (0, 5, 10, 15)
COLUMNS = ("at", "cohort", "east_m", "north_m", "stem_cm", "height_m", "crown_m", "base_m", "leaf_m2")


def years_at(farm: Farm, ages: Sequence[int] = AGES) -> tuple[int, ...]:
    """Return the calendar years in which any planting has any of some ages, in order. [yr]"""
    planted = {p.planted for p in farm.plantings if p.planted is not None}
    return tuple(sorted({year + age for year in planted for age in ages}))


def trees_aged(
    layout: Layout, sizes: TreeSizes, plantings: Sequence[Planting], age: int
) -> TreesThere | None:
    """Return the trees of all plantings at one age, each planting in its own year; None where none stands.

    Parameters
    ----------
    layout : Layout
    sizes : TreeSizes
        With those years (``years_at``).
    plantings : sequence of Planting
    age : int
        Years since planting. [yr]
    """
    parts: list[TreesThere] = []
    for planting in plantings:
        if planting.planted is None or planting.planted + age not in sizes.years:
            continue
        there = trees_there(layout, sizes, planting.planted + age, sizes.members[0])
        kept = np.isin(there.cohort, sizes.of(planting.id))
        parts.append(_some(there, kept))
    if not parts:
        return None
    at, cohort, east, north, stem, height, crown, base, leaf = (
        np.concatenate([getattr(part, name) for part in parts]) for name in COLUMNS
    )
    drawn, beyond = any(part.drawn for part in parts), sum(part.beyond for part in parts)
    return TreesThere(at, cohort, east, north, stem, height, crown, base, leaf, drawn, beyond)


def _some(there: TreesThere, kept: npt.NDArray[np.bool_]) -> TreesThere:
    """Return some of the trees."""
    at, cohort, east, north, stem, height, crown, base, leaf = (
        getattr(there, name)[kept] for name in COLUMNS
    )
    return TreesThere(
        at, cohort, east, north, stem, height, crown, base, leaf, there.drawn, there.beyond
    )  # fmt: skip


def light_by_age(
    farm: Farm, place: Place, cells: Cells, layout: Layout, sizes: TreeSizes, months: Sequence[int],
    of_clear: Sequence[float], ages: Sequence[int] = AGES,
) -> Array:  # fmt: skip
    """Return the light of a season that trees of each age leave, shape (age, paddock). [1]

    Months weigh by the light that they bring.

    Parameters
    ----------
    farm : Farm
    place : Place
    cells : Cells
    layout : Layout
    sizes : TreeSizes
        With the years of ``years_at``; the middle of its members is counted with.
    months : sequence of int
        Of the season, from 1.
    of_clear : sequence of float, twelve
        Light of each month over that of a clear sky. [1]
    ages : sequence of int
        [yr]
    """
    middle = own.middle_trees(sizes)
    weight = np.array([own.clear_mj_m2_d(place, month) * of_clear[month - 1] for month in months])
    out = np.ones((len(ages), len(cells.paddocks)))
    for number, age in enumerate(ages):
        there = trees_aged(layout, middle, farm.plantings, age)
        if there is None or not weight.sum():
            continue
        maps = (
            own.month_map(cells, place, middle, there, age, m, of_clear[m - 1], fine=False) for m in months
        )
        light = np.array([own.paddock_light(cells, made) for made in maps])
        out[number] = np.nan_to_num((light * weight[:, None]).sum(axis=0) / weight.sum(), nan=1.0)
    return out
