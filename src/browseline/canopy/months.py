"""Light of the twelve months in each paddock, without a map of every month under the whole sky.

The sky is as bright in all its patches in every month: what crowns of one leaf let through of it is worked
out once, and each month adds its own sun.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from browseline.canopy.cells import Cells
from browseline.canopy.light import MONTHS, crowns_in, feet_m, sky_of
from browseline.canopy.places import TreesThere
from browseline.canopy.sizes import TreeSizes
from browseline.farm.records import Place
from browseline.science import light
from browseline.science.light_scene import Crowns, Directions
from browseline.science.light_sky import SKY_RINGS, SKY_SECTORS

Array = npt.NDArray[np.float64]
PATCHES = SKY_RINGS * SKY_SECTORS


def months_light(
    cells: Cells, place: Place, sizes: TreeSizes, there: TreesThere, of_clear: Sequence[float]
) -> Array:
    """Return what standing trees leave of each paddock's own open light, shape (month, paddock).

    The same as ``paddock_light`` of the coarse maps of the months; NaN for a paddock without a cell, 1 in
    months without sun. [1]

    Parameters
    ----------
    cells : Cells
    place : Place
    sizes : TreeSizes
        That the trees were taken from.
    there : TreesThere
    of_clear : sequence of float, twelve
        Light of each month over that of a clear sky. [1]
    """
    empty = np.array([not (cells.paddock_of == n).any() for n in range(len(cells.paddocks))])
    out = np.where(empty, np.nan, np.ones((len(MONTHS), len(cells.paddocks))))
    feet = feet_m(cells, there)
    of_leaf: dict[bytes, tuple[Array, Array]] = {}
    for at, month in enumerate(MONTHS):
        every = sky_of(place, month, of_clear[at], fine=False)
        if every is None:
            continue
        crowns = crowns_in(place, sizes, there, month, feet)
        sun, sky = _only(every, slice(-PATCHES)), _only(every, slice(-PATCHES, None))
        leaf = crowns.depth_per_m.tobytes()
        if leaf not in of_leaf:
            of_leaf[leaf] = _lit(cells, crowns, sky)
        share = float(sky.weight.sum() / every.weight.sum())
        lit, bare = (share * part for part in of_leaf[leaf])
        if sun.weight.size and sun.weight.sum() > 0:
            own = _lit(cells, crowns, sun)
            lit, bare = lit + (1 - share) * own[0], bare + (1 - share) * own[1]
        np.divide(lit, bare, out=out[at], where=bare > 0)
    return np.asarray(np.clip(out, 0.0, 1.0))


def _only(directions: Directions, which: slice) -> Directions:
    """Return some of the directions."""
    return Directions(*(part[which] for part in directions))


def _lit(cells: Cells, crowns: Crowns, directions: Directions) -> tuple[Array, Array]:
    """Return each paddock's light under the crowns and without them, as shares of that on level ground."""
    made = light.light_map(crowns, cells.grid, directions)
    count = len(cells.paddocks)
    lit = light.mean_by_area(made.light_frac * made.open_frac, cells.paddock_of, count)
    return lit, light.mean_by_area(made.open_frac, cells.paddock_of, count)
