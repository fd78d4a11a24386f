"""What phones carry, worked out beside the pages: seconds of work that hold up nobody else."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from browseline.chain.look import Picture
from browseline.chain.pocket.page import Pocket, pocket, products_of
from browseline.chain.pocket.table import limit_table
from browseline.units import System
from browseline.web.asked import viewed
from browseline.web.people import SHARES, Person
from browseline.web.sight import hidden_from
from browseline.web.store import TEXTS, Stamp, Store

TABLE = "pocket table"
KEEP = timedelta(hours=1)
"""A table of an unchanged farm is good for so long: the phone looks up by the hour of coming."""
REST = 1.0
"""How many times as long as a table takes the next one waits. [1]"""


def sees_all(person: Person) -> bool:
    """Return whether the owner shares everything with a person."""
    return person.shares == frozenset(SHARES)


class Held:
    """The last picture whose table was worked out, kept until the farm changes or an hour has gone.

    A phone knows which entries its table holds and adds the others, so an older table is still right; while
    entries keep coming, tables take no more than half of the time.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock, self._telling = threading.Lock(), threading.Lock()
        self._last: _Made | None = None

    def carried(self, person: Person, program: str, now: datetime, system: System | None = None) -> Pocket:
        """Return what the phone of a person carries, told in some units; None is the farm's own."""
        full = self.picture(now)
        told = viewed(full, system, frozenset())
        if told is not full:
            with self._telling:
                told.scene.once(TABLE, lambda: limit_table(told))
        view = viewed(full, system, hidden_from(person))
        view.scene.once(TABLE, lambda: told.scene.once(TABLE, lambda: limit_table(told)))
        whole = sees_all(person)
        page = pocket(view, person.role, person.who, program, whole=whole, never=products_of(full))
        # The phone compares how many entries there are, not which.
        return replace(page, events=len(full.events))

    def picture(self, now: datetime) -> Picture:
        """Return the picture of the table; the first to ask for a new one waits while it is worked out."""
        with self._lock:
            picture = self._store.picture(now)
            mark = (len(picture.events), self._store.stamp(TEXTS))
            if self._last is None or not self._last.good(mark, now):
                begun = time.monotonic()
                picture.scene.once(TABLE, lambda: limit_table(picture))
                self._last = _Made(mark, picture, begun, time.monotonic())
            return self._last.picture


@dataclass(frozen=True, slots=True)
class _Made:
    """A picture with its table: of how many entries and which files, and when it was worked out. [s]"""

    mark: tuple[int, Stamp]
    picture: Picture
    begun: float
    done: float

    def good(self, mark: tuple[int, Stamp], now: datetime) -> bool:
        """Return whether it still serves."""
        if not timedelta() <= now - self.picture.now < KEEP:
            return False
        return self.mark == mark or time.monotonic() - self.done < REST * (self.done - self.begun)
