"""Answers kept by content, in a folder that may be deleted at any time.

The folder is the user's own cache, never the farm: a farm that somebody sent cannot plant an answer.
What is kept are plain arrays and JSON, nothing that runs when it is read.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile

import numpy as np

from browseline import __version__, tables, words
from browseline.errors import Finding
from browseline.farm.records import Normals

if TYPE_CHECKING:
    from browseline.weather import Weather

MOST_KEPT = 40
HOME = Path(__file__).parents[1]
APART = ("web", "cli", "papers", "exchange", "locale", "data")
"""Rooms that only show answers, and those whose editions are taken otherwise."""
ARRAYS = (
    "tmin_c", "tmax_c", "rain_mm", "rs_mj_m2_d", "et0_mm", "et0_hargreaves_mm", "et0_light_mm",
    "day_length_h", "source",
)  # fmt: skip


def folder() -> Path:
    """Return where answers are kept: the user's cache, or ``BROWSELINE_CACHE``."""
    own = os.environ.get("BROWSELINE_CACHE")
    if own:
        return Path(own)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "browseline"


def content_key(*parts: object) -> str:
    """Return a name for an answer: the same parts, program, tables and sentences give the same name."""
    digest = hashlib.blake2b(digest_size=20)
    for part in (__version__, code_edition(HOME), edition(), words.edition("findings"), *parts):
        digest.update(repr(part).encode())
    return digest.hexdigest()


@cache
def code_edition(home: Path) -> str:
    """Return the edition of the code that works answers out: of every file its name, size and time.

    Another file, or one that was written again, makes every kept answer another's. Files are asked once a
    process, as they are loaded once.
    """
    digest = hashlib.blake2b(digest_size=8)
    for room in sorted(
        {home, *(path for path in home.iterdir() if path.is_dir() and path.name not in APART)}
    ):
        files = room.rglob("*.py") if room != home else room.glob("*.py")
        for path in sorted(files):
            found = path.stat()
            digest.update(f"{path.relative_to(home)} {found.st_size} {found.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def edition() -> str:
    """Return the edition of the tables: a hash of every row's file."""
    from importlib import resources

    digest = hashlib.blake2b(digest_size=8)
    for path in sorted((p for p in (resources.files("browseline") / "data").iterdir()), key=lambda p: p.name):
        if path.name.endswith(".csv"):
            digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def kept_weather(key: str, make: Callable[[], Weather | None]) -> Weather | None:
    """Return the weather of a key from the cache, or make and keep it."""
    path = folder() / f"weather-{key}.npz"
    found = _read_weather(path)
    if found is not None:
        return found
    made = make()
    if made is not None:
        _write_weather(path, made)
    return made


def _read_weather(path: Path) -> Weather | None:
    """Return kept weather; anything unreadable counts as not kept."""
    from browseline.weather import Weather

    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as held:
            arrays: dict[str, Any] = {name: held[name] for name in ARRAYS}
            days = held["days"].astype("datetime64[D]")
            rest = json.loads(str(held["rest"]))
    except (OSError, ValueError, KeyError, BadZipFile, EOFError):
        return None
    rows = tuple(tables.row("weather", *pair) for pair in rest["rows"])
    typed: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in rest["normals"].items()}
    findings = tuple(Finding(**item) for item in rest["findings"])
    return Weather(
        days=days,
        warmup_days=rest["warmup_days"],
        normals=Normals(**typed),
        rows=rows,
        findings=findings,
        **arrays,
    )


def _write_weather(path: Path, made: Weather) -> None:
    """Keep weather whole or not at all; a cache that cannot be written is no error."""
    rest = json.dumps(
        {
            "rows": [(row.key, row.applies_to) for row in made.rows],
            "normals": asdict(made.normals),
            "findings": [asdict(item) for item in made.findings],
            "warmup_days": made.warmup_days,
        }
    )
    arrays: dict[str, Any] = {name: getattr(made, name) for name in ARRAYS}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
            np.savez(part, days=made.days.astype(np.int64), rest=np.array(rest), **arrays)
        Path(part.name).replace(path)
        _forget_oldest(path.parent, "weather", MOST_KEPT)
    except OSError:
        return


def kept_arrays(
    kind: str, key: str, make: Callable[[], dict[str, Any] | None], most: int = MOST_KEPT
) -> dict[str, Any] | None:
    """Return named arrays of a key from the cache, or make and keep them; None is made anew each time.

    Parameters
    ----------
    kind : str
        What they are: the first word of the file.
    key : str
        As ``content_key`` gives it.
    make : callable
        Gives arrays of numbers or of texts by name.
    most : int
        So many of the kind are kept, the newest.
    """
    path = folder() / f"{kind}-{key}.npz"
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as held:
            return {name: held[name] for name in held.files}
    except (OSError, ValueError, KeyError, BadZipFile, EOFError):
        made = make()
    if made is not None:
        _write_arrays(path, made, kind, most)
    return made


def kept_text(kind: str, key: str, make: Callable[[], str], most: int = MOST_KEPT) -> str:
    """Return a text of a key from the cache, or make and keep it.

    Parameters
    ----------
    kind, key, most
        As in ``kept_arrays``.
    make : callable
    """

    def arrays() -> dict[str, Any]:
        return {"text": np.frombuffer(make().encode(), dtype=np.uint8)}

    held = kept_arrays(kind, key, arrays, most)
    return bytes(held["text"]).decode() if held is not None else make()


def _write_arrays(path: Path, arrays: dict[str, Any], kind: str, most: int) -> None:
    """Keep arrays whole or not at all; a cache that cannot be written is no error."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
            np.savez(part, **arrays)
        Path(part.name).replace(path)
        _forget_oldest(path.parent, kind, most)
    except OSError:
        return


def _forget_oldest(where: Path, kind: str, most: int) -> None:
    held = sorted(where.glob(f"{kind}-*.npz"), key=lambda p: p.stat().st_mtime, reverse=True)
    for old in held[most:]:
        old.unlink(missing_ok=True)
