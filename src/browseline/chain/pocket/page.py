"""What a phone carries: where everything stands, and the table of limits.

There is no money, treatment or place on the globe in it, whoever carries it; for relief what somebody typed
is blanked of them as well.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from browseline.chain.blanked import guarded
from browseline.chain.gates import shut_parts, shut_rules
from browseline.chain.last_chance import stretches
from browseline.chain.look import Picture
from browseline.chain.named import heads_words
from browseline.chain.next_place import next_place
from browseline.chain.plan_next import plan_next
from browseline.chain.pocket.table import LimitTable, limit_table
from browseline.chain.today import Today, today
from browseline.events import KINDS
from browseline.limits._places import Place, places
from browseline.record.state import AWAY, PEN, YARD, MobState
from browseline.record.told import tell
from browseline.units import CHOSEN, System, factor, shown
from browseline.words import say

SCHEMA = "browseline/pocket/1"
TABLE = 1
"""Version of the table's form: a page that does not know it keeps the table it has."""
NEWS = "browseline/pocket-news/1"
Guard = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class PocketPaddock:
    """One paddock: what it is called, how high it stands in words, and why it is shut; "" where it is open.

    ``plantings`` are ids and names of what is planted there.
    """

    id: str
    name: str
    height: str
    shut: str
    plantings: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PocketPlace:
    """A paddock as a place to go to: its place among the paddocks, how it stands, and from when it is fit."""

    paddock: int
    state: str
    fit_at: datetime | None


@dataclass(frozen=True, slots=True)
class PocketMob:
    """One mob: where it is, how many, its place to go next, and every place in the order of readiness.

    ``plan`` says where the plan in force sends it next, "" where none does; ``plan_same`` that the limits
    alone say the same place, so that they need no line of their own.
    """

    id: str
    name: str
    heads: str
    total: int
    place: str
    since: datetime | None
    next: str
    because: str
    places: tuple[PocketPlace, ...]
    plan: str = ""
    plan_same: bool = False


@dataclass(frozen=True, slots=True)
class Pocket:
    """What a phone carries.

    Parameters
    ----------
    table_version : int
        ``TABLE``.
    events : int
        How many entries of the record are in it.
    kinds : mapping
        The version of every kind of entry that this program reads.
    units_cm : mapping
        Units in which heights are typed. [cm]
    quiet_until : datetime or None
        Until when nothing is due, if nothing is due in 48 hours and nothing is open.
    still : tuple of (datetime, datetime)
        Begin and end of each stretch of days on which nobody can move animals: a hard limit that bites in one
        asks for a move before it.
    """

    schema: str
    program: str
    table_version: int
    events: int
    kinds: dict[str, int]
    made: datetime
    farm: str
    zone: str
    role: str
    who: str
    units_cm: dict[str, float]
    paddocks: tuple[PocketPaddock, ...]
    yards: tuple[tuple[str, str], ...]
    mobs: tuple[PocketMob, ...]
    alarms: tuple[str, ...]
    asked: tuple[str, ...]
    rules: tuple[str, ...]
    can_wait: tuple[str, ...]
    quiet_until: datetime | None
    still: tuple[tuple[datetime, datetime], ...]
    limits: LimitTable

    @property
    def edition(self) -> str:
        """Return what is another for every other table: its form, entries, units, when it was made."""
        return f"{self.table_version} {self.events} {' '.join(self.units_cm)} {self.made.isoformat()}"


def lengths(system: System) -> tuple[str, ...]:
    """Return the units of a height that a phone offers, that of its person first."""
    return tuple(dict.fromkeys((CHOSEN[system]["length"], "in", "cm")))


def products_of(picture: Picture) -> tuple[str, ...]:
    """Return the products that animals were treated with."""
    return tuple(held.product for held in picture.state.withdrawals)


