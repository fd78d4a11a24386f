"""Files that somebody sends, read without trust: outlines into the map, a forgotten week into the record."""

from __future__ import annotations

import csv
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from browseline.chain.desk.batch import Row, check, marked, rows_of
from browseline.chain.desk.desk import hold
from browseline.chain.desk.heights import NEEDED, rows_of_table
from browseline.chain.desk.kept import entry_words
from browseline.errors import BadInput, Finding, finding
from browseline.record.store import Record
from browseline.web.sight import allow
from browseline.web.store import Store

MOST_ROWS = 500
LONGEST_NAME = 60
_STRANGE = re.compile(r"[^\w. -]+")


@dataclass(frozen=True, slots=True)
class BringPage:
    """The forms for a map and for a forgotten week. ``endings`` are those of maps that can be read."""

    schema: str
    endings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BroughtMap:
    """What a map brought: the names of its shapes, and what was found."""

    schema: str
    shapes: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One good row of a file: its number as a reader counts, and the entry in words."""

    number: int
    entry: str


@dataclass(frozen=True, slots=True)
class BroughtWeek:
    """What the rows of a file come to.

    Parameters
    ----------
    text : str
        The file, to be sent once more when the good rows shall be kept.
    there : tuple of int
        Rows that the record holds already.
    kept : int
        How many entries were kept; 0 while it is only shown.
    """

    schema: str
    name: str
    text: str
    rows: tuple[WeekRow, ...]
    there: tuple[int, ...]
    findings: tuple[Finding, ...]
    kept: int


def bring_page() -> BringPage:
    """Return the forms."""
    from browseline.exchange.maps import ENDINGS

    return BringPage("browseline/bring/1", ENDINGS)


def plain_name(sent: str) -> str:
    """Return a file's name without any folder or sign that could lead elsewhere; its ending is kept."""
    last = re.split(r"[/\\]", sent)[-1]
    return _STRANGE.sub("_", last).strip(". ")[-LONGEST_NAME:] or "file"


def bring_map(store: Store, name: str, content: bytes, now: datetime) -> BroughtMap:
    """Add the outlines of a file to the farm's map.

    Raises
    ------
    BadInput
        With every finding; nothing is written then.
    """
    from browseline.exchange.maps import import_map

    with tempfile.TemporaryDirectory() as beside:
        path = Path(beside) / f"sent-{plain_name(name)}"
        path.write_bytes(content)
        found = import_map(store.folder, path)
    with Record.open(store.folder) as record:
        record.keep_files(now)
    names = tuple(f"{shape.kind}: {shape.name}" for shape in found.shapes)
    return BroughtMap("browseline/brought-map/1", names, found.findings)


def bring_week(
    store: Store, name: str, content: bytes, who: str, now: datetime, *, keep: bool
) -> BroughtWeek:
    """Read the rows of a file; keep the good ones as one batch, which is taken back as one, if ``keep``.

    Raises
    ------
    BadInput
        If it is no text, or has too many rows.
    """
    name = plain_name(name)
    text = _text(name, content)
    rows = _rows(name, text)
    if len(rows) > MOST_ROWS:
        raise BadInput([finding("access.rows", name, rows=len(rows), most=MOST_ROWS)])
    before = store.picture(now)
    with hold(store.folder, now) as at:
        checked = check(name, rows, at, before, who)
        allow(*(event.kind for event in checked.events))
        if keep and checked.good:
            at.record.append(marked(checked.events, name))
        told = tuple(WeekRow(number, entry_words(at, event)) for number, event in checked.good)
    kept = len(checked.good) if keep else 0
    return BroughtWeek(
        "browseline/brought-week/1", name, text, told, tuple(checked.there), tuple(checked.findings), kept
    )


def _text(name: str, content: bytes) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise BadInput([finding("cli.no_text", name)])
    return text


def _rows(name: str, text: str) -> Sequence[Row]:
    """Return the rows of a table of heights, or of typed commands; the first line tells which it is."""
    head = text.partition("\n")[0].casefold()
    if not all(column in head for column in NEEDED):
        return rows_of(text)
    try:
        return rows_of_table(text, name)
    except csv.Error:
        raise BadInput([finding("cli.no_text", name)]) from None
