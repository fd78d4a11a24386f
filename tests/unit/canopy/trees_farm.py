"""A small farm with one planting of walnut or another tree, for tests of the canopy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from browseline.canopy import TreeSizes, TreeWork, grow_trees
from browseline.events import When
from browseline.farm.records import Farm, Planting, TreeRow
from browseline.record.state import RowCount, State, TreesCut, TreeSize
from browseline.units import parse
from tests.small_farm import ZONE, farm, state

YEARS = tuple(range(2026, 2047))
MEMBERS = tuple(range(12))


def at(day: str) -> When:
    """Return noon of a day."""
    return When.at(datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ZONE))


def walnuts(**more: Any) -> Planting:
    """Return 100 walnuts of 2018 on 20 x 40 ft in paddock 1."""
    made = Planting(
        "nuts", "Nuts", "walnut_black", "1", 2018, 100,
        spacing=parse("20 ft", "length"), alley=parse("40 ft", "length"),
    )  # fmt: skip
    return replace(made, **more)


def two_rows() -> Planting:
    """Return the walnuts in rows A (60) and B (40, of 2020)."""
    return walnuts(rows=(TreeRow("A", "A", 60), TreeRow("B", "B", 40, planted=2020)))


def with_trees(*plantings: Planting, **more: Any) -> Farm:
    """Return the farm of 1 May 2026, with the invented climate."""
    return farm(plantings=plantings, weather=True, **more)


def lost(trees: int, day: str, row: str = "") -> dict[str, Any]:
    """Return the state's parts of a loss, with or without a row."""
    count = (RowCount("nuts", row, at(day), lost=trees, cause="frost"),) if row else ()
    return {"losses": (("nuts", trees, "frost", at(day)),), "row_counts": count}


def grown(
    farm_: Farm, state_: State | None = None, years: Sequence[int] = YEARS, members: Sequence[int] = MEMBERS,
    planned: Sequence[TreeWork] = (), replant: bool = False, **facts: Any,
) -> TreeSizes:  # fmt: skip
    """Return the trees of a farm whose record holds some facts."""
    return grow_trees(farm_, state_ or state(farm_, **facts), years, members, planned, replant)


def measured(tree: str, day: str, dbh: str = "", height: str = "") -> TreeSize:
    """Return a measure of a walnut: dbh or height as typed."""
    stem, tall = (parse(text, "length") if text else None for text in (dbh, height))
    return TreeSize("nuts", tree, at(day), stem, tall)


def cut(kind: str, day: str, trees: int | None = None, height: str = "", row: str = "") -> TreesCut:
    """Return trees pruned, thinned or felled."""
    to = parse(height, "length") if height else None
    return TreesCut("nuts", kind, at(day), trees, to, row)
