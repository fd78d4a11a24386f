"""Who was in each mob from when on: past days eat what past animals ate."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from browseline.record.heads import lines
from browseline.record.state import HeadLine
from browseline.record.working import MobNow, Working

Entry = tuple[datetime, str, tuple[HeadLine, ...]]


class HeadLog:
    """The lines of every mob from each instant at which they changed: by an event, or by a stage's day."""

    def __init__(self, work: Working, start: datetime) -> None:
        self.work = work
        self.entries: list[Entry] = []
        self._last: dict[str, tuple[HeadLine, ...]] = {}
        self._day = work.day(start)
        self._next = start
        self.note(start)

    def note(self, instant: datetime) -> None:
        """Keep the mobs whose animals differ from what was kept last."""
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
        return [s.from_day for group in mob.groups for s in group.stages if self._day < s.from_day <= day]

    def _keep(self, instant: datetime, mob: MobNow, day: date) -> None:
        now = lines(mob.groups, day)
        if self._last.get(mob.id) != now:
            self._last[mob.id] = now
            self.entries.append((instant.astimezone(UTC), mob.id, now))
