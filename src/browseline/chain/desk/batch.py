"""A forgotten week from paper: a file of entries, checked as a whole, kept as one batch.

A row is a time and a command as typed, ``2026-05-03 07:00 move ewes 8``. Every row is read before any
is kept, against the farm as it was at the row's time with the good rows above it entered. A batch
bears a mark in its reasons, so that ``undo`` takes it back whole.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from browseline.chain.desk.desk import Desk, Said
from browseline.chain.desk.doubts import doubts
from browseline.chain.desk.entry import entered
from browseline.chain.desk.kept import SHORT_ID
from browseline.chain.desk.times import when
from browseline.chain.desk.typed import Typed, typed, words_of
from browseline.chain.look import Picture
from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.events import Event
from browseline.events.verbs import ENTRIES
from browseline.record.corrections import resolve
from browseline.words import say

ALONE = frozenset({"photo"})
"""Verbs that do more than write an entry, so that no row can hold them."""
_MARK = re.compile(r"\[([0-9a-f]{8})\]$")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file: its number as a reader counts, when it was, and the command."""

    number: int
    time: str
    words: tuple[str, ...]


@dataclass(slots=True)
class Checked:
    """What the rows of a file come to: entries by row, rows that the record holds, and findings."""

    good: list[tuple[int, Event]]
    there: list[int]
    findings: list[Finding]

    @property
    def events(self) -> list[Event]:
        """Return the entries in the order of the rows."""
        return [event for _, event in self.good]


def rows_of(text: str) -> list[Row]:
    """Return the rows of a file of typed commands; blank lines and those after ``#`` are left out."""
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        words = words_of(line)
        if words and not words[0].startswith("#"):
            cut = next((i for i, word in enumerate(words) if word in ENTRIES), len(words))
            found.append(Row(number, " ".join(words[:cut]), tuple(words[cut:])))
    return found


def check(name: str, rows: Iterable[Row], at: Desk, before: Picture, who: str) -> Checked:
    """Read every row and return what they come to; nothing is kept.

    ``before`` is the farm without the rows, ``who`` whose entries they are.
    """
    checked = Checked([], [], [])
    held = {_says(event) for event in resolve(at.events).standing}
    for row in rows:
        where = f"{name}:{row.number}"
        then = replace(at, events=(*at.events, *checked.events), as_of=None)
        try:
            event, asked = _checked(row, then, before, who)
        except BadInput as wrong:
            checked.findings += [replace(one, where=f"{where}  {one.where}") for one in wrong.findings]
            continue
        if _says(event) in held:
            checked.there.append(row.number)
            continue
        errors = errors_in(asked)
        checked.findings += [replace(one, where=where) for one in asked]
        if not errors:
            checked.good.append((row.number, event))
            held.add(_says(event))
    return checked


def _checked(row: Row, at: Desk, before: Picture, who: str) -> tuple[Event, tuple[Finding, ...]]:
    """Return the entry of a row and what speaks against it."""
    if not row.words:
        raise BadInput([finding("cli.batch.no_verb", row.time)])
    if not row.time:
        raise BadInput([finding("cli.batch.no_time", " ".join(row.words))])
    read = _read(row)
    observed = when(row.time, at.now, at.zone, ahead=read.said.planned)
    opened = observed.end.astimezone(at.zone).date() >= at.farm.as_of
    then = replace(at, as_of=min(observed.end, at.now) if opened else None)
    said = replace(read.said, at=row.time, who=read.said.who if read.said.who != Said().who else who)
    event = entered(read.entry, read.words, read.texts, then, said)
    return event, doubts(then, event, replace(before, state=then.state), row.time)


def _read(row: Row) -> Typed:
    """Return what a row's command says."""
    verb, line = row.words[0], " ".join(row.words)
    if verb not in ENTRIES or verb in ALONE:
        raise BadInput([finding("cli.batch.alone", line)])
    found = typed(row.words)
    if found.said.at:
        raise BadInput([finding("cli.batch.alone", line)])
    return found


def _says(event: Event) -> tuple[str, ...]:
    """Return what an entry says, by which the same row is known again."""
    return (
        event.kind,
        event.subject,
        event.part,
        event.observed.text(),
        repr(event.body),
        str(event.planned),
    )


def marked(events: Sequence[Event], name: str) -> list[Event]:
    """Return entries that bear, behind their own reason, the mark of their batch."""
    mark = say("cli.batch.mark", file=name, id=events[0].id[-SHORT_ID:])
    return [replace(event, reason="; ".join(filter(None, (event.reason, mark)))) for event in events]


def batch_of(event: Event, standing: Iterable[Event]) -> list[Event]:
    """Return the entries that were kept in one batch with this one; itself alone if in none."""
    mark = _MARK.search(event.reason)
    if mark is None:
        return [event]
    return [
        other
        for other in standing
        if other.recorded == event.recorded
        and other.device == event.device
        and other.reason.endswith(mark[0])
    ]
