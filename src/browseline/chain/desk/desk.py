"""A farm with its record open for one entry, and what the entry's shared options say."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from zoneinfo import ZoneInfo

from browseline.chain.desk.lookup import Names
from browseline.errors import BadInput, Finding, errors_in
from browseline.events import Event
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.record.fold import fold
from browseline.record.state import State
from browseline.record.store import Record


@dataclass(frozen=True, slots=True)
class Said:
    """What the options say that every entry shares."""

    at: str = ""
    who: str = "owner"
    because: str = ""
    yes: bool = False
    planned: bool = False


@dataclass(frozen=True)
class Desk:
    """A farm, its record, and every event so far; ``as_of`` is the instant of its state, by default now."""

    folder: Path
    farm: Farm
    record: Record
    events: tuple[Event, ...]
    now: datetime
    findings: tuple[Finding, ...] = ()
    as_of: datetime | None = None

    @property
    def zone(self) -> ZoneInfo:
        """Return the farm's clock."""
        return ZoneInfo(self.farm.time_zone)

    @property
    def today(self) -> date:
        """Return the farm's local day."""
        return self.now.astimezone(self.zone).date()

    @cached_property
    def state(self) -> State:
        """Return the farm as it is before the entry."""
        return fold(self.farm, self.events, self.as_of or self.now)

    @cached_property
    def names(self) -> Names:
        """Return what the farm's things are called."""
        return Names(self.farm, self.state)


@contextmanager
def hold(folder: Path, now: datetime) -> Iterator[Desk]:
    """Hold the farm of a folder with its record open.

    Raises
    ------
    BadInput
        If it cannot be used as it is.
    """
    reading = read(folder, now.date())
    if reading.farm is None or errors_in(reading.findings):
        raise BadInput(reading.findings)
    with Record.open(folder) as record:
        record.keep_files(now)
        yield Desk(folder, reading.farm, record, record.events(), now, record.findings)
