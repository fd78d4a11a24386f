"""Events as rows: verbatim in and out, whatever their kind and version."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from browseline.events import BadEvent, Event, Unknown, from_json, to_json
from browseline.record.schema import EVENT_COLUMNS

Raw = dict[str, Any]
FIRST_YEAR, LAST_YEAR = 1000, 9000
LAST_VERSION = 1_000_000
_NEVER = LAST_VERSION + 1


def canonical(raw: Mapping[str, Any]) -> str:
    """Return JSON that is the same for the same content."""
    return json.dumps(raw, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def raw_of(event: Event) -> Raw:
    """Return an event as the record keeps it.

    Raises
    ------
    ValueError
        If an instant has no offset or lies beyond what every calendar step can hold.
    """
    for instant in (event.observed.start, event.observed.end, event.recorded):
        if instant.utcoffset() is None:
            raise ValueError(f"no offset: {instant.isoformat()}")
        if not FIRST_YEAR <= instant.year <= LAST_YEAR:
            raise ValueError(f"no year of a farm: {instant.isoformat()}")
    return to_json(event)


def to_row(raw: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return the columns of an event and, last, the hash of its content."""
    whole = {name: raw[name] for name in EVENT_COLUMNS}
    digest = hashlib.sha256(canonical(whole).encode()).hexdigest()
    return (*[_column(raw[name]) for name in EVENT_COLUMNS], digest)


def _column(item: Any) -> Any:
    return canonical(item) if isinstance(item, Mapping) else int(item) if isinstance(item, bool) else item


def of_row(row: tuple[Any, ...]) -> Raw:
    """Return an event as JSON holds it from its columns."""
    raw: Raw = dict(zip(EVENT_COLUMNS, row, strict=True))
    raw["planned"], raw["value"] = bool(raw["planned"]), json.loads(raw["value"])
    return raw


def checked(raw: Mapping[str, Any]) -> Raw:
    """Return a foreign event in the record's own form; what it says is not judged, only its envelope.

    Raises
    ------
    BadEvent
        If the envelope lacks a part or cannot be read, or the value is no JSON object.
    """
    kind = str(raw.get("kind", ""))
    try:
        event = read(raw)
        whole = {**raw_of(event), "version": int(raw["version"]), "value": dict(raw["value"])}
        json.dumps(whole, allow_nan=False, ensure_ascii=False).encode()
    except BadEvent:
        raise
    except (ValueError, TypeError, OverflowError, RecursionError) as wrong:
        raise BadEvent(kind, "envelope", "number", str(wrong)) from None
    missing = [name for name in ("id", "kind") if not whole[name]]
    if missing:
        raise BadEvent(kind, missing[0], "missing")
    if not isinstance(raw["value"], Mapping):
        raise BadEvent(kind, "value", "number", str(raw["value"]))
    if not 0 < whole["version"] <= LAST_VERSION:
        raise BadEvent(kind, "version", "number", str(raw["version"]))
    return whole


def read(raw: Mapping[str, Any]) -> Event:
    """Return an event; a body that cannot be read is kept as an unknown one and never stops the rest.

    Raises
    ------
    BadEvent
        If the envelope cannot be read.
    """
    try:
        return _aware(from_json(raw))
    except BadEvent as wrong:
        if wrong.field in ("envelope", "id", "device", "who", "observed", "recorded", "version", "value"):
            raise
        event = _aware(from_json({**raw, "version": _NEVER}))
        kept = Unknown(
            event.kind, int(raw["version"]), json.dumps(raw["value"], sort_keys=True, ensure_ascii=False)
        )
        return replace(event, body=kept)


def _aware(event: Event) -> Event:
    if event.recorded.utcoffset() is None:
        raise BadEvent(event.kind, "recorded", "number", event.recorded.isoformat())
    return event