def pocket(
    picture: Picture,
    role: str,
    who: str,
    program: str,
    *,
    whole: bool = False,
    never: tuple[str, ...] = (),
) -> Pocket:
    """Return what a phone of a role carries, of a farm as it is in a picture.

    Parameters
    ----------
    role, who : str
        Whose phone it is; who stands in the entries that it writes.
    program : str
        Version of the program.
    whole : bool
        Whether that person reads everything that was typed; else money, products of treatments and
        coordinates are blanked in it.
    never : tuple of str
        Products to blank, where they have left the picture already.
    """
    guard = _guard(picture, whole, never)
    page = today(picture)
    zone = picture.farm.time_zone
    units_cm = {name: factor(name, "cm") for name in lengths(picture.farm.units)}
    return Pocket(
        SCHEMA, program, TABLE, len(picture.events), {name: kind.version for name, kind in KINDS.items()},
        picture.now, picture.farm.name, zone, role, who, units_cm,
        _paddocks(picture, guard), tuple((p, say(f"pocket.place.{p}")) for p in (YARD, PEN, AWAY)),
        tuple(_mob(picture, mob, guard) for mob in picture.scene.mobs),
        tuple(guard(tell(alarm, zone)) for alarm in picture.state.alarms),
        (*(guard(tell(q, zone)) for q in picture.state.questions),
         *(guard(tell(d, zone)) for d in picture.state.disagreements)),
        tuple(shut_rules(picture)), page.can_wait, _quiet_until(page), stretches(picture.scene),
        guarded_table(picture, guard),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class News:
    """How many entries the record holds, by which a phone knows that its table is old; and what is wrong."""

    schema: str
    events: int
    alarms: tuple[str, ...]


def news_of(picture: Picture, *, whole: bool = False) -> News:
    """Return what a phone asks for every few seconds; ``whole`` as in ``pocket``."""
    guard, zone = _guard(picture, whole), picture.farm.time_zone
    alarms = tuple(guard(tell(alarm, zone)) for alarm in picture.state.alarms)
    return News(NEWS, len(picture.events), alarms)


def guarded_table(picture: Picture, guard: Guard) -> LimitTable:
    """Return the table of limits with every text guarded."""
    table: LimitTable = picture.scene.once("pocket table", lambda: limit_table(picture))
    return replace(table, texts=tuple(guard(text) for text in table.texts))


def _guard(picture: Picture, whole: bool, never: tuple[str, ...] = ()) -> Guard:
    """Return what blanks a text for whoever does not see everything."""
    if whole:
        return str
    held = (*products_of(picture), *never)
    return lambda text: guarded(text, held)


def _paddocks(picture: Picture, guard: Guard) -> tuple[PocketPaddock, ...]:
    scene, out = picture.scene, []
    shut = {part.paddock: part for part in shut_parts(picture)}
    for i, paddock in enumerate(picture.farm.paddocks):
        height = ""
        if scene.herbage.read[i]:
            height = shown(scene.herbage.height_now(i).value or 0.0, "length", picture.farm.units)
        part = shut.get(paddock.name)
        why = say("pocket.shut.line", because=guard(part.because), until=guard(part.until)) if part else ""
        plantings = tuple((p.id, p.name) for p in picture.farm.plantings if p.paddock == paddock.id)
        out.append(PocketPaddock(paddock.id, paddock.name, height, why, plantings))
    return tuple(out)


_RANK = {"fit": 0, "waits": 1, "behind": 2, "unread": 2, "taken": 3, "closed": 4}


def _mob(picture: Picture, mob: MobState, guard: Guard) -> PocketMob:
    scene = picture.scene
    found = next_place(scene, mob)
    planned = plan_next(picture, mob, found)
    first, because = (found.paddock, guard(found.because)) if found is not None else ("", "")
    order = sorted(places(scene, mob, scene.now), key=lambda place: _place_rank(place, first))
    ways = tuple(PocketPlace(scene.paddocks.index(p.paddock), p.state, p.fit_at) for p in order)
    return PocketMob(
        mob.id, mob.name, heads_words(mob), mob.head, mob.place or "",
        mob.since.end if mob.since is not None else None,
        "" if found is not None and found.stays else first, because, ways,
        planned.says if planned is not None else "", planned is not None and planned.same,
    )  # fmt: skip


def _place_rank(place: Place, first: str) -> tuple[bool, int, float]:
    late = place.fit_at.timestamp() if place.fit_at is not None else 0.0
    return (place.paddock != first, _RANK[place.state], late)


def _quiet_until(page: Today) -> datetime | None:
    if not page.quiet:
        return None
    return min(line.due for mob in page.mobs for line in mob.lines if line.due is not None)
