"""Undo and correct: new events that stand in the stead of old ones; nothing is rewritten."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Annotated

import typer

from browseline.cli.batch import batch_of
from browseline.cli.desk import Desk, Said, desk
from browseline.cli.doubts import doubts, settle
from browseline.cli.entry import RENAMED, bad_event
from browseline.cli.kept import entry_words, seen, tell_kept, tell_new
from browseline.cli.options import FarmOption, NowOption
from browseline.cli.slots import Filled, fields_of, read_value
from browseline.cli.times import when
from browseline.errors import BadInput, finding
from browseline.events import BadEvent, Body, Event, Undone, Unknown, When, body_of, new_id
from browseline.record.corrections import resolve
from browseline.words import say

UNDO_WITHIN = timedelta(hours=24)
_SHORTEST_ID = 4


def undo(
    ident: Annotated[
        str, typer.Argument(metavar="[ID]", help=say("cli.option.undo_id"), show_default=False)
    ] = "",
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    because: Annotated[
        str, typer.Option("--because", help=say("cli.option.because"), show_default=False)
    ] = "",
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Take back an entry, or the batch it came in, of this device's last 24 hours; the record keeps both."""
    with desk(farm, now) as at:
        last = entry_of(at, ident) if ident else _last(at)
        undone = [last] if ident else batch_of(last, resolve(at.events).standing)
        before = seen(at, at.events)
        events = [_new(at, one, Undone(), who, because) for one in undone]
        at.record.append(events)
        if len(undone) > 1:
            typer.echo(say("cli.batch.undone", count=len(undone), mark=last.reason))
        else:
            typer.echo(say("cli.undone", entry=entry_words(at, last)))
        tell_new((), at, events[:1] if len(events) == 1 else (), before)


def correct(
    ident: Annotated[str, typer.Argument(metavar="ID", help=say("cli.option.correct_id"))],
    changes: Annotated[list[str], typer.Argument(metavar="FIELD=VALUE...", help=say("cli.option.changes"))],
    at_text: Annotated[str, typer.Option("--at", help=say("cli.option.at"), show_default=False)] = "",
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    because: Annotated[
        str, typer.Option("--because", help=say("cli.option.because"), show_default=False)
    ] = "",
    yes: Annotated[bool, typer.Option("--yes", help=say("cli.option.yes"))] = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Put right what an entry says; the record keeps both."""
    with desk(farm, now) as at:
        old = entry_of(at, ident)
        said = Said(at=at_text, who=who, because=because)
        event = _corrected(at, old, changes, said)
        before = seen(at, at.events)
        settle(doubts(at, event, before), yes)
        at.record.append([event])
        tell_kept(at, event, before)


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


def _corrected(at: Desk, old: Event, changes: list[str], said: Said) -> Event:
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
        raise bad_event(wrong, "correct", "ID FIELD=VALUE") from None
    event = _new(at, old, body, said.who, said.because)
    if said.at:
        event = replace(event, observed=when(said.at, at.now, at.zone))
    return replace(event, subject=subject, part=part)


def _new(at: Desk, old: Event, body: Body | Unknown, who: str, because: str) -> Event:
    """Return an event in the stead of another: same time and subject, recorded now."""
    recorded = at.now.astimezone(at.zone)
    observed = old.observed if not isinstance(body, Undone) else When.at(recorded)
    return replace(
        old, id=new_id(at.now), device=at.record.device, who=who, observed=observed, recorded=recorded,
        body=body,
        supersedes=old.id, reason=because,
    )  # fmt: skip
