"""Where each mob is and since when, and what two devices say differently about it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from browseline.events import Event, When
from browseline.record.state import Disagreement, Stay

NEAR = timedelta(hours=3)
"""Two exact moves of one mob by two devices nearer than this are listed: one did not know the other."""


class Places:
    """The stays so far. A mob stands in one place at a time: a stay ends where the next begins."""

    def __init__(self) -> None:
        self.stays: list[Stay] = []
        self.disagreements: list[Disagreement] = []
        self._now: dict[str, int] = {}
        self._placings: dict[str, list[tuple[Event, str, str]]] = {}

    def now(self, mob: str) -> Stay | None:
        """Return the stay of a mob that has not ended, or None."""
        index = self._now.get(mob)
        return None if index is None else self.stays[index]

    def enter(self, mob: str, place: str, part: str, when: When, event: str = "") -> None:
        """Put a mob in a place. Seen where it already stands, it simply stays."""
        stay = self.now(mob)
        if stay is not None and stay.place == place and part in ("", stay.part):
            return
        if stay is not None:
            when = self.leave(mob, when, event)
        self._now[mob] = len(self.stays)
        self.stays.append(Stay(mob, place, when, part=part, begin_event=event))

    def leave(self, mob: str, when: When, event: str = "") -> When:
        """End the stay of a mob; the instant returned does not begin before the stay did."""
        index = self._now.pop(mob, None)
        if index is None:
            return when
        stay = self.stays[index]
        begin = stay.begin.start
        if _utc(when.start) < _utc(begin):
            when = When(begin, max(when.end, begin, key=_utc))
        self.stays[index] = replace(stay, end=when, end_event=event)
        return when

    def seen(self, event: Event, place: str, part: str) -> None:
        """Put a mob where an event saw it, and list earlier sightings that speak against it."""
        placings = self._placings.setdefault(event.subject, [])
        for other, there, in_part in reversed(placings):
            if not _near(other.observed, event.observed):
                break
            if other.device != event.device and (there, in_part) != (place, part):
                self._disagree(other, there, in_part, event, place, part)
        placings.append((event, place, part))
        self.enter(event.subject, place, part, event.observed, event.id)

    def _disagree(self, other: Event, there: str, in_part: str, event: Event, place: str, part: str) -> None:
        facts = (
            ("mob", event.subject), ("first", in_part or there), ("first_by", other.device),
            ("first_at", other.observed.text()), ("then", part or place), ("then_by", event.device),
            ("then_at", event.observed.text()),
        )  # fmt: skip
        self.disagreements.append(
            Disagreement("two_places", event.subject, (other.id, event.id), event.id, facts)
        )


def _near(first: When, then: When) -> bool:
    """Return whether two sightings may be of one time: they overlap, or are exact and hours apart."""
    gap = _utc(then.start) - _utc(first.end)
    return gap <= timedelta(0) or (first.exact and then.exact and gap < NEAR)


def _utc(instant: datetime) -> datetime:
    return instant.astimezone(UTC)
