"""How many trees the record leaves standing, and what it asks where more are said to be gone than stood."""

from __future__ import annotations

from typing import Any

from browseline.events import Event, Pruned, When
from browseline.farm.records import Planting, TreeRow
from browseline.record.working import Working


def ask_beyond(work: Working, event: Event, trees: int, row: str) -> None:
    """Ask where an entry lets more trees go than stood, in the planting or in its row.

    Nothing is asked of a number that nobody typed, nor of an entry before the farm's opening values.
    """
    planting = next((p for p in work.farm.plantings if p.id == event.subject), None)
    if planting is None or not _counts(work, event.observed):
        return
    facts: dict[str, Any] = {"planting": planting.name, "kind": event.kind, "lost": trees}
    there = _left(work, planting)
    if there is not None and trees > there:
        work.ask("more_gone", planting.id, event, there=there, **facts)
        return
    own = next((r for r in planting.rows if r.id == row), None)
    there = _left_in_row(work, planting, own) if own is not None else None
    if own is not None and there is not None and trees > there:
        work.ask("more_gone_row", planting.id, event, row=own.name, there=there, **facts)


def _counts(work: Working, when: When) -> bool:
    """Return whether an entry counts on from the farm's opening values."""
    return work.day(when.end) >= work.farm.as_of


def _left(work: Working, planting: Planting) -> int | None:
    """Return the trees that stand: typed, planted since, less those lost, thinned and felled."""
    if planting.trees is None:
        return None
    put = sum(n for of, n, at in work.planted if of == planting.id and _counts(work, at))
    lost = sum(n for of, n, _, at in work.losses if of == planting.id and _counts(work, at))
    return max(planting.trees + put - lost - _cut(work, planting), 0)


def _left_in_row(work: Working, planting: Planting, row: TreeRow) -> int | None:
    if row.trees is None:
        return None
    own = [c for c in work.row_counts if (c.planting, c.row) == (planting.id, row.id) and _counts(work, c.at)]
    return max(row.trees + sum(c.planted - c.lost for c in own) - _cut(work, planting, row.id), 0)


def _cut(work: Working, planting: Planting, row: str = "") -> int:
    """Return the trees thinned and felled since the opening values, of a planting or of one row."""
    own = [c for c in work.trees_cut if c.planting == planting.id and row in ("", c.row)]
    return sum(c.trees or 0 for c in own if c.kind != Pruned.kind and _counts(work, c.at))
