"""The file under the record: opened so that what is confirmed is on the disk, or said why not."""

from __future__ import annotations

import sqlite3
from pathlib import Path, PurePosixPath

from browseline.errors import Finding, finding

BUSY_MS = 10_000
SHARED = frozenset({
    "9p", "afs", "ceph", "cifs", "fuse.glusterfs", "fuse.rclone", "fuse.s3fs", "fuse.sshfs", "gfs2",
    "glusterfs", "lustre", "ncpfs", "nfs", "nfs4", "prl_fs", "smb3", "smbfs", "vboxsf", "virtiofs",
})  # fmt: skip
"""Kinds of file system that other machines may write to: a write-ahead log needs one machine's memory."""


def connect(path: Path, vfs: str = "") -> sqlite3.Connection:
    """Return a connection that waits its turn and checks foreign keys; transactions are begun by hand."""
    where = f"{path.resolve().as_uri()}?vfs={vfs}" if vfs else path.resolve().as_uri()
    connection = sqlite3.connect(where, uri=True, isolation_level=None, check_same_thread=False)
    connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    connection.execute("PRAGMA recursive_triggers=ON")  # so that REPLACE, too, meets the triggers
    connection.execute("PRAGMA foreign_keys=ON")
    return connection


def make_durable(connection: sqlite3.Connection, path: Path) -> tuple[Finding, ...]:
    """Set how commits reach the disk: a write-ahead log, synced at each commit.

    Returns
    -------
    tuple of Finding
        One that names the folder where a write-ahead log cannot work. There the older rollback
        journal is used, which is as durable and slower.
    """
    kind = file_system(path.parent)
    mode = "delete" if kind in SHARED else "wal"
    (now,) = connection.execute(f"PRAGMA journal_mode={mode}").fetchone()
    connection.execute(f"PRAGMA synchronous={'FULL' if now == 'wal' else 'EXTRA'}")
    if now == "wal":
        return ()
    return (finding("record.no_wal", str(path.parent), level="note", kind=kind or "?", journal=now),)


def file_system(folder: Path, mounts: str | None = None) -> str:
    """Return the kind of file system a folder lies on, or "" where this machine does not tell.

    Parameters
    ----------
    mounts : str, optional
        The table of mounts, ``device point kind …`` a line; by default this machine's own.
    """
    if mounts is None:
        table = Path("/proc/self/mounts")
        mounts = table.read_text(encoding="utf-8", errors="replace") if table.is_file() else ""
    here = PurePosixPath(folder.resolve().as_posix())
    best, kind = -1, ""
    for line in mounts.splitlines():
        words = line.split()
        point = PurePosixPath(words[1].replace("\\040", " ")) if len(words) > 2 else None
        if point is not None and here.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), words[2]
    return kind
