"""A small invented farm made of records, for tests of the ledger that need no folder."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from browseline import sward
from browseline.events import Body, Event, Walked, When
from browseline.farm.records import Farm, HayLot, Line, Mob, Paddock, Promise, Stage, Sward
from browseline.limits import Scene
from browseline.record.fold import fold
from browseline.units import Quantity, parse

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 7, 8, 6, tzinfo=ZONE)
TODAY = NOW.date()
_COUNT = count(1)


def quantity(text: str, dimension: str) -> Quantity:
    return parse(text, dimension)


def lot(bales: int = 10, ident: str = "barn", **more: Any) -> HayLot:
    """Bales of 100 kg, 80 % dry, a tenth lost in the store and a tenth in feeding: 64.8 kg eaten."""
    given = {
        "dry": quantity("80 %", "share"),
        "store_loss": quantity("10 %", "share"),
        "feeding_loss": quantity("10 %", "share"),
        "price": quantity("$20", "money"),
    }
    return HayLot(ident, quantity(f"{bales} bales", "count"), quantity("100 kg", "mass"), **(given | more))


def ewes(
    head: int = 50, intake: str | None = "2 kg/d", stages: tuple[Stage, ...] = (), klass: str = "ewes"
) -> Line:
    eats = quantity(intake, "intake") if intake else None
    return Line("sheep", klass, head, None, eats, stages=stages)


def stage(day: date, intake: str) -> Stage:
    return Stage(day, "later", quantity(intake, "intake"))


def farm(**more: Any) -> Farm:
    """Three paddocks of 1, 2 and 3 ha, a mob in the first; 100 kg/ha/cm, leave 5 cm, start 10, all eaten."""
    own = Sward(
        "s", "mixed_cool", quantity("100 kg/ha/cm", "herbage density"), leave_at=quantity("5 cm", "length"),
        start_at=quantity("10 cm", "length"), share_eaten=quantity("100 %", "share"),
    )  # fmt: skip
    given: dict[str, Any] = {
        "paddocks": tuple(Paddock(str(n), f"P{n}", float(n)) for n in (1, 2, 3)),
        "mobs": (mob(),),
        "swards": (own,),
        "hay": (lot(),),
    }
    return Farm("Small", "America/New_York", "hectares", TODAY, **(given | more))


def mob(*lines: Line, at: str = "1", **more: Any) -> Mob:
    return Mob("ewes", "Ewes", lines or (ewes(),), at=at, since=f"{TODAY} 06:00", **more)


def until(last: date, first: date = TODAY) -> Promise:
    return Promise("feed", "feed", "feed must last", first, last)


def event(subject: str, body: Body, at: datetime = NOW, *, planned: bool = False) -> Event:
    return Event(f"{next(_COUNT):08d}", "d", "owner", When.at(at), at, subject, body, planned=planned)


def heights(*cm: float) -> list[Event]:
    return [event(str(n), Walked(quantity(f"{height} cm", "length"))) for n, height in enumerate(cm, start=1)]


def scene(of: Farm, events: Iterable[Event] = (), *, growing: Any = None, members: int = 5) -> Scene:
    """Return what the chain would make of a farm, without weather unless it is given."""
    state = fold(of, events, NOW)
    herbage = sward.grow(of, state, NOW, growing, horizon_d=30, members=members)
    days = tuple(TODAY + timedelta(days=d) for d in range(30))
    return Scene(of, state, herbage, NOW, days, state.living(), tuple(p.id for p in of.paddocks))


def with_lines(of: Farm, lines: Sequence[Line]) -> Farm:
    return replace(of, mobs=(replace(of.mobs[0], lines=tuple(lines)),))
