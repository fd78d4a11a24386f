"""What a projection starts from: a farm and its record today, its ground, and what the farm has taught."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from browseline.canopy.cells import Cells
from browseline.canopy.history import Deed, TreeWork
from browseline.canopy.measured import Learnt
from browseline.events import Event
from browseline.farm.future import Future, PlannedWork
from browseline.farm.records import Farm, Paddock, Planting
from browseline.layout.form import Layout
from browseline.record.state import State

GRAZING = "grazing"
MONTHS = tuple(range(1, 13))
CLEAR = (1.0,) * 12
DEEDS: dict[str, Deed] = {"thin": "thinned", "fell": "felled", "prune": "pruned", "plant": "planted"}


@dataclass(frozen=True, eq=False)
class Start:
    """A farm as a projection takes it.

    Attributes
    ----------
    farm : Farm
        As it is grazed today: parts of paddocks, and the ground of its rows, are in it.
    state : State
        The record up to today.
    today : date
    layout : Layout or None
        Places of the trees; None without a map.
    cells : Cells or None
        The ground that light falls on, on the layout's plane.
    of_clear : tuple of float, twelve
        Light of each month over that of a clear sky. [1]
    fertility : mapping from paddock to (mean, standard error)
        As the farm taught it; the prior of the sward where it says nothing. [1]
    coming : tuple of Event
        What the record says of the years ahead (``entered.entries_ahead``).
    """

    farm: Farm
    state: State
    today: date
    layout: Layout | None = None
    cells: Cells | None = None
    of_clear: tuple[float, ...] = CLEAR
    fertility: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    coming: tuple[Event, ...] = ()


def own_name(paddock: Paddock) -> str:
    """Return the name that a paddock's draws go by: that of the whole that it is a part of."""
    return paddock.parents[-1] if paddock.parents else paddock.id


def in_paddock(planting: Planting, paddock: Paddock) -> bool:
    """Return whether a planting stands in a paddock or in the whole that it is a part of."""
    return planting.paddock in (paddock.id, *paddock.parents)


def season_months(farm: Farm, today: date) -> tuple[int, ...]:
    """Return the months of the grazing season that holds today, else the next; all where none is typed."""
    first, last = season_days(farm, today)
    if (last - first).days >= 365:
        return MONTHS
    count = (last.year - first.year) * 12 + last.month - first.month + (1 if last.day > 1 else 0)
    return tuple(sorted({(first.month - 1 + n) % 12 + 1 for n in range(count)}))


def season_days(farm: Farm, today: date) -> tuple[date, date]:
    """Return the first day of the grazing season and the day after its last; else the calendar year."""
    found = sorted((p.from_day, p.to_day) for p in farm.promises if p.kind == GRAZING)
    for first, last in found:
        if today < last:
            return first, last
    return found[-1] if found else (date(today.year, 1, 1), date(today.year + 1, 1, 1))


def works_of(farm: Farm, future: Future) -> tuple[TreeWork, ...]:
    """Return the work on trees that the farm means to do, as the canopy reads it.

    A thinning without a number takes every other tree; felling, pruning and planting without one take all.
    """
    made = [_work(farm, work) for work in future.works if work.kind in DEEDS]
    return tuple(work for work in made if work is not None)


def _work(farm: Farm, work: PlannedWork) -> TreeWork | None:
    planting = next((p for p in farm.plantings if p.id == work.planting), None)
    if planting is None:
        return None
    height = work.to_height.to("m") if work.to_height is not None else None
    other = work.kind == "thin" and work.trees is None
    return TreeWork(
        planting.id, work.year, DEEDS[work.kind], work.trees, height, planned=True, every_other=other
    )


def thinnings(works: Sequence[TreeWork]) -> tuple[int, ...]:
    """Return the years in which crowns are taken out, in order. [yr]"""
    return tuple(sorted({work.year for work in works if work.kind in ("thinned", "felled")}))


def taught_of(taught: Mapping[str, Learnt]) -> bool:
    """Return whether any tree of the farm was measured."""
    return any(one.trees for one in taught.values())
