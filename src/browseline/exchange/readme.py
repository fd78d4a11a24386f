"""The README of a pack: what each file and each column is, so that it can be read without this program."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields

from browseline.events import KINDS
from browseline.record.schema import EVENT_COLUMNS
from browseline.words import known, say

WIDTH = 78
_FILES = (
    "farm.toml",
    "map.geojson",
    "weather.csv",
    "terrain.tif",
    "events.csv",
    "events.jsonl",
    "versions.jsonl",
)


def readme(names: Sequence[str], kinds: Iterable[str]) -> str:
    """Return the text that explains a pack with these files and kinds of event."""
    lines = [say("pack.title"), "", *_wrap(say("pack.about")), ""]
    lines += [say("pack.files"), ""]
    for name in _FILES:
        if name in names:
            lines += _entry(name, say(f"pack.file.{name}"))
    for within in ("files", "tables"):
        if any(name.startswith(f"{within}/") for name in names):
            lines += _entry(f"{within}/", say(f"pack.file.{within}"))
    lines += _entry("SHA256SUMS.txt", say("pack.file.sums"))
    lines += ["", say("pack.columns"), ""]
    for column in EVENT_COLUMNS:
        lines += _entry(column, say(f"pack.column.{column}"))
    lines += ["", say("pack.kinds"), ""]
    for kind in kinds:
        lines += _entry(kind, _kind(kind))
    lines += ["", *_wrap(say("pack.units")), ""]
    return "\n".join(lines)


def _kind(kind: str) -> str:
    """Return what a kind is called and which values it may hold."""
    words = say(f"record.kind.{kind}") if known(f"record.kind.{kind}") else say("pack.unknown_kind")
    held = ", ".join(f.name for f in fields(KINDS[kind])) if kind in KINDS else ""  # type: ignore[arg-type]
    return say("pack.kind", words=words, values=held) if held else words


def _entry(name: str, text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(f"{name}  {text}", WIDTH, initial_indent="  ", subsequent_indent="      ")


def _wrap(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, WIDTH)
