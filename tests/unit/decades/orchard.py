"""A small farm with trees and their sizes ahead, for tests of what the decades hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from browseline.canopy import TreeSizes, TreeWork, grow_trees
from browseline.farm.records import Farm, Paddock, Place, Planting
from browseline.record.state import State
from browseline.units import parse
from tests.small_farm import NORMALS

NOW = datetime(2026, 5, 6, 12, tzinfo=UTC)
YEARS = tuple(range(2026, 2067))
MEMBERS = tuple(range(60))


def planting(
    ident: str = "nuts", species: str = "walnut_black", planted: int = 2016, **more: Any
) -> Planting:
    """Return a hundred trees, 12 m by 12 m."""
    made = Planting(ident, ident.title(), species, "1", planted, 100, spacing=parse("12 m", "length"),
                    alley=parse("12 m", "length"), harvested=True)  # fmt: skip
    return replace(made, **more)


def farm(*plantings: Planting, **more: Any) -> Farm:
    """Return a farm of one paddock with some plantings and weather."""
    made = Farm(
        "Small", "America/New_York", "acres", date(2026, 5, 1), (Paddock("1", "1", 4.0),), (),
        Place(41.0, -45.0, 200.0), normals=NORMALS, plantings=plantings or (planting(),),
    )  # fmt: skip
    return replace(made, **more)


def grown(
    of: Farm, planned: tuple[TreeWork, ...] = (), years: tuple[int, ...] = YEARS,
    members: tuple[int, ...] = MEMBERS, state: State | None = None,
) -> TreeSizes:  # fmt: skip
    """Return the trees of a farm through the years."""
    return grow_trees(of, state or State(NOW), years, members, planned)
