"""The file of the record, its transactions, and the id of this copy."""

from __future__ import annotations

import hashlib
import platform
import secrets
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from browseline.errors import BadInput, BrokenRecord, Finding, finding
from browseline.farm.disk import sync_folder
from browseline.record import medium, schema
from browseline.words import say

FILE = "record.db"


class Database:
    """One copy's ``record.db``, open.

    Attributes
    ----------
    folder : Path
    device : str
        The id of this copy; a copied folder takes an id of its own.
    findings : tuple of Finding
        What was noticed about the folder, such as no write-ahead log.
    """

    def __init__(self, folder: Path | str, device: str | None = None, vfs: str = "") -> None:
        self.folder = Path(folder)
        self.path = self.folder / FILE
        self.findings: tuple[Finding, ...] = ()
        self._lock = threading.RLock()
        with self._sound():
            fresh = not self.path.exists()
            self._connection = medium.connect(self.path, vfs)
        try:
            with self._sound():
                self._make_ready()
                self.device = self._own_id(device)
        except BaseException:
            self._connection.close()
            raise
        if fresh:
            sync_folder(self.folder)

    def _make_ready(self) -> None:
        if not schema.is_ours(self._connection):
            raise BrokenRecord(say("record.broken.foreign", file=str(self.path)))
        if schema.version_of(self._connection) > schema.VERSION:
            raise BadInput([finding("record.newer", str(self.path))])
        self.findings = medium.make_durable(self._connection, self.path)
        schema.create(self._connection)
        self._judge("PRAGMA quick_check")

    def _own_id(self, device: str | None) -> str:
        """Return the id of this copy. A folder that was copied or moved takes a new one."""
        place = f"{self.path.resolve()}\n{self.path.stat().st_ino}\n{platform.node()}"
        mark = hashlib.sha256(place.encode()).hexdigest()
        mine = self.all("SELECT id FROM device WHERE mark = ? ORDER BY rowid DESC LIMIT 1", mark)
        if mine and device in (None, mine[0][0]):
            return str(mine[0][0])
        ident = device or f"d-{secrets.token_hex(4)}"
        with self.writing():
            self._connection.execute("INSERT OR REPLACE INTO device VALUES (?, ?)", (ident, mark))
        return ident

    def all(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """Return every row that a statement finds."""
        with self._lock, self._sound():
            return self._connection.execute(statement, values).fetchall()

    def add(self, statement: str, rows: list[tuple[Any, ...]]) -> int:
        """Run a statement once a row, in one transaction; return how many rows it changed."""
        with self.writing():
            before = self._connection.total_changes
            self._connection.executemany(statement, rows)
            return self._connection.total_changes - before

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Do what is inside as one transaction, all or nothing; within another it is part of that.

        The transaction is on the disk when the block is left.
        """
        with self._lock, self._sound():
            if self._connection.in_transaction:
                yield
                return
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")

    def check(self) -> None:
        """Read the whole record and make sure that it is sound.

        Raises
        ------
        BrokenRecord
            With what SQLite found.
        """
        self._judge("PRAGMA integrity_check")

    def _judge(self, statement: str) -> None:
        wrong = [str(line) for (line,) in self.all(statement) if line != "ok"]
        if wrong:
            raise BrokenRecord(say("record.broken.damaged", file=str(self.path), why="; ".join(wrong)))

    @contextmanager
    def _sound(self) -> Iterator[None]:
        """Tell what SQLite or the disk refuses in one way, that names the file."""
        try:
            yield
        except (sqlite3.DatabaseError, OSError) as wrong:
            raise BrokenRecord(say("record.broken.damaged", file=str(self.path), why=str(wrong))) from wrong

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
