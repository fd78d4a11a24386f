"""Files put in place whole: after any crash a file holds the old or the new content, never half of one."""

from __future__ import annotations

import os
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Put a file in place and on disk.

    Raises
    ------
    OSError
        If the folder cannot be written; the old file then stands.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    with beside.open("wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable, where the machine has a way to."""
    if os.name != "posix":  # pragma: no cover - folders cannot be opened there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
