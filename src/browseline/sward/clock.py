"""Local days: where an instant lies in the farm's own days of 23, 24 or 25 hours."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo


def midnight(day: date, zone: ZoneInfo) -> datetime:
    """Return the instant at which a local day begins."""
    return datetime(day.year, day.month, day.day, tzinfo=zone)


def day_number(instant: datetime, first: date, zone: ZoneInfo) -> float:
    """Return the days from the local midnight of ``first``, the last one by its share. [d]"""
    local = instant.astimezone(zone).date()
    begins = midnight(local, zone).astimezone(UTC)
    ends = midnight(local + timedelta(days=1), zone).astimezone(UTC)
    return (local - first).days + (instant.astimezone(UTC) - begins) / (ends - begins)
