"""Heights as a spreadsheet reads and writes them: a row a height, by date and paddock."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import timedelta
from zoneinfo import ZoneInfo

from browseline.chain.desk.batch import Row
from browseline.chain.desk.entry import option_fields
from browseline.chain.desk.times import when
from browseline.errors import BadInput, finding
from browseline.events import Event, Walked, When
from browseline.events.verbs import ENTRIES
from browseline.record.corrections import resolve
from browseline.record.table import guarded, unguarded

VERB = "walk"
NEEDED = ("date", "paddock", "height")
MORE = ("time", "who")


def rows_of_table(text: str, name: str) -> list[Row]:
    """Return the rows of a table of heights, the one under the heads being row 2.

    Raises
    ------
    BadInput
        If a column is missing or is none of the verb's.
    """
    heads, *rows = _cells(text) or [[]]
    names = [head.strip().casefold().replace("_", "-").replace(" ", "-") for head in heads]
    known = (*NEEDED, *MORE, *_options())
    missing = [column for column in NEEDED if column not in names]
    strange = [column for column in names if column not in known]
    if missing or strange or len(set(names)) != len(names):
        wrong = ", ".join(missing or strange or names)
        raise BadInput([finding("cli.heights.columns", name, columns=wrong, known=", ".join(known))])
    found = []
    for number, row in enumerate(rows, start=2):
        cells = dict(zip(names, (unguarded(cell).strip() for cell in row), strict=False))
        if any(cells.values()):
            found.append(_row(number, cells))
    return found


def _options() -> list[str]:
    return [options[0] for name, options in option_fields(ENTRIES[VERB]).items() if name != "height"]


def _cells(text: str) -> list[list[str]]:
    text = text.removeprefix("\ufeff")
    head = text.partition("\n")[0]
    mark = next((mark for mark in (",", ";", "\t") if mark in head), ",")
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))


def _row(number: int, cells: dict[str, str]) -> Row:
    said = " ".join(filter(None, (cells.get("date", ""), cells.get("time", ""))))
    own = (*_options(), "who")
    options = [word for name in own if cells.get(name) for word in (f"--{name}", cells[name])]
    return Row(number, said, (VERB, *options, "--", *filter(None, map(cells.get, NEEDED[1:]))))


def table_of(events: Iterable[Event], zone: ZoneInfo) -> str:
    """Return every height that stands as a table (RFC 4180), in order of time."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    options = _options()
    writer.writerow((*NEEDED, *options, "who"))
    for event in resolve(events).standing:
        if isinstance(event.body, Walked) and not event.planned:
            value = {name.replace("_", "-"): str(item) for name, item in event.body.value().items()}
            more = (value.get(name, "") for name in options)
            cells = (_date(event.observed, zone), event.part or event.subject, value["height"], *more)
            writer.writerow(map(guarded, (*cells, event.who)))
    return out.getvalue()


def _date(observed: When, zone: ZoneInfo) -> str:
    """Return the shortest text that is read as the same instant or interval."""
    start, end = observed.start.astimezone(zone), observed.end.astimezone(zone)
    for text in (f"{start:%Y-%m-%d}", f"{start:%Y-%m-%d %H:%M}"):
        try:
            if when(text, end + timedelta(days=1), zone) == observed:
                return text
        except BadInput:
            continue
    return observed.text()
