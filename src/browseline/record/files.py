"""The text files of a folder in its record: every version kept, and the files put right again."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import UTC, datetime

from browseline.farm.disk import write_whole
from browseline.record.database import Database
from browseline.record.history import NAMES, Clash, Merged, Version, digest, heads, merged, version_of

_VERSIONS = "SELECT id, name, sha256, parents FROM file_version ORDER BY rowid"
_ON_DISK = "INSERT INTO on_disk VALUES (?, ?, ?) ON CONFLICT (name) DO UPDATE SET sha256 = ?2, heads = ?3"


def versions(record: Database, name: str = "") -> tuple[Version, ...]:
    """Return the versions of a text file, or of all, each with the first instant it was seen."""
    return tuple(replace(found, content=_content(record, found.sha256)) for found in _bare(record, name))


def _bare(record: Database, name: str = "") -> tuple[Version, ...]:
    """Return the versions without their contents, which a long history has many of."""
    first: dict[str, tuple[datetime, str]] = {}
    for ident, device, text in record.all("SELECT version, device, at FROM file_seen"):
        seen = (datetime.fromisoformat(text), device)
        first[ident] = min(first.get(ident, seen), seen)
    return tuple(
        Version(ident, title, sha, tuple(json.loads(parents)), first[ident][0], None, first[ident][1])
        for ident, title, sha, parents in record.all(_VERSIONS)
        if name in ("", title)
    )


def _content(record: Database, sha256: str) -> bytes | None:
    found = record.all("SELECT bytes FROM content WHERE sha256 = ?", sha256)
    return bytes(found[0][0]) if found else None


def _together(record: Database, bare: Collection[Version]) -> Merged:
    """Return what versions of one file make together, reading no more contents than that needs."""
    last = heads(bare)
    contents = {version.sha256 for version in bare if version.id in last}
    if len(contents) <= 1:
        return Merged(_content(record, next(iter(contents), "")), last)
    return merged([replace(version, content=_content(record, version.sha256)) for version in bare])


def add_versions(record: Database, new: Iterable[Version]) -> None:
    """Keep versions; one that is there already only gains an earlier instant."""
    with record.writing():
        for version in new:
            seen = version.seen.astimezone(UTC).isoformat()
            if version.content is not None:
                record.add("INSERT OR IGNORE INTO content VALUES (?, ?)", [(version.sha256, version.content)])
            parents = json.dumps(version.parents)
            row = (version.id, version.name, version.sha256, parents)
            record.add("INSERT OR IGNORE INTO file_version VALUES (?, ?, ?, ?)", [row])
            record.add(
                "INSERT OR IGNORE INTO file_seen VALUES (?, ?, ?)", [(version.id, version.device, seen)]
            )


def files_on(record: Database, at: datetime) -> dict[str, bytes]:
    """Return the text files as they were at an instant; before the first version, the first."""
    found = {}
    for name in NAMES:
        known = sorted(_bare(record, name), key=lambda version: version.stamp)
        content = _together(record, [v for v in known if v.seen <= at] or known[:1]).content
        if content is not None:
            found[name] = content
    return found


def unkept(record: Database, name: str, now: datetime) -> Version | None:
    """Return the version on disk that the record does not hold yet, or None.

    It was made from what this copy last had on disk, not from what a join has brought since.
    Its instant is the file's own, so that every copy that reads it dates it alike.
    """
    path = record.folder / name
    content = path.read_bytes() if path.is_file() else None
    known = _bare(record, name)
    before = record.all("SELECT sha256, heads FROM on_disk WHERE name = ?", name)
    expected = before[0][0] if before else ""
    if digest(content) == expected or digest(content) == digest(_together(record, known).content):
        return None
    made = datetime.fromtimestamp(path.stat().st_mtime, UTC) if content is not None else now
    parents = json.loads(before[0][1]) if before else heads(known)
    return version_of(name, content, parents, min(made, now.astimezone(UTC)), record.device)


def keep_files(record: Database, now: datetime) -> tuple[str, ...]:
    """Keep what changed in the text files, and write what an interrupted join still owes.

    Returns
    -------
    tuple of str
        The files that were written.
    """
    for name in NAMES:
        with record.writing():
            version = unkept(record, name, now)
            if version is not None:
                add_versions(record, [version])
                record.add(_ON_DISK, [(name, version.sha256, json.dumps([version.id]))])
    with record.writing():
        return tuple(name for name in NAMES if _put_right(record, name))


def _put_right(record: Database, name: str) -> bool:
    """Make the file what all its versions make together; return whether it was written."""
    path = record.folder / name
    known = _bare(record, name)
    row = (name, digest(path.read_bytes() if path.is_file() else None), json.dumps(heads(known)))
    if row in record.all("SELECT name, sha256, heads FROM on_disk WHERE name = ?", name):
        return False
    now = _together(record, known)
    changed = row[1] != digest(now.content)
    if changed and now.content is not None:
        write_whole(path, now.content)
    elif changed:
        path.unlink()
    if known:
        record.add(_ON_DISK, [(name, digest(now.content), json.dumps(now.heads))])
    return changed


def clashes(record: Database) -> tuple[Clash, ...]:
    """Return what two copies changed differently in a text file and nobody has settled since."""
    return tuple(clash for name in NAMES for clash in _together(record, _bare(record, name)).clashes)


def known_contents(record: Database) -> set[tuple[str, str]]:
    """Return the (name, SHA-256) of every version."""
    return {(version.name, version.sha256) for version in _bare(record)}
