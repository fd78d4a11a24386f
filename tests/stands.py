"""Stands of one species in rows on a field, grown by the tables, and the light under them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import cache

import numpy as np
from numpy.typing import NDArray

from browseline.canopy import grow_trees
from browseline.canopy.cells import Cells, cells_of
from browseline.canopy.light import MonthLight, middle_trees, month_map
from browseline.canopy.places import TreesThere, trees_there
from browseline.canopy.sizes import TreeSizes
from browseline.farm.records import Farm, Normals, Place
from browseline.layout import lay_out
from browseline.layout.form import Layout
from browseline.record.state import State
from tests.layout_farms import box, farm, outline, planting

PLANTED = 2000
SIDE_M = 90.0
EDGE_M = 25.0
WARM = Normals(
    (8.0, 10.0, 15.0, 20.0, 25.0, 29.0, 31.0, 30.0, 27.0, 21.0, 15.0, 10.0),
    (-3.0, -1.0, 3.0, 8.0, 13.0, 18.0, 20.0, 19.0, 15.0, 9.0, 3.0, -1.0),
    (90.0,) * 12,
)


@dataclass(frozen=True, eq=False)
class Stand:
    """A field of trees of one age."""

    farm: Farm
    place: Place
    cells: Cells
    layout: Layout
    sizes: TreeSizes
    there: TreesThere
    year: int

    def map(self, month: int, there: TreesThere | None = None, fine: bool = False) -> MonthLight:
        """Return the light map of a month, of these trees or of others in their places."""
        return month_map(self.cells, self.place, self.sizes, there or self.there, self.year, month, 1.0, fine)

    def middle(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return the cells that lie well inside the stand."""
        cut = round(EDGE_M / self.cells.grid.cell_m)
        return values[cut:-cut, cut:-cut]

    def light(self, month: int, there: TreesThere | None = None) -> float:
        """Return the mean light inside the stand. [1]"""
        return float(self.middle(self.map(month, there).light_frac).mean())

    def beside_row(self, month: int, far_m: float, wide_m: float = 0.6) -> float:
        """Return the mean light of the cells that lie so far from the nearest row. [1]"""
        _, east = np.meshgrid(self.cells.north_m, self.cells.east_m, indexing="ij")
        rows = np.unique(np.round(self.there.east_m, 2))
        away = np.abs(east[..., None] - rows).min(axis=2)
        near = self.middle(np.abs(away - far_m) <= wide_m)
        return float(self.middle(self.map(month).light_frac)[near].mean())


@cache
def stand(
    species: str, in_row_m: float, alley_m: float, age: int, latitude_deg: float, cell_m: float = 1.0,
    thinned: float = 1.0,
) -> Stand:  # fmt: skip
    """Return a stand in rows that run north, every tree of the mean size of its age.

    ``thinned`` is the share of the trees that stand.
    """
    own = planting(
        spacing=f"{in_row_m} m", alley=f"{alley_m} m", species=species, planted=PLANTED, planned=False,
        trees=None,
    )  # fmt: skip
    place = Place(latitude_deg, -45.0, 200.0)
    made = replace(
        farm(outline("1", box(SIDE_M, SIDE_M)), [own]), place=place, normals=WARM, units="hectares",
        as_of=date(PLANTED + age, 5, 1),
    )  # fmt: skip
    layout = lay_out(made)
    made = replace(made, plantings=(replace(own, trees=round(len(layout.trees) * thinned)),))
    state = State(datetime(PLANTED + age, 6, 1, tzinfo=UTC))
    sizes = middle_trees(grow_trees(made, state, (PLANTED + age,), range(21)))
    cells = cells_of(made, cell_m=cell_m)
    if cells is None:
        raise LookupError("the field is not on the map")
    there = trees_there(layout, sizes, PLANTED + age, sizes.members[0])
    return Stand(made, place, cells, layout, sizes, there, PLANTED + age)
