"""What phones carry, worked out beside the pages: seconds of work that hold up nobody else."""

from __future__ import annotations

import threading
from datetime import datetime, timedelta

from browseline.chain.look import Picture
from browseline.chain.pocket.page import Pocket, pocket
from browseline.chain.pocket.table import limit_table
from browseline.web.people import Person
from browseline.web.store import TEXTS, Stamp, Store

KEEP = timedelta(hours=1)
"""A table of an unchanged farm is good for so long: the phone looks up by the hour of coming."""


class Held:
    """The last picture whose table was worked out, kept until the farm changes or an hour has gone."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._last: tuple[tuple[int, Stamp], Picture] | None = None

    def carried(self, person: Person, program: str, now: datetime) -> Pocket:
        """Return what the phone of a person carries."""
        return pocket(self.picture(now), person.role, person.who, program)

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
                picture.scene.once("pocket table", lambda: limit_table(picture))
                held = self._last = (mark, picture)
            return held[1]
