"""The farm's picture and its pages, held ready: who reads never waits for the clock, nor for another's entry.

A reader gets what is held as long as nothing that a person or a file told has changed. While an entry is
being taken in, readers are still given the farm without it: it is not confirmed yet. Once it is, every answer
has it, for its picture and the pages of Today are made before. When only the clock has gone on, what is held
is given and made anew behind the reader's back, as long as it is of the same day and at most ``OLDEST`` old.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from browseline.chain import Picture, look
from browseline.errors import BadInput, BrokenRecord
from browseline.record.store import FILE

FARM_FILE = "farm.toml"
TEXTS = (FARM_FILE, "map.geojson", "weather.csv", "terrain.tif")
WATCHED = (*TEXTS, FILE, f"{FILE}-wal")
"""Files whose change makes what is held old."""
OLDEST = timedelta(minutes=10)
"""Nobody is given a page whose clock is further behind."""
FIRST = "today"
"""Pages whose names begin so are made before an entry is confirmed."""
MOST_READY = 8
"""So many pages, those last asked for, are made when the clock has gone on."""
MOST_KNOWN = 50
"""How to make so many pages is remembered."""
SLOW = ("what-if",)
"""Pages whose names begin so are searched for: they are made when somebody asks, never ahead."""
Stamp = tuple[tuple[int, int], ...]
Entries = tuple[int, int]
Make = Callable[[Picture], Any]


@dataclass(slots=True)
class Held:
    """The farm at a minute, with the pages that were made of it.

    ``entries`` is how far the record went; its files change without it when somebody only reads.
    """

    stamp: Stamp
    entries: Entries | None
    minute: datetime
    picture: Picture
    pages: dict[str, Any] = field(default_factory=dict)
    lock: threading.RLock = field(default_factory=threading.RLock)

    def page(self, name: str, make: Make) -> Any:
        """Return a page of the picture, made once."""
        if name not in self.pages:
            with self.lock:
                if name not in self.pages:
                    self.pages[name] = make(self.picture)
        return self.pages[name]


class Keeper:
    """What is held of one farm folder. Every method may be called from any thread."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._held: Held | None = None
        self._lock = threading.RLock()
        self._writing = 0
        self._behind = threading.Lock()
        self._asked: dict[str, Make] = {}

    def held(self, now: datetime) -> Held:
        """Return the farm as it is at ``now``, or shortly before.

        Raises
        ------
        BadInput
            If the folder cannot be used as it is.
        """
        found, minute = self._held, minute_of(now)
        if found is not None and self._serves(found, minute):
            if found.minute != minute and not self._writing:
                self._renew_behind(now)
            return found
        with self._lock:
            found = self._held
            if found is None or found.minute != minute or not self._stands(found):
                found = self.renew(now)
            return found

    def page(self, name: str, make: Make, now: datetime) -> Any:
        """Return a page of what is held. ``make`` must hang on the picture that it is given alone."""
        found = self.held(now).page(name, make)
        self._asked.pop(name, None)
        if not name.startswith(SLOW):
            self._asked[name] = make
        while len(self._asked) > MOST_KNOWN:
            del self._asked[next(iter(self._asked))]
        return found

    def begin(self, now: datetime, done: Callable[[], None]) -> None:
        """Make the first picture in a thread of its own; who asks meanwhile waits for it.

        ``done`` is called at the end, whatever came of it: who asks is told what is wrong.
        """

        def first() -> None:
            with suppress(BadInput, BrokenRecord):
                self.held(now)
            done()

        threading.Thread(target=first, daemon=True).start()

    @contextmanager
    def writing(self, now: datetime) -> Iterator[Picture]:
        """Give the farm as it is, to be changed; until it is done readers get it as it was before."""
        with self._lock:
            before = self.held(now)
            self._writing += 1
            try:
                yield before.picture
            finally:
                self._writing -= 1

    def renew(self, now: datetime, first: str = FIRST) -> Held:
        """Make the picture anew, and the pages that were asked for whose names begin with ``first``."""
        with self._lock:
            stamp, entries = self.stamp(), self._entries()
            made = Held(stamp, entries, minute_of(now), look(self._folder, now))
            if entries is None and (after := self._entries()) is not None and after[0] == 0:
                made.stamp, made.entries = self.stamp(), after  # looking made the record
            names = [name for name in self._last_asked() if name.startswith(first)]
            for name in names:
                self._ready(made, name)
            self._held = made
            return made

    def stamp(self, names: Iterable[str] = WATCHED) -> Stamp:
        """Return what changes whenever one of these files does."""
        found = []
        for name in names:
            path = self._folder / name
            try:
                stat = path.stat()
                found.append((stat.st_mtime_ns, stat.st_size))
            except FileNotFoundError:
                found.append((0, 0))
        return tuple(found)

    def _serves(self, held: Held, minute: datetime) -> bool:
        """Return whether what is held may be given out at a minute."""
        if not self._writing and not self._stands(held):
            return False
        if held.minute == minute:
            return True
        zone = ZoneInfo(held.picture.farm.time_zone)
        same_day = held.minute.astimezone(zone).date() == minute.astimezone(zone).date()
        return same_day and timedelta() < minute - held.minute <= OLDEST

    def _stands(self, held: Held) -> bool:
        """Return whether no file tells anything else than what is held."""
        stamp = self.stamp()
        if stamp == held.stamp:
            return True
        texts = len(TEXTS)
        if stamp[:texts] != held.stamp[:texts] or held.entries is None or self._entries() != held.entries:
            return False
        held.stamp = stamp
        return True

    def _entries(self) -> Entries | None:
        """Return how far the record goes, and which file it is; None where it cannot be asked."""
        path = self._folder / FILE
        try:
            with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True)) as record:
                (last,) = record.execute("SELECT coalesce(max(rowid), 0) FROM event").fetchone()
                return int(last), path.stat().st_ino
        except (sqlite3.Error, OSError):
            return None

    def _renew_behind(self, now: datetime) -> None:
        """Make everything anew in a thread of its own, unless one is at it."""
        if self._behind.acquire(blocking=False):
            threading.Thread(target=self._in_thread, args=(now,), daemon=True).start()

    def _in_thread(self, now: datetime) -> None:
        try:
            with self._lock:
                found = self._held
                if found is None or found.minute != minute_of(now) or not self._stands(found):
                    self.renew(now, "")
        except (BadInput, BrokenRecord):
            # The next who asks is told: what is held does not fit the files any more.
            self._held = None
        finally:
            self._behind.release()

    def _last_asked(self) -> list[str]:
        return list(self._asked)[-MOST_READY:]

    def _ready(self, held: Held, name: str) -> None:
        try:
            held.page(name, self._asked[name])
        except BadInput:
            # Whoever asks for it is told.
            self._asked.pop(name, None)


def minute_of(now: datetime) -> datetime:
    """Return the minute of an instant."""
    return now.replace(second=0, microsecond=0)
