"""What phones carry, worked out beside the pages: seconds of work that hold up nobody else."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import datetime, timedelta

from browseline.chain.look import Picture
from browseline.chain.pocket.page import Pocket, pocket
from browseline.chain.pocket.table import limit_table
from browseline.web.people import SHARES, Person
from browseline.web.sight import hidden_from, seen
from browseline.web.store import TEXTS, Stamp, Store

TABLE = "pocket table"
KEEP = timedelta(hours=1)
"""A table of an unchanged farm is good for so long: the phone looks up by the hour of coming."""


def sees_all(person: Person) -> bool:
    """Return whether the owner shares everything with a person."""
    return person.shares == frozenset(SHARES)


class Held:
    """The last picture whose table was worked out, kept until the farm changes or an hour has gone."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._last: tuple[tuple[int, Stamp], Picture] | None = None

    def carried(self, person: Person, program: str, now: datetime) -> Pocket:
        """Return what the phone of a person carries."""
        full = self.picture(now)
        view = seen(full, hidden_from(person))
        view.scene.once(TABLE, lambda: full.scene.once(TABLE, lambda: limit_table(full)))
        page = pocket(view, person.role, person.who, program, whole=sees_all(person))
        # The phone compares how many entries there are, not which.
        return replace(page, events=len(full.events))

    def picture(self, now: datetime) -> Picture:
        """Return the picture of the table; the first to ask for a new one waits while it is worked out."""
        with self._lock:
            picture = self._store.picture(now)
            mark = (len(picture.events), self._store.stamp(TEXTS))
            if (
                self._last is None
                or self._last[0] != mark
                or not timedelta() <= now - self._last[1].now < KEEP
            ):
                picture.scene.once(TABLE, lambda: limit_table(picture))
                self._last = (mark, picture)
            return self._last[1]
