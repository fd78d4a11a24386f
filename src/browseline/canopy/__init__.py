"""Trees through the years: sizes, survival, crown cover and light from record, layout and tables."""

from browseline.canopy.cover import (
    Cover,
    Thinning,
    crowns_over,
    paddock_cover,
    planting_cover,
    row_cover,
    thinning,
)
from browseline.canopy.history import Cohort, TreeWork
from browseline.canopy.measured import crowns_after
from browseline.canopy.places import TreesThere, trees_there
from browseline.canopy.season import leaf_days, leaf_share, monthly_leaf_share
from browseline.canopy.sizes import TreeSizes, grow_trees

__all__ = [
    "Cohort",
    "Cover",
    "Thinning",
    "TreeSizes",
    "TreeWork",
    "TreesThere",
    "crowns_after",
    "crowns_over",
    "grow_trees",
    "leaf_days",
    "leaf_share",
    "monthly_leaf_share",
    "paddock_cover",
    "planting_cover",
    "row_cover",
    "thinning",
    "trees_there",
]
