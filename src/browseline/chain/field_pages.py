"""Pages for the field: heights to walk for, shut gates, ready dates, harvests, the record of a period."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from browseline.chain.gates import ShutPart, shut_parts, shut_rules
from browseline.chain.harvest import HarvestAdvice, every_harvest
from browseline.chain.look import Picture
from browseline.chain.period import Period, period
from browseline.chain.ready import ReadyRow, ready_dates
from browseline.farm.records import Paddock
from browseline.figures import Figure
from browseline.limits import Scene
from browseline.limits._places import Place, opens, places
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say


@dataclass(frozen=True, slots=True)
class WalkLine:
    """One paddock to walk: the height last read, and how high it stands now; None where never read. [cm]

    ``age_d`` are the days since it was read; ``mobs`` are who stands there now.
    """

    paddock: str
    name: str
    read: Figure | None
    now: Figure | None
    age_d: int | None
    mobs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WalkPage:
    """The page Walk: every paddock in the order of the farm, and which have gone longest unread."""

    schema: str
    farm: str
    paddocks: tuple[WalkLine, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShutPage:
    """The page Shut gates: what is shut now and why, and what the calendar will shut."""

    schema: str
    farm: str
    shut: tuple[ShutPart, ...]
    rules: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MobReady:
    """From when on each paddock is fit for one mob.

    ``states`` tell of each row in one word whether the mob may go there now: a paddock that is ready by its
    grass may be closed all the same.
    """

    id: str
    name: str
    rows: tuple[ReadyRow, ...]
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadyPage:
    """The page Ready dates, mob by mob."""

    schema: str
    farm: str
    mobs: tuple[MobReady, ...]
    sentences: tuple[str, ...]


def walk_page(picture: Picture) -> WalkPage:
    """Return every paddock with the height last read and how high it stands now."""
    lines = tuple(_walk(picture, paddock) for paddock in picture.farm.paddocks)
    told = tuple(_walk_words(picture, line) for line in lines) or (say("pages.walk.none"),)
    return WalkPage("browseline/walk/1", picture.farm.name, lines, told)


def _walk(picture: Picture, paddock: Paddock) -> WalkLine:
    scene = picture.scene
    i = scene.herbage.index(paddock.id)
    read, now = scene.herbage.heights[i], None
    if read is not None:
        now = replace(scene.herbage.height_now(i), about=paddock.name)
    mobs = tuple(mob.name for mob in scene.mobs if mob.place == paddock.id)
    age_d = read.age_d(picture.today) if read is not None else None
    return WalkLine(paddock.id, paddock.name, read, now, age_d, mobs)


def _walk_words(picture: Picture, line: WalkLine) -> str:
    if line.read is None or line.now is None:
        return say("pages.walk.never", paddock=line.name)
    units = picture.farm.units
    was, now = (linked(shown(f.value or 0.0, "length", units), f) for f in (line.read, line.now))
    days = linked(f"{line.age_d}", line.read)
    return say("pages.walk.read", paddock=line.name, was=was, now=now, days=days)


def shut_page(picture: Picture) -> ShutPage:
    """Return what is shut now and why, and what the calendar will shut."""
    shut, rules = shut_parts(picture), tuple(shut_rules(picture))
    told = [line for part in shut for line in _shut_words(part)]
    found = (*(told or [say("pages.shut.none")]), *rules)
    return ShutPage("browseline/shut/1", picture.farm.name, shut, rules, found)


def _shut_words(part: ShutPart) -> Iterator[str]:
    yield say("pages.shut.line", paddock=part.paddock, because=part.because, until=part.until)
    if part.days is not None:
        days = linked(f"{part.days.value:.0f}", part.days)
        yield say("pages.shut.since", paddock=part.paddock, days=days, who=part.who)


def ready_page(picture: Picture) -> ReadyPage:
    """Return from when on each paddock is fit for each mob, by every limit apart."""
    mobs = tuple(_mob_ready(picture.scene, mob) for mob in picture.scene.mobs)
    told = tuple(_ready_words(mobs)) or (say("pages.ready.none"),)
    return ReadyPage("browseline/ready/1", picture.farm.name, mobs, told)


def _mob_ready(scene: Scene, mob: MobState) -> MobReady:
    rows = ready_dates(scene, mob)
    found = {place.paddock: place for place in places(scene, mob, scene.now)}
    states = tuple(_may_go(scene, mob, found.get(row.paddock)) for row in rows)
    return MobReady(mob.id, mob.name, rows, states)


def _may_go(scene: Scene, mob: MobState, place: Place | None) -> str:
    """Return in a word whether a mob may go to a place now; what closes it is named, and until when."""
    if place is None:
        return say("pages.ready.state.kept")
    by = list_words(say(f"limits.{name}.name") for name in place.limits)
    if place.state != "closed" or not by:
        return say(f"pages.ready.state.{place.state}", limits=by)
    day = opens(scene, mob, place.paddock, scene.now)
    if day is None:
        return say("pages.ready.state.closed_by", limits=by)
    return say("pages.ready.state.closed_until", limits=by, day=day_words(day - timedelta(days=1)))


def _ready_words(mobs: tuple[MobReady, ...]) -> Iterator[str]:
    for mob in mobs:
        for row in mob.rows:
            yield say("pages.ready.line", mob=mob.name, paddock=row.name, words=row.words)


def harvest_page(picture: Picture) -> HarvestAdvice:
    """Return the harvests of all plantings that are picked: last grazing, what closes, the usual cautions."""
    return every_harvest(picture.scene)


def record_page(picture: Picture, first: date | None = None, last: date | None = None) -> Period:
    """Return the record of a period, ``last`` not included; by default this year up to today."""
    begins = first or date(picture.today.year, 1, 1)
    return period(picture, begins, last or picture.today + timedelta(days=1))
