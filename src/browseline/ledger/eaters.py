"""Who eats on which day of a season, class by class: past days from the record, days to come as typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from browseline.farm.needs import intake
from browseline.farm.records import Line, Mob
from browseline.figures import Figure
from browseline.ledger.facts import counted
from browseline.ledger.hay import on_day, stages_of
from browseline.limits import Scene
from browseline.record.state import HeadLine

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Eaten:
    """What one class needs over some days.

    Attributes
    ----------
    kind, klass : str
    head_days : Figure
        Head times days. [days]
    need : Figure or None
        None where what one eats is not known. [kg DM]
    months : tuple of (year, month, Figure)
        The need of each month. [kg DM]
    days : int
        Days on which the class was there. [d]
    mob : str
        The mob, where the count was asked mob by mob; else empty.
    """

    kind: str
    klass: str
    head_days: Figure
    need: Figure | None
    months: tuple[tuple[int, int, Figure], ...]
    mob: str = ""
    days: int = 0


def eaten(scene: Scene, first: date, last: date, *, by_mob: bool = False) -> tuple[Eaten, ...]:
    """Return what every class needs from ``first`` to ``last`` (not included).

    Days before the farm's ``as_of`` are not known and not counted. Births, sales and moves that are
    only planned are not counted either.
    """
    runs: dict[tuple[str, str, str], list[tuple[date, HeadLine]]] = {}
    day = max(first, scene.farm.as_of)
    while day < last:
        for mob, line in _lines(scene, day):
            runs.setdefault((mob if by_mob else "", line.kind, line.klass), []).append((day, line))
        day += DAY
    return tuple(_eaten(key, days) for key, days in sorted(runs.items()))


def _eaten(key: tuple[str, str, str], days: list[tuple[date, HeadLine]]) -> Eaten:
    mob, kind, klass = key
    each = [(day, line.head, intake(line)) for day, line in days]
    fed = [(day, head, eats) for day, head, eats in each if eats is not None and eats.value is not None]
    need = _need(fed, klass) if len(fed) == len(each) else None
    months = sorted({(day.year, day.month) for day, _, _ in fed})
    by_month = tuple(
        (year, month, _need([one for one in fed if (one[0].year, one[0].month) == (year, month)], klass))
        for year, month in months
    )
    heads = Counter(line.head for _, line in days)
    formula = " + ".join(f"{head} × {n} d" for head, n in heads.items())
    head_days = counted("head_days", sum(line.head for _, line in days), "days", about=klass, formula=formula)
    return Eaten(kind, klass, head_days, need, by_month, mob, len({day for day, _ in days}))


def _need(fed: list[tuple[date, int, Figure]], klass: str) -> Figure:
    """Return what so many ate on so many days. [kg DM]"""
    runs = Counter((head, eats) for _, head, eats in fed)
    formula = " + ".join(f"{head} × {n} d × {eats.value:.4g} kg/d" for (head, eats), n in runs.items())
    total = sum(n * head * (eats.value or 0.0) for (head, eats), n in runs.items())
    parts = tuple(dict.fromkeys(eats for _, eats in runs))
    return Figure("feed_need", total, "kg", formula=formula, parts=parts, about=klass)


# ---------------------------------------------------------------- who is there


def _lines(scene: Scene, day: date) -> Iterator[tuple[str, HeadLine]]:
    """Yield each mob with each of its classes on a day."""
    if day < scene.days[0]:
        yield from _logged(scene, day)
        return
    here = {mob.id for mob in scene.state.mobs}
    for mob in scene.mobs:
        typed = scene.farm.mob(mob.id)
        if typed is None or typed.to_day is None or day < typed.to_day:
            for line in mob.lines:
                yield mob.id, on_day(line, stages_of(scene, mob, line), day, scene.days[0])
    for coming in scene.farm.mobs:
        if coming.id not in here and _there(coming, day):
            for own in coming.lines:
                yield coming.id, _staged(own, day)


def _there(mob: Mob, day: date) -> bool:
    return (mob.from_day is None or mob.from_day <= day) and (mob.to_day is None or day < mob.to_day)


def _staged(line: Line, day: date) -> HeadLine:
    made = HeadLine(line.kind, line.klass, line.head, line.weight, line.intake)
    begun = [stage for stage in line.stages if stage.from_day <= day]
    if not begun:
        return made
    now = max(begun, key=lambda stage: stage.from_day)
    return replace(made, stage=now.stage, intake=now.intake or made.intake, weight=now.weight or made.weight)


def _logged(scene: Scene, day: date) -> Iterator[tuple[str, HeadLine]]:
    """Yield who was there at the end of a past day, and so on the day."""
    latest: dict[str, tuple[datetime, tuple[HeadLine, ...]]] = {}
    end = scene.midnight(day + DAY).astimezone(UTC)
    for at, mob, lines in scene.state.heads:
        if at < end and (mob not in latest or at >= latest[mob][0]):
            latest[mob] = (at, lines)
    ended = {mob.id: mob.ended for mob in scene.state.mobs}
    for mob, (_, lines) in sorted(latest.items()):
        gone = ended.get(mob)
        if gone is not None and gone.end.astimezone(UTC) < end:
            continue
        for line in lines:
            yield mob, line
