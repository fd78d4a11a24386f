"""What the acceptance cases share: entries in the record, the look at a folder, the words of a page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import tomlkit

from browseline.chain import Picture, look
from browseline.events import Body, Event, Forecast, Walked, When
from browseline.record.store import Record
from browseline.units import Quantity, factor, parse

ACRES = (3, 3, 3, 3, 2, 2, 2, 3, 3, 2.5, 3.5, 4)
WALNUT_ROWS = ("5", "6", "7")
ZONE = ZoneInfo("America/New_York")
LB_KG = factor("lb", "kg")
P2_HEIGHTS = (4.2, 4.0, 5.0, 6.0, 6.0, 5.5, 5.0, 6.5, 6.0, 5.5, 4.5, 4.0)
EWE = {"kind": "sheep", "class": "ewes", "head": 60, "weight": "150 lb"}
LAMBS = {"kind": "sheep", "class": "lambs", "head": 96}
BALE = {"id": "barn", "bale_weight": "800 lb", "dry": "88 %", "feeding_loss": "15 %"}
_COUNT = count(1)


def at(text: str) -> datetime:
    """Return a local time of the farm: 2026-07-08 06:00."""
    return datetime.fromisoformat(text).replace(tzinfo=ZONE)


def quantity(text: str, dimension: str) -> Quantity:
    return parse(text, dimension)


def entry(when: str, subject: str, body: Body, *, until: str = "", planned: bool = False) -> Event:
    """Return an entry made when it was seen; ``until`` makes an interval of it."""
    start = at(when)
    end = at(until) if until else start
    recorded = end.astimezone(UTC) + timedelta(seconds=1)
    ident = f"018f0000-0000-7000-8000-{next(_COUNT):012d}"
    return Event(ident, "phone", "owner", When(start, end), recorded, subject, body, planned=planned)


def walked(when: str, inches: Sequence[float] | Mapping[int, float]) -> list[Event]:
    """Return heights of paddocks 1, 2, 3 …"""
    by_paddock = inches if isinstance(inches, Mapping) else dict(enumerate(inches, start=1))
    return [
        entry(when, str(paddock), Walked(quantity(f"{height} in", "length")))
        for paddock, height in by_paddock.items()
    ]


def grows(when: str, text: str, until: date) -> Event:
    """Return growth that somebody typed for the whole farm, by mass or by height."""
    if "in/d" in text:
        return entry(when, "farm", Forecast(until, height=quantity(text, "height growth")))
    return entry(when, "farm", Forecast(until, growth=quantity(text, "herbage growth")))


def seen(folder: Path, now: str, events: Iterable[Event] = ()) -> Picture:
    """Write entries into the record of a folder, then look at it through the whole chain."""
    with Record.open(folder, device="phone") as record:
        record.append(events)
    return look(folder, at(now))


def mob(*lines: Mapping[str, Any], place: str = "yard", since: str = "", **more: Any) -> dict[str, Any]:
    made = {"id": "ewes", "name": "Ewes", "at": place, "lines": [dict(line) for line in lines]} | more
    return made | ({"since": since} if since else {})


def farm_folder(
    folder: Path,
    *,
    as_of: date,
    mobs: Sequence[Mapping[str, Any]],
    harvest: Mapping[str, date] | None = None,
    sacrifice: Sequence[str] = (),
    **tables: Any,
) -> Path:
    """Write the farm of the cases: the shared inputs and what is given, nothing else.

    Parameters
    ----------
    harvest : mapping from paddock to date, optional
        First drop of the nuts that are sold this year.
    **tables
        ``hay``, ``rules``, ``promises`` as ``farm.toml`` has them.
    """
    drops = harvest or {}
    sward: dict[str, Any] = {
        "kind": "mixed_cool", "mass_per_height": "275 lb/ac/in", "leave_at": "4.0 in", "share_eaten": "70 %",
    }  # fmt: skip
    made: dict[str, Any] = {
        "schema": 1, "name": "Quern Bank Farm", "time_zone": ZONE.key, "units": "acres", "as_of": as_of,
        "rules": {"worm_stay": "4 d", "worm_rest": "35 d"} | tables.pop("rules", {}),
        "swards": {"pasture": sward},
        "paddocks": [
            {"id": str(n), "name": str(n), "deeded": f"{acres} ac", "water": "trough"}
            | ({"sacrifice": True} if str(n) in sacrifice else {})
            for n, acres in enumerate(ACRES, start=1)
        ],
        "mobs": list(mobs),
        "plantings": [_rows(place, drops) for place in WALNUT_ROWS] + [_hazel(drops), OAKS],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(tomlkit.dumps(made | tables), encoding="utf-8")
    return folder


OAKS = {
    "id": "oaks", "name": "the oak strip along 11 and 12", "species": "oak_swamp_white", "planted": 2014,
    "trees": 294,
    "harvested": False,
}  # fmt: skip


def _rows(place: str, drops: Mapping[str, date]) -> dict[str, Any]:
    rows = {"id": f"walnuts-{place}", "name": f"Walnuts in {place}", "species": "walnut_english",
            "paddock": place, "planted": 2020, "trees": 109, "spacing": "20 ft",
            "alley": "40 ft"}  # fmt: skip
    return rows | _dropped(place, drops)


def _hazel(drops: Mapping[str, date]) -> dict[str, Any]:
    rows = {"id": "hazel", "name": "Hazel in 10", "species": "hazel_hybrid", "paddock": "10"}
    return rows | _dropped("10", drops)


def _dropped(place: str, drops: Mapping[str, date]) -> dict[str, Any]:
    return {"first_drop": drops[place]} if place in drops else {"harvested": False}


def page(thing: object) -> str:
    """Return every word on a page, one sentence a line."""
    return "\n".join(_words(thing))


def _words(thing: object) -> Iterable[str]:
    if isinstance(thing, str):
        yield thing
    elif is_dataclass(thing) and not isinstance(thing, type):
        for field in fields(thing):
            yield from _words(getattr(thing, field.name))
    elif isinstance(thing, (tuple, list)):
        for part in thing:
            yield from _words(part)


def lb(kg: float | None) -> float:
    """Return pounds."""
    assert kg is not None
    return kg / LB_KG
