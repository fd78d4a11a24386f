"""A whole farm in one zip of open formats, and back into an empty folder with the same pages.

The pack holds the text files as they are, every event as a table and as JSON lines, every version
of the text files, the photos and papers, and a README that tells what each file and column means.
"""

from __future__ import annotations

import hashlib
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from browseline.errors import BadInput, Finding, finding
from browseline.exchange.readme import readme
from browseline.exchange.safe_zip import members, write_out
from browseline.farm.disk import write_whole
from browseline.record.history import NAMES
from browseline.record.join import Joined, join, read_copy
from browseline.record.rows import Raw, canonical
from browseline.record.store import Record
from browseline.record.table import to_csv, to_lines, versions_lines

STAMP = (1980, 1, 1, 0, 0, 0)
README, SUMS = "README.txt", "SHA256SUMS.txt"
EVENTS_CSV, EVENTS_LINES, VERSIONS = "events.csv", "events.jsonl", "versions.jsonl"
OTHER = ("terrain.tif",)
FOLDERS = ("files", "tables")
_MADE = (README, SUMS, EVENTS_CSV, EVENTS_LINES, VERSIONS)


@dataclass(frozen=True, slots=True)
class Packed:
    """What a pack holds: its path, how many files and events."""

    path: Path
    files: int
    events: int


def pack(folder: Path, out: Path, now: datetime) -> Packed:
    """Write a farm folder into a zip; the same farm gives the same bytes.

    Parameters
    ----------
    folder : Path
        The farm.
    out : Path
        The pack to write; whatever stood there before stays until the new one is whole.
    now : datetime
        When this is; a change of the text files that the record has not kept yet is kept first.

    Raises
    ------
    BrokenRecord
        If the record is damaged.
    """
    with Record.open(folder) as record:
        record.keep_files(now)
        raws = sorted(record.rows(), key=lambda raw: (str(raw["id"]), canonical(raw)))
        versions = sorted(record.versions(), key=lambda version: version.id)
    contents = dict(_own_files(folder))
    contents |= {
        EVENTS_CSV: to_csv(raws).encode(),
        EVENTS_LINES: to_lines(raws).encode(),
        VERSIONS: versions_lines(versions).encode(),
    }
    contents[README] = readme(tuple(sorted(contents)), _kinds(raws)).encode()
    contents[SUMS] = "".join(
        f"{hashlib.sha256(contents[name]).hexdigest()}  {name}\n" for name in sorted(contents)
    ).encode()
    write_whole(out, _zipped(contents))
    return Packed(out, len(contents), len(raws))


def _own_files(folder: Path) -> Iterator[tuple[str, bytes]]:
    for name in (*NAMES, *OTHER):
        if (folder / name).is_file():
            yield name, (folder / name).read_bytes()
    for within in FOLDERS:
        for path in sorted((folder / within).rglob("*")):
            if path.is_file() and not path.is_symlink() and not path.name.startswith("."):
                yield path.relative_to(folder).as_posix(), path.read_bytes()


def _kinds(raws: list[Raw]) -> tuple[str, ...]:
    return tuple(sorted({str(raw["kind"]) for raw in raws}))


def _zipped(contents: Mapping[str, bytes]) -> bytes:
    """Return a zip whose bytes hang on the contents alone: sorted names, one date, no machine's marks."""
    import io

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as out:
        for name in sorted(contents):
            info = zipfile.ZipInfo(name, STAMP)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 3
            info.external_attr = 0o644 << 16
            out.writestr(info, contents[name], compresslevel=9)
    return held.getvalue()


def unpack(pack_file: Path, folder: Path, now: datetime) -> Joined:
    """Make a farm folder from a pack; its pages are those of the farm that was packed.

    Raises
    ------
    BadInput
        If the folder is not empty, or the file is no pack or not to be trusted; nothing is written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput([finding("pack.folder", str(folder))])
    with tempfile.TemporaryDirectory() as beside:
        taken, left_out = _take_out(pack_file, Path(beside))
        copy = read_copy(Path(beside), now)
        folder.mkdir(parents=True, exist_ok=True)
        joined = join(folder, copy, now)
        for name in taken:
            if name not in _MADE:
                _put(Path(beside) / name, folder / name)
    with Record.open(folder) as record:
        record.keep_files(now)
    return replace(joined, findings=(*joined.findings, *left_out))


def _take_out(pack_file: Path, into: Path) -> tuple[list[str], list[Finding]]:
    """Write the files of a farm that a pack holds into a folder.

    Returns
    -------
    tuple
        Their names, and a note for each file that is none of a farm's.
    """
    where = str(pack_file)
    try:
        with zipfile.ZipFile(pack_file) as held:
            infos = members(held, where)
            ours = [name for name in sorted(infos) if _is_ours(name)]
            if "farm.toml" not in ours or EVENTS_LINES not in ours:
                raise BadInput([finding("pack.no_farm", where)])
            for name in ours:
                write_out(held, infos[name], into / name, where)
    except (zipfile.BadZipFile, OSError) as wrong:
        raise BadInput([finding("pack.not_a_zip", where)]) from wrong
    foreign = sorted(set(infos) - set(ours))
    return ours, [finding("pack.foreign", where, level="note", name=name) for name in foreign]


def _is_ours(name: str) -> bool:
    return name in (*NAMES, *OTHER, *_MADE) or (name.partition("/")[0] in FOLDERS and "/" in name)


def _put(source: Path, target: Path) -> None:
    content = source.read_bytes()
    if target.is_file() and target.read_bytes() == content:
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    write_whole(target, content)


__all__ = ["Packed", "pack", "unpack"]
