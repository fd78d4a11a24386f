"""What the trees of one year do to each paddock: light by month, cover, shade in heat, ground, leaders."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.canopy.cells import Cells
from browseline.canopy.light import crown_cover, heat_shade, middle_trees
from browseline.canopy.months import months_light
from browseline.canopy.places import trees_there
from browseline.canopy.sizes import HIGH, LOW, TreeSizes
from browseline.farm.records import Farm, Paddock, Place
from browseline.layout.form import Layout
from browseline.science.draws import normal
from browseline.units import factor

Array = npt.NDArray[np.float64]
UNSHADED = 0.995
HOTTEST_NORTH, HOTTEST_SOUTH = 7, 1


@dataclass(frozen=True, eq=False)
class TreeShade:
    """What trees do to the paddocks of a farm in one year.

    Attributes
    ----------
    year : int
    paddocks : tuple of str
        Those on the map.
    light_frac : array, shape (month, paddock)
        What trees leave of each month's light, January first. [1]
    cover_frac, heat_frac : array, shape (paddock,)
        Ground under crowns, each spot once; ground in a crown's shadow in the hot hours. [1]
    row_ha : array, shape (paddock,)
        Ground under rows that stand. [ha]
    leaders : mapping
        Planting to the leader of its shortest trees by the tables: a short tree of ten, the middle, a tall
        one. [cm]
    """

    year: int
    paddocks: tuple[str, ...]
    light_frac: Array
    cover_frac: Array
    heat_frac: Array
    row_ha: Array
    leaders: Mapping[str, tuple[float, float, float]]

    def at(self, paddock: Paddock) -> int | None:
        """Return the place of a paddock, or of the whole that it is a part of; None where not on the map."""
        return next(
            (self.paddocks.index(p) for p in (paddock.id, *paddock.parents) if p in self.paddocks), None
        )

    def light_of(self, paddock: Paddock) -> tuple[float, ...] | None:
        """Return a paddock's light by month in hundredths; None where no tree takes any. [1]"""
        at = self.at(paddock)
        if at is None or (self.light_frac[:, at] > UNSHADED).all():
            return None
        return tuple(round(float(x), 2) for x in self.light_frac[:, at])


def hottest_month(farm: Farm, place: Place) -> int:
    """Return the month with the warmest days: by the farm's normals, else by its hemisphere."""
    if farm.normals is not None:
        return int(np.argmax(farm.normals.tmax_c)) + 1
    return HOTTEST_NORTH if place.latitude_deg >= 0 else HOTTEST_SOUTH


def shade_of(
    farm: Farm, place: Place, cells: Cells, layout: Layout, sizes: TreeSizes, year: int,
    of_clear: Sequence[float],
) -> TreeShade:  # fmt: skip
    """Return what the trees of a year do to each paddock.

    Parameters
    ----------
    farm : Farm
    place : Place
    cells : Cells
    layout : Layout
    sizes : TreeSizes
        With that year; the middle of its members is counted with.
    year : int
        [yr]
    of_clear : sequence of float, twelve
        Light of each month over that of a clear sky. [1]
    """
    middle = middle_trees(sizes)
    there = trees_there(layout, middle, year, middle.members[0])
    light = months_light(cells, place, middle, there, of_clear)
    heat = heat_shade(cells, place, middle, there, hottest_month(farm, place))
    return TreeShade(
        year, cells.paddocks, np.nan_to_num(light, nan=1.0), crown_cover(cells, there),
        np.clip(np.nan_to_num(heat), 0.0, 1.0), rows_ha(layout, cells.paddocks),
        {p: leader_cm(sizes, p, year) for p in sizes.fates if sizes.of(p)},
    )  # fmt: skip


def rows_ha(layout: Layout, paddocks: Sequence[str]) -> Array:
    """Return the ground under the rows that stand, by paddock: what is only planned takes none yet. [ha]"""
    standing = [p for p in layout.plantings if not p.to_plant]
    return np.array([sum(p.row_ground_ha for p in standing if p.paddock == own) for own in paddocks])


def leader_cm(sizes: TreeSizes, planting: str, year: int) -> tuple[float, float, float]:
    """Return low, middle and high leader of a planting's shortest cohort that stands; 0 where none does. [cm]

    The ends are those of single trees: 80 % of the members, and of the trees about their mean.
    """
    when = sizes.years.index(year)
    cohorts = [i for i in sizes.of(planting) if (sizes.alive[when, :, i] > 0).any()]
    if not cohorts:
        return (0.0, 0.0, 0.0)
    short = min(cohorts, key=lambda i: float(np.median(sizes.height_m[when, :, i])))
    low, middle, high = np.quantile(sizes.height_m[when, :, short], (LOW, 0.5, HIGH)) * factor("m", "cm")
    apart = np.exp(float(sizes.scatter[when, short]) * float(normal(np.array([HIGH]))[0]))
    return float(low / apart), float(middle), float(high * apart)
