"""Who eats on which day of a season, class by class: past days from the record, days to come as typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import repeat

from browseline.farm.needs import intake
from browseline.farm.records import Line, Mob
from browseline.figures import Figure
from browseline.ledger.facts import counted
from browseline.ledger.hay import on_day, stages_of
from browseline.limits import Scene
from browseline.record.state import HeadLine, MobState

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
    fed = [
        (day, line.head, eats) for day, line in days
        if (eats := intake(line)) is not None and eats.value is not None
    ]  # fmt: skip
    need = _need(fed, klass) if len(fed) == len(days) else None
    there = len({day for day, _ in days})
    return Eaten(kind, klass, _head_days(days, klass), need, tuple(_by_month(fed, klass)), mob, there)


def _head_days(days: list[tuple[date, HeadLine]], klass: str) -> Figure:
    """Return head times days. [days]"""
    heads = Counter(line.head for _, line in days)
    formula = " + ".join(f"{head} × {n} d" for head, n in heads.items())
    total = sum(head * n for head, n in heads.items())
    return counted("head_days", total, "days", about=klass, formula=formula)


def _by_month(fed: list[tuple[date, int, Figure]], klass: str) -> Iterator[tuple[int, int, Figure]]:
    """Yield what was eaten in each month. [kg DM]"""
    months: dict[tuple[int, int], list[tuple[date, int, Figure]]] = {}
    for one in fed:
        months.setdefault((one[0].year, one[0].month), []).append(one)
    yield from ((*month, _need(months[month], klass)) for month in sorted(months))


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
    for mob in scene.mobs:
        if _stays(scene, mob, day):
            lines = (on_day(x, stages_of(scene, mob, x), day, scene.days[0]) for x in mob.lines)
            yield from zip(repeat(mob.id), lines, strict=False)
    yield from _coming(scene, day)


def _coming(scene: Scene, day: date) -> Iterator[tuple[str, HeadLine]]:
    """Yield the mobs of the farm's file that are still to come, as they will be on a day."""
    here = {mob.id for mob in scene.state.mobs}
    for coming in scene.farm.mobs:
        if coming.id not in here and _there(coming, day):
            yield from ((coming.id, _staged(own, day)) for own in coming.lines)


def _stays(scene: Scene, mob: MobState, day: date) -> bool:
    """Return whether a mob that is here now still is on a day to come; lent ones are until they go home.

    One that should be home already is here until somebody enters that it went.
    """
    if mob.due is not None and scene.days[0] <= mob.due <= day:
        return False
    typed = scene.farm.mob(mob.id)
    return typed is None or typed.to_day is None or day < typed.to_day


def _there(mob: Mob, day: date) -> bool:
    ends = [end for end in (mob.to_day, mob.due) if end is not None]
    return (mob.from_day is None or mob.from_day <= day) and all(day < end for end in ends)


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
    gone = {mob.id for mob in scene.state.mobs if mob.ended and mob.ended.end.astimezone(UTC) < end}
    for mob, (_, lines) in sorted(latest.items()):
        if mob not in gone:
            yield from zip(repeat(mob), lines, strict=False)
