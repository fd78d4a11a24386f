"""A zip file read without trust: no path out of the folder, no bomb, no double, no lock."""

from __future__ import annotations

import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from browseline.errors import BadInput, Finding, finding

MEGABYTE = 1_000_000
MOST_FILES = 100_000
MOST_BYTES = 2_000 * MEGABYTE
MOST_WHOLE = 8_000 * MEGABYTE
MOST_RATIO = 400
SMALL = MEGABYTE
CHUNK = 1 << 20
_BAD_NAME = re.compile(r"(^|/)\.\.?(/|$)|^/|\\|:|//|[\x00-\x1f]|^$")


def members(pack: zipfile.ZipFile, where: str) -> dict[str, zipfile.ZipInfo]:
    """Return the files of a pack by name, once everything about them is harmless.

    Raises
    ------
    BadInput
        With every finding.
    """
    infos = [info for info in pack.infolist() if not info.is_dir()]
    if len(infos) > MOST_FILES:
        raise BadInput([finding("pack.too_many", where, files=len(infos), most=MOST_FILES)])
    found: list[Finding] = []
    seen: dict[str, zipfile.ZipInfo] = {}
    folded: set[str] = set()
    for info in infos:
        if info.filename.casefold() in folded:
            found.append(finding("pack.double", where, name=info.filename))
        folded.add(info.filename.casefold())
        seen[info.filename] = info
        found += _wrong(info, where)
    if sum(info.file_size for info in infos) > MOST_WHOLE:
        found.append(finding("pack.too_big", where, name=where, most=MOST_WHOLE // MEGABYTE))
    if found:
        raise BadInput(found)
    return seen


def _wrong(info: zipfile.ZipInfo, where: str) -> Iterator[Finding]:
    name = info.filename
    kind = stat.S_IFMT(info.external_attr >> 16)
    if _BAD_NAME.search(name) or kind not in (0, stat.S_IFREG):
        yield finding("pack.path", where, name=name)
    if info.flag_bits & 1:
        yield finding("pack.locked", where, name=name)
    if info.file_size > MOST_BYTES:
        yield finding("pack.too_big", where, name=name, most=MOST_BYTES // MEGABYTE)
    if info.file_size > SMALL and info.file_size > MOST_RATIO * max(info.compress_size, 1):
        yield finding("pack.squeezed", where, name=name, ratio=info.file_size // max(info.compress_size, 1))


def write_out(pack: zipfile.ZipFile, info: zipfile.ZipInfo, path: Path, where: str) -> None:
    """Write one file of a pack, never more bytes than it says it has.

    Raises
    ------
    BadInput
        If it is damaged.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("wb") as out:
            for chunk in _chunks(pack, info):
                out.write(chunk)
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError) as wrong:
        raise BadInput([finding("pack.broken", where, name=info.filename)]) from wrong


def _chunks(pack: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    """Yield the content of a file; one that is longer than it says is damaged."""
    left = info.file_size
    with pack.open(info) as source:
        while chunk := source.read(CHUNK):
            left -= len(chunk)
            if left < 0:
                raise zipfile.BadZipFile(info.filename)
            yield chunk
