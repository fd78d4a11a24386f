"""The tables of ``record.db``, readable by anybody with SQLite (docs/record.md explains each)."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from itertools import product

VERSION = 1
APPLICATION_ID = 0x62726C6E  # "brln"

EVENT_COLUMNS = (
    "id", "device", "who", "observed", "recorded", "kind", "version", "subject", "part", "planned",
    "supersedes", "reason", "value",
)  # fmt: skip

_TABLES = (
    """CREATE TABLE event (
        id TEXT NOT NULL, device TEXT NOT NULL, who TEXT NOT NULL,
        observed TEXT NOT NULL, recorded TEXT NOT NULL,
        kind TEXT NOT NULL, version INTEGER NOT NULL,
        subject TEXT NOT NULL, part TEXT NOT NULL, planned INTEGER NOT NULL CHECK (planned IN (0, 1)),
        supersedes TEXT NOT NULL, reason TEXT NOT NULL, value TEXT NOT NULL CHECK (json_valid(value)),
        sha256 TEXT NOT NULL,
        PRIMARY KEY (id, sha256))""",
    "CREATE TABLE content (sha256 TEXT NOT NULL PRIMARY KEY, bytes BLOB NOT NULL)",
    """CREATE TABLE file_version (
        id TEXT NOT NULL PRIMARY KEY, name TEXT NOT NULL, sha256 TEXT NOT NULL, parents TEXT NOT NULL)""",
    """CREATE TABLE file_seen (
        version TEXT NOT NULL REFERENCES file_version (id), device TEXT NOT NULL, at TEXT NOT NULL,
        PRIMARY KEY (version, device, at))""",
    "CREATE TABLE device (id TEXT NOT NULL PRIMARY KEY, mark TEXT NOT NULL)",
    "CREATE TABLE on_disk (name TEXT NOT NULL PRIMARY KEY, sha256 TEXT NOT NULL, heads TEXT NOT NULL)",
)
_APPEND_ONLY = ("event", "content", "file_version", "file_seen")


def create(connection: sqlite3.Connection) -> None:
    """Make the tables, in one transaction; another process that was quicker is let be."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for statement in _statements() if version_of(connection) == 0 else ():
            connection.execute(statement)
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _statements() -> Iterator[str]:
    yield from _TABLES
    for table, verb in product(_APPEND_ONLY, ("UPDATE", "DELETE")):
        yield (
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'the record is append-only'); END"
        )
    yield f"PRAGMA application_id={APPLICATION_ID}"
    yield f"PRAGMA user_version={VERSION}"


def version_of(connection: sqlite3.Connection) -> int:
    """Return the version of the tables; 0 before there are any."""
    (found,) = connection.execute("PRAGMA user_version").fetchone()
    return int(found)


def is_ours(connection: sqlite3.Connection) -> bool:
    """Return whether the file is a record, or an empty file that may become one."""
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return bool(mark == APPLICATION_ID or (mark == 0 and tables == 0))
