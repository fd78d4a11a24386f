"""A small invented farm built from records, for tests that need a scene and no files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from browseline import sward
from browseline.chain import Picture, picture
from browseline.events import When
from browseline.farm.records import Farm, Line, Mob, Normals, Paddock, Place, Rules, Sward
from browseline.limits import Scene
from browseline.record.state import HeadLine, HeightRead, MobState, State, Stay
from browseline.units import parse

T = TypeVar("T")
ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 5, 6, 7, tzinfo=ZONE)
ACRE_HA = 0.40468564224
# The invented climate of forage.md 4: 41 N, 200 m, no real place.
NORMALS = Normals(
    (2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4),
    (-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5),
    (70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70),
    (11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11),
    0.25,
)


def typed_sward() -> Sward:
    """Return a sward with every number typed: 275 lb/ac/in, leave 4 in, 70 % eaten."""
    return Sward(
        "home",
        "mixed_cool",
        parse("275 lb/ac/in", "herbage density"),
        None,
        parse("4 in", "length"),
        parse("8 in", "length"),
        parse("70 %", "share"),
    )


def farm(
    acres: Sequence[float] = (3.0, 3.0, 3.0),
    *,
    weather: bool = False,
    own: Sward | None = None,
    rules: Rules | None = None,
    **more: Any,
) -> Farm:
    """Return a farm of paddocks "1", "2", … with one mob of 60 ewes in milk."""
    paddocks = tuple(Paddock(str(n + 1), str(n + 1), a * ACRE_HA, sward="home") for n, a in enumerate(acres))
    line = Line("sheep", "ewe lactating twins", 60, parse("150 lb", "mass"), parse("4.4 lb/d", "intake"))
    made = Farm(
        "Small",
        "America/New_York",
        "acres",
        date(2026, 5, 1),
        paddocks,
        (Mob("ewes", "Ewes", (line,)),),
        Place(41.0, -45.0, 200.0) if weather else None,
        swards=(own or typed_sward(),),
        rules=rules or Rules(),
        normals=NORMALS if weather else None,
    )
    return replace(made, **more)


def ewes(place: str | None = "1", since: datetime = NOW, head: int = 60) -> MobState:
    """Return the mob of ewes in milk, standing somewhere since an instant."""
    line = HeadLine(
        "sheep", "ewe lactating twins", head, parse("150 lb", "mass"), parse("4.4 lb/d", "intake")
    )
    return MobState("ewes", "Ewes", (line,), place, When.at(since))


def heights(paddocks: dict[str, str], at: datetime = NOW) -> tuple[HeightRead, ...]:
    """Return one height a paddock."""
    return tuple(
        HeightRead(p, When.at(at), parse(h, "length"), event=f"height-{p}") for p, h in paddocks.items()
    )


def state(
    farm_: Farm, at: datetime = NOW, height: str = "8 in", mob: MobState | None = None, **more: Any
) -> State:
    """Return a state: the mob in paddock 1 since NOW, every paddock at one height."""
    mob = mob or ewes()
    stays = (Stay(mob.id, mob.place, mob.since),) if mob.place and mob.since else ()
    made = State(at, (mob,), stays, heights=heights({p.id: height for p in farm_.paddocks}))
    return replace(made, **more)


def look(
    farm_: Farm, state_: State, now: datetime = NOW, *, members: int = 31, horizon_d: int = 40
) -> Picture:
    """Return the whole chain's picture of a farm and a state."""
    return picture(Path("small"), farm_, (), state_, now, members, horizon_d)


def scene(farm_: Farm | None = None, state_: State | None = None, now: datetime = NOW, **more: int) -> Scene:
    """Return the scene that limits look at."""
    farm_ = farm_ or farm()
    return look(farm_, state_ or state(farm_), now, **more).scene


def some(value: T | None) -> T:
    """Return what must be there; a test that finds nothing has failed."""
    assert value is not None
    return value


def days_after(start: datetime, end: datetime) -> float:
    """Return the days between two instants. [d]"""
    return (end - start) / timedelta(days=1)


__all__ = [
    "NOW",
    "ZONE",
    "days_after",
    "ewes",
    "farm",
    "heights",
    "look",
    "scene",
    "some",
    "state",
    "sward",
    "typed_sward",
]
