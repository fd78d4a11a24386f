"""The record as its entries: what was written, taken back, put right; both stay to be seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from browseline.chain.desk.kept import entry_words
from browseline.chain.desk.lookup import Names
from browseline.chain.desk.mend import UNDO_WITHIN
from browseline.chain.in_force import kept_reason
from browseline.chain.look import Picture
from browseline.events import Body, Event, Undone
from browseline.farm.records import Farm
from browseline.record.corrections import resolve
from browseline.words import say, time_words

MOST = 40


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry. ``state`` is *stands*, *undone*, *corrected*, *undoes* or *corrects*.

    ``other`` is the entry that it stands against: the one that took its stead, or whose stead it took.
    """

    id: str
    words: str
    who: str
    recorded: datetime
    written: str
    planned: bool
    because: str
    state: str
    other: str
    other_words: str
    undo: bool
    correct: bool


@dataclass(frozen=True, slots=True)
class EntriesPage:
    """The entries of the record, newest first; ``older`` is where to go on, empty at the end."""

    schema: str
    farm: str
    rows: tuple[EntryRow, ...]
    older: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Called:
    farm: Farm
    names: Names


def entries_page(picture: Picture, before: str = "") -> EntriesPage:
    """Return the entries of the record as they were written, newest first.

    Parameters
    ----------
    before : str
        The id from which to go on to older ones; by default from the newest.
    """
    order = sorted(picture.events, key=lambda e: (e.recorded, e.id), reverse=True)
    start = next((n + 1 for n, event in enumerate(order) if event.id == before), 0)
    shown = order[start : start + MOST]
    standing = {event.id for event in resolve(picture.events).standing}
    by_id = {event.id: event for event in picture.events}
    instead = {event.supersedes: event for event in order[::-1] if event.supersedes}
    called = _Called(picture.farm, Names(picture.farm, picture.state))
    rows = tuple(_row(picture, called, event, by_id, instead, standing) for event in shown)
    older = shown[-1].id if start + MOST < len(order) else ""
    told = () if rows else (say("web.entries.none"),)
    return EntriesPage("browseline/entries/1", picture.farm.name, rows, older, told)


def _row(
    picture: Picture,
    called: _Called,
    event: Event,
    by_id: Mapping[str, Event],
    instead: Mapping[str, Event],
    standing: set[str],
) -> EntryRow:
    later, old = instead.get(event.id), by_id.get(event.supersedes)
    state, other = "stands", None
    if later is not None:
        state, other = ("undone" if isinstance(later.body, Undone) else "corrected"), later
    elif old is not None:
        state, other = ("undoes" if isinstance(event.body, Undone) else "corrects"), old
    stands = event.id in standing and isinstance(event.body, Body)
    fresh = event.recorded > picture.now - UNDO_WITHIN
    written = time_words(picture.scene.local(event.recorded), picture.today, exact=True)
    return EntryRow(
        event.id, _words(called, event), event.who, event.recorded, written, event.planned,
        kept_reason(event), state,
        other.id if other is not None else "", _words(called, other) if other is not None else "",
        stands and fresh, stands and event.kind != "issued",
    )  # fmt: skip


def _words(called: _Called, event: Event) -> str:
    return entry_words(called, event, ident=False)
