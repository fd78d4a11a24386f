"""A forgotten week from paper: a file of entries, checked as a whole, kept as one batch.

A row is a time and a command as typed, ``2026-05-03 07:00 move ewes 8``. Every row is read before any
is kept, against the farm as it was at the row's time with the good rows above it entered. A batch
bears a mark in its reasons, so that ``undo`` takes it back whole.
"""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import typer
from typer.exceptions import TyperException

from browseline.chain.look import Picture
from browseline.cli.cautions import called_for
from browseline.cli.desk import Desk, Said, desk
from browseline.cli.doubts import doubts
from browseline.cli.entry import entered, said_in
from browseline.cli.kept import SHORT_ID, entry_words, seen, tell_new
from browseline.cli.out import put, put_wrapped, tell, waiting
from browseline.cli.table import ENTRIES, spoken
from browseline.cli.times import when
from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.events import Event
from browseline.record.corrections import resolve
from browseline.words import say

ALONE = frozenset({"photo"})
"""Verbs that do more than write an entry, so that no row can hold them."""
Built = Callable[[str], Any]
"""What gives the command of a verb, by which its words and options are read."""
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
        words = _words(line)
        if words and not words[0].startswith("#"):
            cut = next((i for i, word in enumerate(words) if word in ENTRIES), len(words))
            found.append(Row(number, " ".join(words[:cut]), tuple(words[cut:])))
    return found


def _words(line: str) -> list[str]:
    """Return the words of a line; double quotes hold words together, an apostrophe is a letter."""
    split = shlex.shlex(line, posix=True, punctuation_chars="")
    split.whitespace_split, split.quotes, split.escape, split.commenters = True, '"', "", ""
    try:
        return list(split)
    except ValueError:
        return line.split()


def take(path: Path, rows: Sequence[Row], said: Said, built: Built) -> None:
    """Check the rows of a file, show the good ones, and keep them as one batch if that is confirmed.

    Raises
    ------
    BadInput
        With every row that is to be mended, after the good ones were kept or refused.
    """
    with desk(said.farm, said.now) as at:
        with waiting(say("cli.batch.checking", file=path.name)):
            before = seen(at, at.events)
            checked = check(path.name, rows, at, before, said.who, cache(built))
        for number, event in checked.good:
            put_wrapped(say("cli.batch.row", number=number, entry=entry_words(at, event)), "      ", "")
        put(say("cli.batch.found", count=len(checked.good), there=len(checked.there), file=path.name))
        tell(checked.findings)
        if checked.good and _confirmed(len(checked.good), said.yes):
            events = marked(checked.events, path.name)
            at.record.append(events)
            put(say("cli.batch.kept", count=len(events)))
            tell_new(called_for(events), at, (), before)
        elif checked.good:
            raise BadInput([finding("cli.batch.not_kept", path.name, level="note")])
        if errors_in(checked.findings):
            raise typer.Exit(1)


def _confirmed(count: int, yes: bool) -> bool:
    return yes or (sys.stdin.isatty() and typer.confirm(say("cli.batch.keep", count=count), err=True))


def check(name: str, rows: Iterable[Row], at: Desk, before: Picture, who: str, built: Built) -> Checked:
    """Read every row and return what they come to; nothing is kept.

    ``before`` is the farm without the rows, ``who`` whose entries they are.
    """
    checked = Checked([], [], [])
    held = {_says(event) for event in resolve(at.events).standing}
    for row in rows:
        where = f"{name}:{row.number}"
        then = replace(at, events=(*at.events, *checked.events), as_of=None)
        try:
            event, asked = _checked(row, then, before, who, built)
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


def _checked(
    row: Row, at: Desk, before: Picture, who: str, built: Built
) -> tuple[Event, tuple[Finding, ...]]:
    """Return the entry of a row and what speaks against it."""
    if not row.words:
        raise BadInput([finding("cli.batch.no_verb", row.time)])
    if not row.time:
        raise BadInput([finding("cli.batch.no_time", " ".join(row.words))])
    verb = row.words[0]
    given = _given(row.words, built)
    entry = ENTRIES[verb]
    words, texts, said = said_in(entry, given)
    observed = when(row.time, at.now, at.zone, ahead=said.planned)
    opened = observed.end.astimezone(at.zone).date() >= at.farm.as_of
    then = replace(at, as_of=min(observed.end, at.now) if opened else None)
    said = replace(said, at=row.time, who=said.who if said.who != Said().who else who)
    event = entered(entry, words, texts, then, said)
    return event, doubts(then, event, replace(before, state=then.state))


def _given(words: Sequence[str], built: Built) -> dict[str, Any]:
    """Return what a command's words and options say, as the command line itself would read them."""
    verb = words[0]
    args = spoken(words)[1:]
    if verb in ALONE or "--help" in args:
        raise BadInput([finding("cli.batch.alone", " ".join(words))])
    try:
        given = built(verb).make_context(verb, list(args)).params
    except TyperException:
        raise BadInput([finding("cli.batch.words", " ".join(words))]) from None
    if given.get("at") or given.get("from_file") or given.get("out_file"):
        raise BadInput([finding("cli.batch.alone", " ".join(words))])
    return dict(given)


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
