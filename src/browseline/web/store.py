"""One farm behind the pages: its picture, held until an entry, a file or the minute changes it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from browseline.chain import Picture, look
from browseline.chain.desk.desk import Desk, Said, hold
from browseline.chain.desk.doubts import doubts
from browseline.chain.desk.entry import entered
from browseline.chain.desk.kept import Told, told_of
from browseline.chain.desk.typed import Typed
from browseline.errors import BadInput, Finding, errors_in
from browseline.events import Event
from browseline.record.store import FILE

WATCHED = ("farm.toml", "map.geojson", "weather.csv", "terrain.tif", FILE, f"{FILE}-wal")
"""Files whose change makes what is held old."""
Stamp = tuple[tuple[int, int], ...]


@dataclass(slots=True)
class _Held:
    stamp: Stamp
    minute: datetime
    picture: Picture
    pages: dict[str, Any] = field(default_factory=dict)


class Store:
    """One farm folder. Every method may be called from any thread.

    Parameters
    ----------
    folder : Path
        The farm's folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._held: _Held | None = None
        self._lock = threading.RLock()

    def picture(self, now: datetime) -> Picture:
        """Return the farm as it is at ``now``, to the minute.

        Raises
        ------
        BadInput
            If the folder cannot be used as it is.
        """
        return self._look(now).picture

    def page(self, name: str, make: Callable[[Picture], Any], now: datetime) -> Any:
        """Return a page of the picture, made once and held as long as the picture.

        ``name`` tells pages apart; ``make`` is a function of the library that takes a picture.
        """
        with self._lock:
            held = self._look(now)
            if name not in held.pages:
                held.pages[name] = make(held.picture)
            return held.pages[name]

    def enter(self, typed: Typed, now: datetime) -> Told:
        """Keep one entry, once its doubts are settled, and return what it changed.

        Raises
        ------
        BadInput
            If it cannot be read, or if something speaks against it that ``--yes`` did not settle;
            nothing is kept then.
        """
        with self._lock:
            before = self._look(now)
            with hold(self.folder, now) as at:
                event = entered(typed.entry, typed.words, typed.texts, at, typed.said)
                settled(doubts(at, event, before.picture), typed.said)
                return self._append(at, event, before.picture, now)

    def _append(self, at: Desk, event: Event, before: Picture, now: datetime) -> Told:
        at.record.append([event])
        after = self._look(now).picture
        return told_of(at, event, before, after)

    def _look(self, now: datetime) -> _Held:
        minute = now.replace(second=0, microsecond=0)
        with self._lock:
            stamp = self._stamp()
            if self._held is None or (self._held.stamp, self._held.minute) != (stamp, minute):
                self._held = _Held(stamp, minute, look(self.folder, now))
            return self._held

    def _stamp(self) -> Stamp:
        found = []
        for name in WATCHED:
            path = self.folder / name
            if path.exists():
                stat = path.stat()
                found.append((stat.st_mtime_ns, stat.st_size))
            else:
                found.append((0, 0))
        return tuple(found)


def settled(found: tuple[Finding, ...], said: Said) -> None:
    """Hold an entry back that something speaks against.

    Raises
    ------
    BadInput
        With the errors, or with the questions that were not answered with "keep it".
    """
    asked = [one for one in found if one.level == "question"]
    if wrong := errors_in(found) or ([] if said.yes else asked):
        raise BadInput(wrong)
