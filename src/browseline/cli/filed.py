"""Entries from a file and into one: ``note --from``, ``walk --from`` and ``walk --out``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from browseline.cli.batch import rows_of, take
from browseline.cli.desk import Said, desk
from browseline.cli.heights import VERB, rows_of_table, table_of
from browseline.cli.out import put
from browseline.cli.table import Entry
from browseline.errors import BadInput, finding
from browseline.farm.disk import write_whole
from browseline.words import say


def filed(
    entry: Entry,
    source: Path | None,
    out: Path | None,
    words: list[str],
    said: Said,
    built: Callable[[str], Any],
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
        take(source, rows, said, built)
    elif out is not None:
        with desk(said.farm, said.now) as at:
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
