"""Which events stand: corrections, corrections of corrections, and what was undone.

Nothing is rewritten. An event that supersedes another stands in its stead; ``Undone`` takes it
away; undoing an undoing brings it back. Where two corrections of one event differ both are kept,
the later recorded stands, and the disagreement is listed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from browseline.events import Event, Undone, to_json
from browseline.record.state import Disagreement


@dataclass(frozen=True, slots=True)
class Resolved:
    """The events that stand, in order of time, and what could not be settled."""

    standing: tuple[Event, ...]
    disagreements: tuple[Disagreement, ...]


def resolve(events: Iterable[Event]) -> Resolved:
    """Return the events that stand after every correction.

    Parameters
    ----------
    events : iterable of Event
        In any order, of any number of devices, planned ones too. A correction whose original is
        not there (not joined yet) counts as an entry of its own.
    """
    by_id, listed = _one_an_id(events)
    corrections: dict[str, list[str]] = {}
    for event in by_id.values():
        if _corrects(event, by_id):
            corrections.setdefault(event.supersedes, []).append(event.id)
    if not corrections:
        return Resolved(_in_order(by_id.values()), tuple(listed))
    roots = [event.id for event in by_id.values() if not _corrects(event, by_id)]
    outcome: dict[str, Event | None] = {}
    for ident in _leaves_first(roots, corrections):
        outcome[ident] = _outcome(by_id[ident], corrections.get(ident, ()), outcome, listed)
    circle = sorted(by_id.keys() - outcome.keys())
    if circle:
        listed.append(Disagreement("circle", by_id[circle[0]].subject, tuple(circle), circle[-1]))
    found = [outcome[ident] for ident in roots] + [by_id[ident] for ident in circle]
    listed.sort(key=lambda one: (one.code, one.events))
    return Resolved(_in_order(event for event in found if event is not None), tuple(listed))


def planned(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return the planned events that stand, in order of time."""
    return tuple(event for event in resolve(events).standing if event.planned)


def _one_an_id(events: Iterable[Event]) -> tuple[dict[str, Event], list[Disagreement]]:
    """Return one event an id; where two devices hold different ones, the later recorded stands."""
    by_id: dict[str, Event] = {}
    twins: dict[str, list[Event]] = {}
    for event in events:
        other = by_id.setdefault(event.id, event)
        if other is not event and _content(other) != _content(event):
            twins.setdefault(event.id, [other]).append(event)
    listed = []
    for ident in sorted(twins):
        by_id[ident] = max(twins[ident], key=lambda e: (e.recorded.astimezone(UTC), _content(e)))
        listed.append(Disagreement("same_id", by_id[ident].subject, (ident,), ident))
    return by_id, listed


def _content(event: Event) -> str:
    return json.dumps(to_json(event), sort_keys=True)


def _corrects(event: Event, by_id: dict[str, Event]) -> bool:
    """Return whether the event corrects one that is there. A plan never corrects what was seen."""
    original = by_id.get(event.supersedes) if event.supersedes else None
    return original is not None and (original.planned or not event.planned)


def _leaves_first(roots: Iterable[str], corrections: dict[str, list[str]]) -> list[str]:
    """Return every id that hangs on a root, each after its own corrections."""
    found, waiting = [], list(roots)
    while waiting:
        ident = waiting.pop()
        found.append(ident)
        waiting.extend(corrections.get(ident, ()))
    return found[::-1]


def _outcome(
    event: Event, corrections: Iterable[str], outcome: dict[str, Event | None], listed: list[Disagreement]
) -> Event | None:
    """Return what stands in the event's stead; None if it did not happen."""
    live = sorted((o for c in corrections if (o := outcome[c]) is not None), key=_later)
    if not live:
        return event
    if len({_says(other) for other in live}) > 1:
        names = tuple(sorted(other.id for other in live))
        listed.append(Disagreement("two_corrections", event.subject, (event.id, *names), live[-1].id))
    return None if isinstance(live[-1].body, Undone) else live[-1]


def _later(event: Event) -> tuple[datetime, str]:
    return (event.recorded.astimezone(UTC), event.id)


def _says(event: Event) -> tuple[object, ...]:
    if isinstance(event.body, Undone):
        return ("undone",)
    when = (event.observed.start.astimezone(UTC), event.observed.end.astimezone(UTC))
    return (event.kind, event.subject, event.part, when, json.dumps(event.body.value(), sort_keys=True))


def _in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    return tuple(
        event for event in sorted(events, key=lambda e: e.order) if not isinstance(event.body, Undone)
    )
