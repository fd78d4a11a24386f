"""The front page of a folder of farms: each farm with what bites first there, the soonest first."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain import Picture
from browseline.chain.today import first_limits
from browseline.errors import BadInput, BrokenRecord, errors_in
from browseline.record.told import tell
from browseline.web.access import HERE
from browseline.web.answer import answer
from browseline.web.people import NOBODY, OWNER
from browseline.web.refused import refused
from browseline.web.store import Store
from browseline.words import say

PATIENCE_S = 2.0
"""Nobody waits longer than this for farms that were not looked at yet, and for the one that is begun with."""
FIRST = "first limit"
ALARM, DUE, UNKNOWN, WRONG, UNSEEN = range(5)
"""In which order farms stand; those with a limit by its time."""


@dataclass(frozen=True, slots=True)
class FarmRow:
    """One farm: its folder, its name, and what is first there in words; ``due`` where that has a time."""

    folder: str
    name: str
    rank: int
    says: str
    due: datetime | None = None


@dataclass(frozen=True, slots=True)
class FarmsPage:
    """The farms of a folder, for whoever sits at the machine; nobody else sees which there are."""

    schema: str
    farms: tuple[FarmRow, ...]
    unseen: int


class Farms:
    """The farms of a folder; those that nobody has looked at yet are looked at behind the reader's back."""

    def __init__(self, apps: Mapping[str, FastAPI]) -> None:
        self._stores: dict[str, Store] = {name: app.state.store for name, app in apps.items()}
        self._clocks = {name: app.state.clock for name, app in apps.items()}
        self._seen: set[str] = set()
        self._busy = threading.Lock()

    def page(self) -> FarmsPage:
        """Return the page, with as many farms looked at as patience allows."""
        end = time.monotonic() + PATIENCE_S
        rows = []
        for name in self._stores:
            known = name in self._seen or time.monotonic() < end
            rows.append(self._row(name) if known else FarmRow(name, name, UNSEEN, say("access.farms.unseen")))
        unseen = [row.folder for row in rows if row.rank == UNSEEN]
        if unseen and self._busy.acquire(blocking=False):
            threading.Thread(target=self._look_at, args=(unseen,), daemon=True).start()
        return FarmsPage("browseline/farms/1", tuple(sorted(rows, key=_order)), len(unseen))

    def _look_at(self, names: Iterable[str]) -> None:
        try:
            for name in names:
                self._row(name)
        finally:
            self._busy.release()

    def _row(self, name: str) -> FarmRow:
        try:
            rank, called, says, due = self._stores[name].page(FIRST, _first, self._clocks[name]())
            row = FarmRow(name, called, rank, says, due)
        except BadInput as wrong:
            found = errors_in(wrong.findings) or list(wrong.findings)
            told = say("access.farms.wrong", count=len(found), where=found[0].where, what=found[0].what)
            row = FarmRow(name, name, WRONG, told)
        except BrokenRecord as wrong:
            row = FarmRow(name, name, WRONG, str(wrong))
        self._seen.add(name)
        return row


def _first(picture: Picture) -> tuple[int, str, str, datetime | None]:
    """Return how urgent a farm is, its name, what is first there, and when."""
    name, alarms = picture.farm.name, picture.state.alarms
    if alarms:
        return ALARM, name, tell(alarms[0], picture.farm.time_zone), picture.now
    limits = [(mob, line) for mob, line in first_limits(picture).values() if line.likely is not None]
    if not limits:
        return UNKNOWN, name, say("access.farms.unknown"), None
    mob, line = min(limits, key=lambda one: one[1].likely or picture.now)
    says = say("access.farms.first", mob=mob, limit=line.name, when=line.when, short=line.short)
    return DUE, name, str(says), line.likely


def _order(row: FarmRow) -> tuple[int, float, str]:
    return row.rank, row.due.timestamp() if row.due is not None else 0.0, row.name.casefold()


def list_farms(request: Request) -> Response:
    """GET / — the farms of the folder, for whoever sits at the machine."""
    if not request.scope.get(HERE):
        request.state.person = NOBODY
        return refused(request, 404)
    request.state.person = OWNER
    return answer(request, "farms.html", request.app.state.list.page())
