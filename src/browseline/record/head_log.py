"""Who was in each mob from when on: past days eat what past animals ate."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from browseline.record.heads import lines
from browseline.record.state import HeadLine
from browseline.record.working import MobNow, Working

Entry = tuple[datetime, str, tuple[HeadLine, ...]]


class HeadLog:
    """The lines of every mob from each instant at which they changed: by an event, or by a stage's day.

    A mob that comes on a day of the farm's file is here from then on, unless an entry found it sooner.
    """

    def __init__(self, work: Working, start: datetime) -> None:
        self.work = work
        self.entries: list[Entry] = []
        self._last: dict[str, tuple[HeadLine, ...]] = {}
        self._day = work.day(start)
        self._next = start
        self._first = self._day
        self._coming: dict[str, tuple[date, tuple[HeadLine, ...]]] = {
            mob.id: (mob.from_day, lines(work.mobs[mob.id].groups, self._first))
            for mob in work.farm.mobs
            if mob.from_day is not None and mob.from_day > self._first and mob.id in work.mobs
        }
        self.note(start)

    def note(self, instant: datetime) -> None:
        """Keep the mobs that are here and whose animals differ from what was kept last."""
        for mob in self.work.mobs.values():
            self._keep(instant, mob, self.work.day(instant))

    def reach(self, instant: datetime) -> None:
        """Keep the stages that began since the day that was reached before, up to this instant's day."""
        if instant < self._next:
            return
        day = self.work.day(instant)
        for begun in sorted({d for mob in self.work.mobs.values() for d in self._begun(mob, day)}):
            for mob in self.work.mobs.values():
                self._keep(self.work.midnight(begun), mob, begun)
        self._day = max(self._day, day)
        self._next = self.work.midnight(day + timedelta(days=1))

    def _begun(self, mob: MobNow, day: date) -> list[date]:
        days = [s.from_day for group in mob.groups for s in group.stages]
        days += [self._coming[mob.id][0]] if mob.id in self._coming else []
        return [begun for begun in days if self._day < begun <= day]

    def _to_come(self, mob: MobNow, day: date) -> bool:
        """Return whether a mob is still to come on a day: nothing but the file has told of its animals."""
        if mob.id not in self._coming:
            return False
        comes, opening = self._coming[mob.id]
        return day < comes and lines(mob.groups, self._first) == opening

    def _keep(self, instant: datetime, mob: MobNow, day: date) -> None:
        if self._to_come(mob, day):
            return
        now = lines(mob.groups, day)
        if self._last.get(mob.id) != now:
            self._last[mob.id] = now
            self.entries.append((instant.astimezone(UTC), mob.id, now))
