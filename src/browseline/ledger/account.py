"""The one form of a ledger page: sentences, the figures behind them, and a table where one helps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime

from browseline.events import Event
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.record.corrections import resolve
from browseline.words import day_words, say

SEASON = "grazing"


@dataclass(frozen=True)
class Account:
    """A page of the ledger. ``head`` names the columns of ``rows``; both are empty without a table."""

    schema: str
    name: str
    sentences: tuple[str, ...]
    figures: tuple[Figure, ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def happened(events: Iterable[Event], now: datetime) -> tuple[Event, ...]:
    """Return the events that stand and were so by ``now``, planned ones left out, in order of time."""
    limit = now.astimezone(UTC)
    return tuple(e for e in resolve(events).standing if not e.planned and e.order[0] <= limit)


def dated(day: date) -> str:
    """Return a day with its year: 8 Jul 2026."""
    return f"{day_words(day)} {day.year}"


def season_notes(farm: Farm) -> tuple[str, ...]:
    """Return what is to be said where no season is typed."""
    return () if any(p.kind == SEASON for p in farm.promises) else (say("account.no_season"),)


def season_of(farm: Farm, today: date) -> tuple[date, date]:
    """Return the grazing season that holds today, else the next, else the last; else the calendar year.

    Its first day, and the day after its last.
    """
    found = sorted((p.from_day, p.to_day) for p in farm.promises if p.kind == SEASON)
    for first, last in found:
        if today < last:
            return first, last
    return found[-1] if found else (date(today.year, 1, 1), date(today.year + 1, 1, 1))
