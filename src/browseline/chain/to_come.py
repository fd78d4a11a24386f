"""Planned entries that are still to come: what was entered meanwhile as done is taken off them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from browseline.events import Borrowed, Bought, Event, Returned, Sold
from browseline.record.corrections import resolve

EARLY = timedelta(days=14)
"""What is entered as done so long before its planned day is that planned entry come true."""
Herd = (Sold, Bought, Borrowed, Returned)


def to_come(events: Iterable[Event], now: datetime) -> tuple[Event, ...]:
    """Return the planned entries whose day is not over, less what was done of them by now.

    Animals that were sold, bought, lent or sent home after somebody planned it, within a fortnight of the
    day, are not counted again: of a sale only the head that are left stay planned.
    """
    done, planned = _both(events)
    return tuple(_left(done, [event for event in planned if event.observed.end > now]))


def missed(events: Iterable[Event], now: datetime) -> tuple[Event, ...]:
    """Return what was planned for the herd in the last fortnight and was not entered as done."""
    done, planned = _both(events)
    own = [event for event in planned if isinstance(event.body, Herd)]
    return tuple(_left(done, [event for event in own if now - EARLY < event.observed.end <= now]))


def _both(events: Iterable[Event]) -> tuple[list[Event], list[Event]]:
    """Return what was done to the herd, and all that is planned, in order of time."""
    standing = resolve(events).standing
    done = [event for event in standing if not event.planned and isinstance(event.body, Herd)]
    return done, [event for event in standing if event.planned]


def _left(done: list[Event], ahead: list[Event]) -> Iterator[Event]:
    spent: dict[str, int] = {}
    for event in ahead:
        own = [one for one in done if _is_it(event, one)]
        if isinstance(event.body, (Sold, Bought)):
            head = event.body.head
            for one in own:
                has = _head(one) - spent.get(one.id, 0)
                used = min(max(has, 0), head)
                spent[one.id] = spent.get(one.id, 0) + used
                head -= used
            if head > 0:
                yield replace(event, body=replace(event.body, head=head))
        elif not own:
            yield event


def _is_it(planned: Event, done: Event) -> bool:
    """Return whether what was done is what was planned: the same with the same animals, about its day."""
    near = planned.recorded <= done.recorded and planned.observed.start - done.observed.end <= EARLY
    same = type(planned.body) is type(done.body) and planned.subject == done.subject
    return near and same and isinstance(planned.body, Herd) and _animals(planned) == _animals(done)


def _animals(event: Event) -> str:
    return event.body.klass if isinstance(event.body, (Sold, Bought)) else ""


def _head(event: Event) -> int:
    return event.body.head if isinstance(event.body, (Sold, Bought)) else 0
