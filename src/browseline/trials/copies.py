"""Copies of a farm folder to try things on: the live folder is only ever read, byte by byte."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from browseline.errors import BrokenRecord
from browseline.farm.read import FARM, MAP, TERRAIN, WEATHER
from browseline.record.store import FILE

TEXTS = (FARM, MAP, WEATHER, TERRAIN)
LOG = f"{FILE}-wal"
FOLDERS = ("tables", "designs")
TRIES = 20
"""So often a record that is being written is copied anew before that is told."""
Stamp = tuple[tuple[int, int], ...]


def copy_farm(folder: Path, to: Path) -> Path:
    """Copy what the pages of a farm are made from; photos and issued papers stay where they are.

    The record is copied with its log as bytes, never opened: opening could move entries from the log into the
    file. A copy during which somebody wrote is made again.

    Raises
    ------
    BrokenRecord
        If the record never stood still.
    """
    to.mkdir(parents=True, exist_ok=True)
    for name in TEXTS:
        if (folder / name).is_file():
            shutil.copyfile(folder / name, to / name)
    for name in FOLDERS:
        if (folder / name).is_dir():
            shutil.copytree(folder / name, to / name, dirs_exist_ok=True)
    for _ in range(TRIES):
        before = _stamp(folder)
        for name in (FILE, LOG):
            (to / name).unlink(missing_ok=True)
            if (folder / name).is_file():
                shutil.copyfile(folder / name, to / name)
        if _stamp(folder) == before:
            return to
    raise BrokenRecord(str(folder / FILE))


def _stamp(folder: Path) -> Stamp:
    found = []
    for name in (FILE, LOG):
        path = folder / name
        stat = path.stat() if path.is_file() else None
        found.append((stat.st_mtime_ns, stat.st_size) if stat is not None else (0, 0))
    return tuple(found)


@contextmanager
def scratch(folder: Path) -> Iterator[Path]:
    """Give a folder with a copy of a farm, named as the farm's own; it is gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="browseline-try-") as beside:
        yield copy_farm(folder, Path(beside) / (folder.resolve().name or "farm"))
