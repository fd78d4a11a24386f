"""Two copies of a farm become one: the union of what both hold, in any order the same.

First every event and every version of the text files is taken in, in one transaction; only then
are the text files written, each whole or not at all. A join that is cut off between the two is
finished the next time the record is opened for work.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from browseline.errors import BadInput, BrokenRecord, Finding, finding
from browseline.events import BadEvent
from browseline.record import files
from browseline.record.clock import clock_questions
from browseline.record.corrections import resolve
from browseline.record.history import NAMES, Clash, Version, version_of
from browseline.record.rows import Raw, checked
from browseline.record.state import Disagreement, Question
from browseline.record.store import FILE, Record
from browseline.record.table import from_csv, from_lines, lines_versions
from browseline.words import say


@dataclass(frozen=True, slots=True)
class Copy:
    """What another copy of the farm holds. ``texts`` are text files whose history is not known."""

    raws: tuple[Raw, ...]
    versions: tuple[Version, ...] = ()
    device: str = ""
    findings: tuple[Finding, ...] = ()
    texts: tuple[Version, ...] = ()


@dataclass(frozen=True, slots=True)
class Joined:
    """What a join did, and what two people say differently.

    ``new_events`` is how many came in, ``files`` the text files that were written.
    """

    new_events: int
    files: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    clashes: tuple[Clash, ...]
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]


def join(mine: Path, theirs: Path | Copy, now: datetime, their_now: datetime | None = None) -> Joined:
    """Take another copy of a farm into this one. The other is only read.

    Parameters
    ----------
    mine : Path
        The folder that gains.
    theirs : Path or Copy
        A folder with a record; or an unpacked pack: ``events.jsonl`` or ``events.csv`` with the
        text files beside it; or what a caller has read of one.
    now : datetime
        The clock of this machine. Aware.
    their_now : datetime, optional
        What the other device's clock said, where it can be asked.

    Raises
    ------
    BrokenRecord
        If either record is damaged; nothing is changed then.
    BadInput
        If the other folder holds no record.
    """
    with Record.open(mine) as record:
        record.check()
        record.keep_files(now)
        copy = theirs if isinstance(theirs, Copy) else read_copy(theirs, now)
        good, findings = _checked(copy.raws)
        known = files.known_contents(record)
        strange = [version for version in copy.texts if (version.name, version.sha256) not in known]
        new = record.take_in(good, (*copy.versions, *strange))
        written = record.keep_files(now)
        events = record.events()
        return Joined(
            new, written, resolve(events).disagreements, files.clashes(record),
            clock_questions(events, now, copy.device, their_now), (*copy.findings, *findings),
        )  # fmt: skip


def _checked(raws: Iterable[Mapping[str, Any]]) -> tuple[list[Raw], list[Finding]]:
    """Return the events that can be kept, and a finding for each that is none."""
    good, findings = [], []
    for number, raw in enumerate(raws, start=1):
        try:
            good.append(checked(raw))
        except BadEvent as wrong:
            findings.append(finding("record.bad_event", f"{number}", kind=wrong.kind, field=wrong.field))
    return good, findings


def read_copy(folder: Path, now: datetime) -> Copy:
    """Return what another folder holds, its unkept text files too, without changing it.

    Raises
    ------
    BadInput
        If the folder holds neither a record nor a pack's events.
    BrokenRecord
        If its record is damaged.
    """
    if (folder / FILE).is_file():
        return _of_folder(folder, now)
    for name, reader in (("events.jsonl", from_lines), ("events.csv", from_csv)):
        if (folder / name).is_file():
            raws = tuple(reader((folder / name).read_bytes().decode(), str(folder / name)))
            history = folder / "versions.jsonl"
            if history.is_file():
                return Copy(raws, tuple(lines_versions(history.read_bytes().decode(), str(history))))
            return Copy(raws, texts=tuple(_texts(folder, now)))
    raise BadInput([finding("record.no_copy", str(folder))])


def read_entries(path: Path) -> Copy:
    """Return the entries of a file as a phone saves them: JSON, one a line.

    Raises
    ------
    BadInput
        With a finding a line that is no entry.
    """
    try:
        text = path.read_bytes().decode()
    except UnicodeDecodeError:
        raise BadInput([finding("record.no_copy", str(path))]) from None
    return Copy(tuple(from_lines(text, str(path))))


def _of_folder(folder: Path, now: datetime) -> Copy:
    with tempfile.TemporaryDirectory() as beside:
        device = _copy_record(folder, Path(beside))
        for name in NAMES:
            if (folder / name).is_file():
                shutil.copy2(folder / name, Path(beside) / name)
        with Record.open(beside, device) as record:
            record.check()
            fresh = [v for name in NAMES if (v := files.unkept(record, name, now)) is not None]
            return Copy(tuple(record.rows()), (*record.versions(), *fresh), device or "")


def _copy_record(folder: Path, into: Path) -> str | None:
    """Copy a record as it is on one instant, even while it is written to; return its device."""
    try:
        with (
            closing(sqlite3.connect(f"{(folder / FILE).resolve().as_uri()}?mode=ro", uri=True)) as source,
            closing(sqlite3.connect(into / FILE)) as target,
        ):
            source.backup(target)
            found = target.execute("SELECT id FROM device ORDER BY rowid DESC LIMIT 1").fetchone()
            return str(found[0]) if found else None
    except sqlite3.DatabaseError as wrong:
        raise BrokenRecord(say("record.broken.damaged", file=str(folder / FILE), why=str(wrong))) from wrong


def _texts(folder: Path, now: datetime) -> Iterator[Version]:
    for name in NAMES:
        path = folder / name
        if path.is_file():
            made = min(datetime.fromtimestamp(path.stat().st_mtime, UTC), now.astimezone(UTC))
            yield version_of(name, path.read_bytes(), (), made)
