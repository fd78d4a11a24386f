"""The record on disk: append-only, one transaction a batch, durable when ``append`` returns."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from browseline.events import Event
from browseline.record import files
from browseline.record.database import FILE, Database
from browseline.record.history import Version
from browseline.record.rows import Raw, of_row, raw_of, read, to_row
from browseline.record.schema import EVENT_COLUMNS

__all__ = ["FILE", "Record"]

_NAMES = ", ".join(EVENT_COLUMNS)
_MARKS = ", ".join("?" * (len(EVENT_COLUMNS) + 1))
_EVENTS = f"SELECT {_NAMES} FROM event"  # noqa: S608 - these names are ours
_INSERT = f"INSERT INTO event ({_NAMES}, sha256) VALUES ({_MARKS}) ON CONFLICT (id, sha256) DO NOTHING"  # noqa: S608


class Record(Database):
    """The record of one copy of a farm folder."""

    @classmethod
    def open(cls, folder: Path | str, device: str | None = None, *, vfs: str = "") -> Record:
        """Open the record of a folder; make it if there is none.

        Parameters
        ----------
        device : str, optional
            The id that this copy shall bear. By default the one it has, or a new one.
        vfs : str, optional
            SQLite's file layer, for folders that need another (``unix-dotfile`` where locks fail).

        Raises
        ------
        BrokenRecord
            If the record is damaged, not a record, or cannot be written.
        BadInput
            If a newer program wrote it.
        """
        return cls(folder, device, vfs)

    def append(self, events: Iterable[Event]) -> int:
        """Add events in one transaction and return how many were new, once they are on the disk.

        An event that is there already is not added again. Another content under an id that is
        there is kept beside it, and becomes a listed disagreement.
        """
        return self.append_rows(raw_of(event) for event in events)

    def append_rows(self, raws: Iterable[Raw]) -> int:
        """Add events in their stored form, old versions and unknown kinds as they came."""
        return self.add(_INSERT, [to_row(raw) for raw in raws])

    def rows(self) -> list[Raw]:
        """Return every event in its stored form, in order of arrival."""
        return [of_row(row) for row in self.all(f"{_EVENTS} ORDER BY rowid")]

    def events(self) -> tuple[Event, ...]:
        """Return every event, old versions brought up to date, in order of arrival."""
        return tuple(read(raw) for raw in self.rows())

    def event(self, ident: str) -> Event | None:
        """Return the event of an id, or None; of two contents the later recorded."""
        found = [read(of_row(row)) for row in self.all(f"{_EVENTS} WHERE id = ? ORDER BY sha256", ident)]
        return max(found, key=lambda event: event.recorded.astimezone(UTC)) if found else None

    def versions(self, name: str = "") -> tuple[Version, ...]:
        """Return the versions of a text file, or of all."""
        return files.versions(self, name)

    def keep_files(self, now: datetime) -> tuple[str, ...]:
        """Keep what changed in the text files; return those that an interrupted join made it write."""
        return files.keep_files(self, now)

    def files_on(self, at: datetime) -> dict[str, bytes]:
        """Return the text files as they were at an instant."""
        return files.files_on(self, at)

    def take_in(self, raws: Iterable[Raw], versions: Iterable[Version]) -> int:
        """Add another copy's events and file versions in one transaction; return the new events."""
        with self.writing():
            files.add_versions(self, versions)
            return self.append_rows(raws)
