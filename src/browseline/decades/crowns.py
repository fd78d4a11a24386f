"""Three numbers that say what crowns do to the light of a paddock: their ground, their leaf, their height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes
from browseline.canopy.cells import Cells
from browseline.decades.start import in_paddock
from browseline.farm.records import Farm, Paddock
from browseline.science import trees_crown
from browseline.units import factor

Array = npt.NDArray[np.float64]
TINY = 1e-6


@dataclass(frozen=True, eq=False)
class Crowns:
    """The crowns of each paddock, shape (year, member, paddock) each.

    ``ground`` is what they would cover side by side over the paddock's own ground and that of the farm's
    paddocks without trees: the same area in every year, so a measure to read by. ``leaf`` is their leaf over
    that cover, ``tall`` the height of their tops, mean by cover. [1, 1, m]
    """

    ground: Array
    leaf: Array
    tall: Array


def crowns_of(farm: Farm, sizes: TreeSizes) -> Crowns:
    """Return the crowns of each paddock; one without trees takes those of the whole farm.

    What shades such a paddock stands beyond its fence.
    """
    cover = trees_crown.footprint_m2(sizes.crown_m) * sizes.alive * factor("m2", "ha")
    leaf = sizes.leaf_m2 * sizes.alive * factor("m2", "ha")
    area = np.array([p.area_ha for p in farm.paddocks])
    by_name = {p.id: p for p in farm.plantings}
    there = np.array(
        [[in_paddock(by_name[c.planting], p) for p in farm.paddocks] for c in sizes.cohorts], dtype=np.float64
    ).reshape(len(sizes.cohorts), len(area))
    own = there.any(axis=0)
    there[:, ~own] = 1.0
    # Trees of a whole are shared by its parts, those of the farm by all.
    home = there @ area
    by_area = np.where(there > 0, 1 / np.maximum(home, TINY)[:, None], 0.0)
    by_area[:, ~own] = 1 / max(area.sum(), TINY)
    ground = cover @ by_area
    return Crowns(
        ground, _over(leaf @ there, cover @ there), _over((cover * sizes.height_m) @ there, cover @ there)
    )


def _over(top: Array, bottom: Array) -> Array:
    return np.asarray(np.divide(top, bottom, out=np.zeros(top.shape), where=bottom > TINY))


def place_of(cells: Cells, paddock: Paddock) -> int | None:
    """Return which of the cells' paddocks a paddock, or the whole that it is a part of, is."""
    own = (paddock.id, *paddock.parents)
    return next((cells.paddocks.index(p) for p in own if p in cells.paddocks), None)


def farm_wide(ground: Array, farm: Farm) -> Array:
    """Return the ground under crowns over that of the whole farm; the last axis goes. [1]"""
    area = np.array([p.area_ha for p in farm.paddocks])
    return np.asarray(ground @ (area / max(area.sum(), TINY)))
