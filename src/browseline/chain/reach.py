"""How many days ahead a farm is looked at: as far as its plan in force reaches, and no less than usual."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from browseline.events import Cut, Event, Moved
from browseline.record.fold import planned

HORIZON_D, MOST_D = 45, 366
"""Days looked at where no plan reaches further, and the most that any plan is looked at. [d]"""


def horizon_of(events: Iterable[Event], now: datetime, zone: ZoneInfo) -> int:
    """Return how many days are looked at, today first. [d]

    Moves and cuts that are planned ahead are all among them, and so is the last day of the plan they are of:
    a plan that is told over fewer days than it was made for costs otherwise and loses its last cuts.
    """
    today = now.astimezone(zone).date()
    ends = ((end - today).days for end in _ends(events, now, zone))
    return min(max((HORIZON_D, *ends)), MOST_D)


def _ends(events: Iterable[Event], now: datetime, zone: ZoneInfo) -> Iterator[date]:
    """Yield the day after each planned move and cut that lies ahead, or that on which its stay ends."""
    for event in planned(events):
        if isinstance(event.body, (Moved, Cut)) and event.observed.end >= now:
            last = event.observed.start.astimezone(zone).date()
            until = event.body.until_day if isinstance(event.body, Moved) else None
            yield until or last + timedelta(days=1)
