"""Clocks that are off, noticed when two copies meet. Nothing is changed: somebody is asked."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from browseline.events import Event, When
from browseline.record.state import Question

ASK_BEYOND = timedelta(hours=2)
"""A clock this far from the receiving one is asked about; less is a zone or a slow handshake."""


def clock_questions(
    events: Iterable[Event], now: datetime, their_device: str = "", their_now: datetime | None = None
) -> tuple[Question, ...]:
    """Return a question for each device whose clock is off.

    Parameters
    ----------
    events : iterable of Event
        What the other copy brought, and what is here: an entry that corrects one recorded later
        than itself shows a clock that is slow.
    now : datetime
        The receiving clock. An entry recorded later than this comes from a clock that is fast.
    their_now : datetime, optional
        What the other device's own clock said at that instant, where it can be asked.
    """
    found = {event.id: event for event in events}
    off: dict[str, tuple[timedelta, Event | None]] = {}
    for event in found.values():
        ahead = event.recorded - now
        if ahead > ASK_BEYOND:
            _keep(off, event.device, ahead, event)
        original = found.get(event.supersedes)
        behind = event.recorded - original.recorded if original is not None else timedelta()
        if behind < -ASK_BEYOND:
            _keep(off, event.device, behind, event)
    if their_now is not None and abs(their_now - now) > ASK_BEYOND:
        off[their_device] = (their_now - now, None)
    return tuple(_question(device, by, event, now) for device, (by, event) in sorted(off.items()))


def _keep(off: dict[str, tuple[timedelta, Event | None]], device: str, by: timedelta, event: Event) -> None:
    if device not in off or abs(by) > abs(off[device][0]):
        off[device] = (by, event)


def _question(device: str, by: timedelta, event: Event | None, now: datetime) -> Question:
    hours = round(abs(by) / timedelta(hours=1))
    way = "ahead" if by > timedelta() else "behind"
    at = event.observed if event is not None else When.at(now.astimezone(UTC))
    facts = (("device", device), ("hours", str(hours)), ("way", way))
    return Question("clock", device, at, facts, event.id if event is not None else "")
