"""Who was there: animals by kind and class over a stretch of the record, and those that stand now."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime

from browseline.farm.beast_gases import YEAR_D, Present, head_years
from browseline.ledger.facts import RECORD
from browseline.limits import Scene
from browseline.record.state import HeadLine
from browseline.units import Quantity

DAY_S = 86_400.0


def present(scene: Scene, first: date, last: date) -> tuple[Present, ...]:
    """Return who was there from one day up to another, in head and years, by kind and class."""
    begin, end = (scene.midnight(day).astimezone(UTC) for day in (first, last))
    end = min(end, scene.now.astimezone(UTC))
    found: dict[tuple[str, str], float] = {}
    weights: dict[tuple[str, str], Quantity | None] = {}
    for start, stop, lines in _stretches(scene):
        share_d = (min(stop, end) - max(start, begin)).total_seconds() / DAY_S
        for line in lines if share_d > 0 else ():
            key = (line.kind, line.klass)
            found[key] = found.get(key, 0.0) + line.head * share_d / YEAR_D
            weights[key] = line.weight or weights.get(key)
    days = max((end - begin).total_seconds() / DAY_S, 0.0)
    return tuple(
        Present(kind, klass, head_years(kind, klass, value, days, RECORD), weights[kind, klass])
        for (kind, klass), value in sorted(found.items())
    )


def _stretches(scene: Scene) -> Iterator[tuple[datetime, datetime, tuple[HeadLine, ...]]]:
    """Yield from when up to when a mob held which animals."""
    by_mob: dict[str, list[tuple[datetime, tuple[HeadLine, ...]]]] = {}
    for at, mob, lines in scene.state.heads:
        by_mob.setdefault(mob, []).append((at, lines))
    ended = {mob.id: mob.ended for mob in scene.state.mobs}
    for mob, entries in by_mob.items():
        gone = ended.get(mob)
        last = gone.end.astimezone(UTC) if gone is not None else scene.now.astimezone(UTC)
        for n, (at, lines) in enumerate(entries):
            yield at, entries[n + 1][0] if n + 1 < len(entries) else last, lines


def standing(scene: Scene) -> tuple[Present, ...]:
    """Return the animals that are there now as if they stayed a year, by kind and class."""
    found: dict[tuple[str, str], tuple[int, Quantity | None]] = {}
    for mob in scene.mobs:
        for line in mob.lines:
            key = (line.kind, line.klass)
            head, weight = found.get(key, (0, None))
            found[key] = (head + line.head, line.weight or weight)
    return tuple(
        Present(kind, klass, head_years(kind, klass, float(head), YEAR_D, RECORD), weight)
        for (kind, klass), (head, weight) in sorted(found.items())
    )
