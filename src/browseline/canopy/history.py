"""What is known of the trees of each planting: who stands in which row, and what was done to them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC
from typing import Literal

from browseline.events import When
from browseline.farm.records import Farm, Planting
from browseline.record.state import State

Deed = Literal["lost", "thinned", "felled", "planted", "pruned"]
GONE = ("lost", "thinned", "felled")
NO_GUARD = ("", "no", "none", "off")


@dataclass(frozen=True, slots=True)
class Cohort:
    """Trees of one planting set in one year: the whole planting, one row of it, or replants.

    ``first`` and ``count`` say which trees of the planting they are.
    """

    planting: str
    species: str
    row: str
    planted: int
    first: int
    count: int
    replant: bool = False


@dataclass(frozen=True, slots=True)
class TreeWork:
    """Something done, or meant to be done, to trees of a planting in a year.

    ``trees`` None is all of them (pruned) or as many as are missing (planted); ``row`` empty means that
    nobody said which. ``every_other`` takes those in every other place, however many stand there.
    """

    planting: str
    year: int
    kind: Deed
    trees: int | None = None
    to_height_m: float | None = None
    row: str = ""
    planned: bool = False
    every_other: bool = False


def first_cohorts(planting: Planting) -> tuple[Cohort, ...]:
    """Return the trees that stood at the farm's ``as_of``: rows with a count and year, then the rest.

    Empty where neither planting nor rows have a year and a count.
    """
    out: list[Cohort] = []
    used = 0
    for row in planting.rows:
        year = row.planted or planting.planted
        if row.trees and year is not None:
            out.append(Cohort(planting.id, planting.species, row.id, year, used, row.trees))
            used += row.trees
    rest = (planting.trees or 0) - used
    if rest > 0 and planting.planted is not None:
        out.append(Cohort(planting.id, planting.species, "", planting.planted, used, rest))
    return tuple(out)


def guarded(planting: Planting) -> bool:
    """Return whether the farm's file names a guard for the planting."""
    return (planting.guard or "").casefold().strip() not in NO_GUARD


def done(farm: Farm, state: State, planting: str) -> tuple[TreeWork, ...]:
    """Return what the record says was done to a planting since the farm's ``as_of``, in order of time."""
    found = [*_losses(state, planting), *_cuts(state, planting), *_plantings(state, planting)]
    since = [(when, work) for when, work in found if when.end.date() >= farm.as_of]
    return tuple(work for _, work in sorted(since, key=lambda pair: pair[0].end.astimezone(UTC)))


def _rows(state: State, planting: str) -> list[tuple[When, int, int, str]]:
    return [(c.at, c.lost, c.planted, c.row) for c in state.row_counts if c.planting == planting]


def _losses(state: State, planting: str) -> Iterator[tuple[When, TreeWork]]:
    by_row = [(when, lost, row) for when, lost, put, row in _rows(state, planting) if not put]
    for ident, trees, _, when in state.losses:
        if ident == planting:
            yield when, TreeWork(planting, when.end.year, "lost", trees, row=_take(by_row, when, trees))


def _plantings(state: State, planting: str) -> Iterator[tuple[When, TreeWork]]:
    by_row = [(when, put, row) for when, _, put, row in _rows(state, planting) if put]
    for ident, trees, when in state.planted:
        if ident == planting:
            yield when, TreeWork(planting, when.end.year, "planted", trees, row=_take(by_row, when, trees))


def _take(by_row: list[tuple[When, int, str]], when: When, trees: int) -> str:
    """Return the row that the same entry named, once; empty where it named none."""
    for place, (at, count, row) in enumerate(by_row):
        if at == when and count == trees:
            del by_row[place]
            return row
    return ""


def _cuts(state: State, planting: str) -> Iterator[tuple[When, TreeWork]]:
    kinds: dict[str, Deed] = {"pruned": "pruned", "thinned": "thinned", "felled": "felled"}
    for cut in state.trees_cut:
        if cut.planting == planting and cut.kind in kinds:
            height = cut.to_height.to("m") if cut.to_height is not None else None
            yield (
                cut.at,
                TreeWork(planting, cut.at.end.year, kinds[cut.kind], cut.trees, height, cut.row),
            )


def to_do(works: Iterable[TreeWork], planting: str, after: int) -> tuple[TreeWork, ...]:
    """Return the planned works of a planting after a year, in order of years."""
    own = [w for w in works if w.planting == planting and w.year > after]
    return tuple(sorted(own, key=lambda w: w.year))
