"""Undo and correct: new events that stand in the stead of old ones; nothing is rewritten."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from browseline.chain.desk.batch import batch_of
from browseline.chain.desk.desk import Desk, Said
from browseline.chain.desk.entry import RENAMED, bad_event
from browseline.chain.desk.slots import Filled, fields_of, read_value
from browseline.chain.desk.times import when
from browseline.errors import BadInput, finding
from browseline.events import BadEvent, Body, Event, Undone, Unknown, When, body_of, new_id
from browseline.record.corrections import resolve

UNDO_WITHIN = timedelta(hours=24)
_SHORTEST_ID = 4


def take_back(at: Desk, ident: str, who: str, because: str) -> tuple[list[Event], list[Event]]:
    """Return the entries that are taken back, and the events that do it; nothing is kept.

    An id takes back that entry. None takes back this device's last, with the batch it came in.

    Raises
    ------
    BadInput
        If there is no such entry, it stands no more, or there is none of the last 24 hours.
    """
    last = entry_of(at, ident) if ident else _last(at)
    standing = resolve(at.events).standing
    if last.id not in {event.id for event in standing}:
        raise BadInput([finding("cli.stands_no_more", ident)])
    undone = [last] if ident else batch_of(last, standing)
    return undone, [in_stead(at, one, Undone(), who, because) for one in undone]


def entry_of(at: Desk, ident: str) -> Event:
    """Return the entry whose id begins or ends with a text.

    Raises
    ------
    BadInput
        If none, or more than one, does.
    """
    fits = [
        e
        for e in at.events
        if len(ident) >= _SHORTEST_ID and (e.id.startswith(ident) or e.id.endswith(ident))
    ]
    if len({e.id for e in fits}) != 1:
        raise BadInput([finding("cli.no_entry", ident, found=len({e.id for e in fits}))])
    return fits[-1]


def _last(at: Desk) -> Event:
    """Return this device's last entry that stands, if it was written in the last 24 hours."""
    standing = resolve(at.events).standing
    mine = [e for e in standing if e.device == at.record.device and e.recorded > at.now - UNDO_WITHIN]
    if not mine:
        raise BadInput([finding("cli.nothing_to_undo", at.farm.name)])
    written = {event.id: place for place, event in enumerate(at.events)}
    return max(mine, key=lambda e: (e.recorded, written[e.id]))


def undoable(at: Desk, event: Event) -> bool:
    """Return whether an entry stands and was written in the last 24 hours."""
    fresh = event.recorded > at.now - UNDO_WITHIN
    return fresh and event.id in {one.id for one in resolve(at.events).standing}


def corrected(at: Desk, old: Event, changes: list[str], said: Said) -> Event:
    """Return the event that puts an entry right; nothing is kept.

    Raises
    ------
    BadInput
        If a change names no field of its kind, or cannot be read.
    """
    if not isinstance(old.body, Body):
        raise BadInput([finding("cli.unread_kind", old.id, kind=old.kind)])
    names = {RENAMED.get(name, name): name for name in fields_of(old.kind)}
    value, subject, part = old.body.value(), old.subject, old.part
    mob = at.state.mob(old.subject)
    for change in changes:
        option, equals, text = change.partition("=")
        option = option.strip().lstrip("-")
        if option == "about" and equals:
            subject = text.strip()
            continue
        name = names.get(option) or names.get(option.replace("-", "_"))
        if name is None or not equals:
            raise BadInput([finding("cli.no_field", change, fields=", ".join(names))])
        filled = Filled(subject, part, value, mob)
        value[name] = (
            read_value(old.kind, name, text.strip(), at.names, filled, at.today) if text.strip() else None
        )
    try:
        body = body_of(old.kind, old.body.version, value)
    except BadEvent as wrong:
        raise bad_event(wrong, "correct") from None
    event = in_stead(at, old, body, said.who, said.because)
    if said.at:
        event = replace(event, observed=when(said.at, at.now, at.zone))
    return replace(event, subject=subject, part=part)


def in_stead(at: Desk, old: Event, body: Body | Unknown, who: str, because: str) -> Event:
    """Return an event in the stead of another: same time and subject, recorded now."""
    recorded = at.now.astimezone(at.zone)
    observed = old.observed if not isinstance(body, Undone) else When.at(recorded)
    return replace(
        old, id=new_id(at.now), device=at.record.device, who=who, observed=observed, recorded=recorded,
        body=body,
        supersedes=old.id, reason=because,
    )  # fmt: skip
