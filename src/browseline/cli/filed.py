"""Entries from a file and into one: ``note --from``, ``walk --from`` and ``walk --out``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import typer

from browseline.chain.desk.batch import Row, check, marked, rows_of
from browseline.chain.desk.cautions import called_for
from browseline.chain.desk.desk import Said
from browseline.chain.desk.heights import VERB, rows_of_table, table_of
from browseline.chain.desk.kept import entry_words, seen, told
from browseline.cli.at_desk import at_desk
from browseline.cli.out import put, put_told, put_wrapped, tell, waiting
from browseline.errors import BadInput, errors_in, finding
from browseline.events.verbs import Entry
from browseline.farm.disk import write_whole
from browseline.words import say


def filed(
    entry: Entry,
    source: Path | None,
    out: Path | None,
    words: list[str],
    said: Said,
    farm: Path | None,
    now: str | None,
) -> None:
    """Take entries from a file, or write those of the record into one.

    Raises
    ------
    BadInput
        If other words or both files are given, or the file cannot be read or written.
    """
    named = [f"--{name}" for name, path in (("from", source), ("out", out)) if path is not None]
    if words or said.at or len(named) > 1:
        raise BadInput([finding("cli.file_alone", " ".join(named))])
    if source is not None:
        text = _text(source)
        rows = rows_of_table(text, source.name) if entry.name == VERB else rows_of(text)
        take(source, rows, said, farm, now)
    elif out is not None:
        with at_desk(farm, now) as at:
            text = table_of(at.events, at.zone)
        try:
            write_whole(out, text.encode())
        except OSError:
            raise BadInput([finding("cli.no_writing", str(out))]) from None
        put(say("cli.heights.done", count=text.count("\n") - 1, path=out))


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except OSError:
        raise BadInput([finding("cli.no_file", str(path))]) from None
    except UnicodeDecodeError:
        raise BadInput([finding("cli.no_text", str(path))]) from None


def take(path: Path, rows: Sequence[Row], said: Said, farm: Path | None, now: str | None) -> None:
    """Check the rows of a file, show the good ones, and keep them as one batch if that is confirmed.

    Raises
    ------
    BadInput
        With every row that is to be mended, after the good ones were kept or refused.
    """
    with at_desk(farm, now) as at:
        with waiting(say("cli.batch.checking", file=path.name)):
            before = seen(at, at.events)
            checked = check(path.name, rows, at, before, said.who)
        for number, event in checked.good:
            put_wrapped(say("cli.batch.row", number=number, entry=entry_words(at, event)), "      ", "")
        put(say("cli.batch.found", count=len(checked.good), there=len(checked.there), file=path.name))
        tell(checked.findings)
        if checked.good and _confirmed(len(checked.good), said.yes):
            events = marked(checked.events, path.name)
            at.record.append(events)
            put(say("cli.batch.kept", count=len(events)))
            put_told(told(called_for(events), at, (), before))
        elif checked.good:
            raise BadInput([finding("cli.batch.not_kept", path.name, level="note")])
        if errors_in(checked.findings):
            raise typer.Exit(1)


def _confirmed(count: int, yes: bool) -> bool:
    return yes or (sys.stdin.isatty() and typer.confirm(say("cli.batch.keep", count=count), err=True))
