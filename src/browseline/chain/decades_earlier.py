"""Projections that were kept: each as it was on its day, whatever was measured after it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from browseline import __version__
from browseline.chain.decades_bands import Band
from browseline.chain.keep import edition
from browseline.chain.look import Picture
from browseline.events import Event, Issued, When, new_id
from browseline.record.store import Record

PAPER, SCHEMA = "decades", "browseline/decades-kept/1"
SERIES = ("years", "low", "likely", "high")


@dataclass(frozen=True)
class KeptBand:
    """A band of a kept projection: low, likely and high by year, in ``unit``."""

    key: str
    name: str
    unit: str
    years: tuple[int, ...]
    low: tuple[float, ...]
    likely: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class Earlier:
    """A projection that was kept: when it was made, by which program and tables, and its bands."""

    id: str
    made: datetime
    measured_to: int
    program: str
    tables: str
    first_year: int
    years: tuple[int, ...]
    bands: tuple[KeptBand, ...]


def earlier_of(events: Iterable[Event], now: datetime) -> tuple[Earlier, ...]:
    """Return the projections kept up to an instant, the oldest first, from their own words alone."""
    found = [
        (event, event.body) for event in events
        if isinstance(event.body, Issued) and event.body.paper == PAPER and event.order[0] <= now
    ]  # fmt: skip
    return tuple(_read(event, body) for event, body in sorted(found, key=lambda pair: pair[0].order))


def _read(event: Event, body: Issued) -> Earlier:
    held: dict[str, Any] = json.loads(body.context)
    bands = tuple(
        KeptBand(b["key"], b["name"], b["unit"], *(tuple(b[part]) for part in SERIES)) for b in held["bands"]
    )
    years = tuple(held["years"])
    return Earlier(
        str(event.id), event.order[0], held["measured_to"], body.program, body.tables, years[0], years, bands
    )


def kept_words(years: Sequence[int], measured_to: int, members: int, bands: Sequence[Band]) -> str:
    """Return a projection as the text that is kept of it."""
    held = {
        "schema": SCHEMA, "years": list(years), "measured_to": measured_to, "members": members,
        "bands": [
            {"key": b.key, "name": b.name, "unit": b.unit, "years": list(b.drawn)}
            | {end: list(getattr(b, end)) for end in SERIES[1:]}
            for b in bands
        ],
    }  # fmt: skip
    return json.dumps(held, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def keep_projection(picture: Picture, context: str, who: str) -> Event:
    """Append a projection to the record, so that later ones are drawn over it."""
    body = Issued(PAPER, context, __version__, edition())
    at = picture.scene.local(picture.now)
    with Record.open(picture.folder) as record:
        event = Event(new_id(picture.now), record.device, who, When.at(at), at, "farm", body)
        record.append([event])
    return event
