"""How long trees through the years take: a large farm, forty years."""

from __future__ import annotations

from datetime import UTC, date, datetime

from browseline.canopy import TreeSizes, grow_trees
from browseline.farm.records import Farm, Paddock, Planting
from browseline.record.state import State
from browseline.units import parse

SPACING, ALLEY = parse("20 ft", "length"), parse("40 ft", "length")
SPECIES = ("walnut_black", "locust_honey", "chestnut_hybrid", "oak_white")


def grow(trees: int, members: int) -> TreeSizes:
    """Return forty years of a farm with trees in four plantings."""
    plantings = tuple(
        Planting(s, s, s, "1", 2025, trees // len(SPECIES), spacing=SPACING, alley=ALLEY) for s in SPECIES
    )
    paddock = Paddock("1", "1", 100.0)
    farm = Farm("Large", "UTC", "hectares", date(2026, 1, 1), (paddock,), (), plantings=plantings)
    return grow_trees(farm, State(datetime(2026, 1, 2, tzinfo=UTC)), range(2026, 2066), range(members))


class Trees:
    """Bar: 10,011 trees x 50 members x 40 years 1 s."""

    timeout = 120.0

    def setup(self) -> None:
        grow(8, 1)

    def time_10011_trees_50_members_40_years(self) -> None:
        grow(10_011, 50)

    def peakmem_10011_trees_50_members_40_years(self) -> None:
        grow(10_011, 50)
