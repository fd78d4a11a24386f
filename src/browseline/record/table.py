"""Events as a table and as JSON lines, out and in again unchanged.

A cell that a spreadsheet would take for a formula is given an apostrophe in front, and loses it
on reading; a cell that begins with an apostrophe of its own is given another.
"""

from __future__ import annotations

import base64
import csv
import io
import json
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any

from browseline.errors import BadInput, finding
from browseline.events import Event
from browseline.record.history import NAMES, Version, version_of
from browseline.record.rows import Raw, canonical, raw_of, read
from browseline.record.schema import EVENT_COLUMNS

_CONTENTS: dict[str, Callable[[str], bytes | None]] = {
    "none": lambda text: None,
    "utf-8": str.encode,
    "base64": base64.b64decode,
}
_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "'")


def to_csv(raws: Iterable[Mapping[str, Any]]) -> str:
    """Return events in their stored form as a table (RFC 4180), one a row."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(EVENT_COLUMNS)
    writer.writerows([_cell(raw[name]) for name in EVENT_COLUMNS] for raw in raws)
    return out.getvalue()


def from_csv(text: str, where: str = "events.csv") -> list[Raw]:
    """Return the events of a table in their stored form.

    Raises
    ------
    BadInput
        With a finding a row that is no event; nothing is read then.
    """
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    names = next(rows, [])
    missing = [name for name in EVENT_COLUMNS if name not in names]
    if missing:
        raise BadInput([finding("record.columns", where, missing=", ".join(missing))])
    raws, findings = [], []
    for row in rows:
        try:
            raws.append(_raw(dict(zip(names, map(unguarded, row), strict=True))))
        except ValueError:
            findings.append(finding("record.bad_row", f"{where}:{rows.line_num}"))
    if findings:
        raise BadInput(findings)
    return raws


def events_csv(events: Iterable[Event]) -> str:
    """Return events as a table."""
    return to_csv(map(raw_of, events))


def csv_events(text: str) -> list[Event]:
    """Return the events of a table, old versions brought up to date."""
    return [read(raw) for raw in from_csv(text)]


def to_lines(raws: Iterable[Mapping[str, Any]]) -> str:
    """Return events in their stored form as JSON, one a line."""
    return "".join(f"{canonical(raw)}\n" for raw in raws)


def from_lines(text: str, where: str = "events.jsonl") -> list[Raw]:
    """Return the events of JSON lines in their stored form.

    Raises
    ------
    BadInput
        With a finding a line that is no JSON object.
    """
    return [found for _, found in _objects(text, where)]


def versions_lines(versions: Iterable[Version]) -> str:
    """Return the versions of the text files as JSON, one a line: text as text, other bytes as base64."""
    return "".join(f"{canonical(_version_raw(version))}\n" for version in versions)


def lines_versions(text: str, where: str = "versions.jsonl") -> list[Version]:
    """Return the versions that JSON lines hold.

    Raises
    ------
    BadInput
        With a finding a line that is no version.
    """
    found, findings = [], []
    for number, raw in _objects(text, where):
        try:
            found.append(_version(raw))
        except (KeyError, ValueError, TypeError):
            findings.append(finding("record.bad_row", f"{where}:{number}"))
    if findings:
        raise BadInput(findings)
    return found


def _objects(text: str, where: str) -> list[tuple[int, Raw]]:
    found, findings = [], []
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            raw = json.loads(line)
        except (ValueError, RecursionError):
            raw = None
        if isinstance(raw, dict):
            found.append((number, raw))
        else:
            findings.append(finding("record.bad_row", f"{where}:{number}"))
    if findings:
        raise BadInput(findings)
    return found


def _cell(item: Any) -> str:
    if isinstance(item, bool):
        return "yes" if item else ""
    text = canonical(item) if isinstance(item, Mapping) else str(item)
    return guarded(text)


def guarded(text: str) -> str:
    """Return a cell's text, with an apostrophe before what a spreadsheet would take for a formula."""
    return f"'{text}" if text.startswith(_RISKY) else text


def unguarded(cell: str) -> str:
    """Return a cell's text without the apostrophe that ``guarded`` puts before it."""
    return cell.removeprefix("'")


def _raw(cells: Mapping[str, str]) -> Raw:
    raw: Raw = {name: cells[name] for name in EVENT_COLUMNS}
    if raw["planned"] not in ("yes", ""):
        raise ValueError(raw["planned"])
    raw["version"], raw["planned"] = int(raw["version"]), raw["planned"] == "yes"
    raw["value"] = json.loads(raw["value"])
    if not isinstance(raw["value"], dict):
        raise ValueError(raw["value"])
    return raw


def _version_raw(version: Version) -> Raw:
    raw = {"id": version.id, "name": version.name, "parents": list(version.parents), "device": version.device,
           "seen": version.seen.isoformat(), "encoding": "none", "content": ""}  # fmt: skip
    if version.content is not None:
        try:
            raw |= {"encoding": "utf-8", "content": version.content.decode()}
        except UnicodeDecodeError:
            raw |= {"encoding": "base64", "content": base64.b64encode(version.content).decode()}
    return raw


def _version(raw: Raw) -> Version:
    seen = datetime.fromisoformat(raw["seen"])
    content = _CONTENTS[raw["encoding"]](raw["content"])
    made = version_of(raw["name"], content, raw["parents"], seen, str(raw["device"]))
    if made.id != raw["id"] or made.name not in NAMES or seen.utcoffset() is None:
        raise ValueError(raw["id"])
    return made
