"""A farm for the tests of papers, put together from records: one mob, twelve paddocks, map or none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from itertools import count
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from browseline.chain import Picture, picture
from browseline.events import Body, Event, Moved, Shut, Walked, When
from browseline.farm.records import Contact, Energiser, Farm, Line, Mob, Paddock, Shape, Sward
from browseline.record.fold import fold
from browseline.units import factor, parse

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 5, 8, 6, tzinfo=ZONE)
ACRES = (3, 3, 3, 3, 2, 2, 2, 3, 3, 2.5, 3.5, 4)
LATITUDE, LONGITUDE = 41.0, -45.0
_IDS = count(1)


def at(day: int, hour: int, month: int = 5) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=ZONE)


def entry(body: Body, subject: str, when: datetime, *, planned: bool = False) -> Event:
    ident = f"018f0000-0000-7000-8000-{next(_IDS):012d}"
    return Event(ident, "phone", "owner", When.at(when), when, subject, body, planned=planned)


def box(ident: str, kind: str, name: str, east: float, north: float, wide: float, deep: float) -> Shape:
    """Return a rectangle, in steps of a ten-thousandth of a degree from the farm's corner."""
    corners = [(east, north), (east + wide, north), (east + wide, north + deep), (east, north + deep)]
    ring = tuple((LONGITUDE + x * 1e-4, LATITUDE + y * 1e-4) for x, y in [*corners, corners[0]])
    return Shape(ident, kind, name, "Polygon", (ring,))


def point(ident: str, kind: str, name: str, east: float, north: float) -> Shape:
    return Shape(ident, kind, name, "Point", (), ((LONGITUDE + east * 1e-4, LATITUDE + north * 1e-4),))


def shapes() -> tuple[Shape, ...]:
    """Return twelve paddocks in two rows of six with a lane between, gates, water, energiser, a cherry."""
    out = []
    for n in range(12):
        column, below = n % 6, n // 6
        out.append(box(str(n + 1), "paddock", "", 12.0 * column, -12.0 if below else 1.0, 12, 11))
        out.append(point(f"g{n}", "gate", "", 12.0 * column + 1, -1.0 if below else 1.0))
    out.append(point("e", "energiser", "", 0.0, 0.0))
    out.append(point("w", "water", "", 30.0, 2.0))
    out.append(point("c", "hazard", "Wild cherry in the hedge", 18.0, 11.5))
    return tuple(out)


def farm(**changes: Any) -> Farm:
    """Return the case farm of the relief weekend; its numbers are no defaults."""
    paddocks = [
        Paddock(str(n), str(n), a * factor("ac", "ha"), sward="s", water="trough")
        for n, a in enumerate(ACRES, 1)
    ]
    paddocks[8] = replace(paddocks[8], water="trailer", trough=parse("150 gal", "volume"))
    lines = (
        Line("sheep", "ewe lactating twins", 60, parse("150 lb", "mass"), parse("4.4 lb/d", "intake")),
        Line("sheep", "lamb", 96, None, parse("1.0 lb/d", "intake")),
    )
    sward = Sward(
        "s", "mixed_cool", parse("275 lb/ac/in", "herbage density"), None, parse("4 in", "length"), None,
        parse("70 %", "share"),
    )  # fmt: skip
    told = Farm(
        "Quern Bank Farm",
        "America/New_York",
        "acres",
        date(2026, 5, 5),
        tuple(paddocks),
        (Mob("ewes", "Ewes", lines, "6", "2026-05-05 07:00"),),
        place_words="Left at the white gate after the second bridge",
        swards=(sward,),
        contacts=(
            Contact("vet", "Large-animal practice", "555 0111"),
            Contact("neighbour", "Next farm up", "555 0122"),
            Contact("owner", "", "555 0133"),
            Contact("emergency", "", "911"),
        ),
        energiser=Energiser("inside the barn door, left", parse("6.2 kV", "voltage"), date(2026, 5, 7)),
    )
    return replace(told, **changes)


def entries() -> list[Event]:
    """Return heights, a shut gate, and the two moves of the weekend."""
    walked = [entry(Walked(parse("8 in", "length")), str(n), at(6, 8)) for n in range(1, 13)]
    return [
        *walked,
        entry(Shut("cherry limb down", "leaves gone"), "4", at(6, 9)),
        entry(Moved("8"), "ewes", at(9, 8), planned=True),
        entry(Moved("9"), "ewes", at(11, 8), planned=True),
    ]


def seen(
    told: Farm | None = None, events: Iterable[Event] | None = None, folder: Path = Path("unused")
) -> Picture:
    told = told or farm()
    found = tuple(entries() if events is None else events)
    return picture(folder, told, found, fold(told, found, NOW), NOW, 5, 30)
