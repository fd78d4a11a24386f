"""The relief sheet: what somebody new to the farm needs for a few days, on one side of paper.

It holds stock, moves, shut gates, water, fence, telephones, what to look for and three "if" lines.
It never holds money, treatments or coordinates. What nobody typed is printed as a blank.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from browseline.chain.barred import left_out
from browseline.chain.closures import closed_words, closures
from browseline.chain.lent import herd_ahead
from browseline.chain.look import Picture
from browseline.chain.out_now import out_now
from browseline.chain.parts import place_of
from browseline.farm.needs import water
from browseline.farm.records import Paddock
from browseline.limits import bites
from browseline.limits.shut import until_words
from browseline.moves.form import Season
from browseline.papers.dangers import cautions, ifs, ifs_short, look_for, not_alone
from browseline.papers.names import (
    BLANK,
    beasts_words,
    clock_words,
    day_of_week,
    guarded,
    mob_name,
    phone_of,
    place_words,
    products,
    span_words,
)
from browseline.papers.planned import Move, moves
from browseline.papers.relief_hay import HayLine, hay_lines
from browseline.papers.sketch import Sketch, sketch
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import day_words, list_words, say

SCHEMA = "browseline/relief/1"
PHONES = ("owner", "vet", "neighbour")


@dataclass(frozen=True, slots=True)
class Phone:
    """Whom to ring: what for, who, number; blank where nobody typed it."""

    role: str
    name: str
    phone: str


@dataclass(frozen=True, slots=True)
class MobLine:
    """One mob now: where, how many by class and in all, and what is in the pen."""

    name: str
    place: str
    heads: str
    total: int
    pens: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MoveLine:
    """One move: day, time, which mob, from where to where; ``note`` is a warning."""

    day: str
    time: str
    mob: str
    start: str
    to: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShutLine:
    """Paddocks that stay shut, together and each: why, and until when; ``mob`` is the one kept out, or "".

    ``here`` names who stands there now, ``since`` the day from which on it is shut, ``days`` from when and
    until when where nobody stands; each may be empty.
    """

    paddocks: str
    because: str
    places: tuple[str, ...]
    mob: str = ""
    here: str = ""
    since: str = ""
    days: str = ""


@dataclass(frozen=True, slots=True)
class ReliefSheet:
    """Everything on the sheet, in words. ``days`` are the weekdays to count on.

    ``left_out`` tells planned moves of these days that cannot be made; empty where there is none.
    """

    schema: str
    units: str
    made: datetime
    farm: str
    span: str
    span_short: str
    printed: str
    place: str
    emergency: str
    phones: tuple[Phone, ...]
    alarms: tuple[str, ...]
    days: tuple[str, ...]
    mobs: tuple[MobLine, ...]
    moves: tuple[MoveLine, ...]
    shut: tuple[ShutLine, ...]
    water: tuple[tuple[str, str], ...]
    energiser: tuple[str, ...]
    wire: str
    fence_text: str
    care_text: str
    look_for: tuple[str, ...]
    cautions: tuple[str, ...]
    ifs: tuple[tuple[str, str], ...]
    ifs_short: tuple[tuple[str, str], ...]
    sketch: Sketch | None
    here: tuple[str, ...]
    ahead: tuple[str, ...]
    hay: tuple[HayLine, ...] = ()
    left_out: str = ""


def relief(picture: Picture, days: int = 3, season: Season | None = None) -> ReliefSheet:
    """Return the relief sheet of today and the ``days`` days after.

    Parameters
    ----------
    season : Season, optional
        The plan in force. Planned moves in the record come before it.
    """
    scene, farm = picture.scene, picture.farm
    last = picture.today + timedelta(days=days)
    until = scene.midnight(last + timedelta(days=1))
    ahead = moves(picture, until, season)
    never = products(picture)
    shut_now = {s.paddock for s in picture.state.shut}
    name, number = phone_of(picture, "emergency")
    emergency = number or name or say("papers.relief.emergency")
    places = _places(picture, ahead)
    return ReliefSheet(
        SCHEMA,
        farm.units,
        picture.now,
        farm.name,
        span_words(picture.today, last),
        say("papers.text.span", first=day_words(picture.today), last=day_words(last)),
        say(
            "papers.relief.printed", day=day_words(picture.today), time=clock_words(scene.local(picture.now))
        ),
        guarded(farm.place_words) or BLANK,
        emergency,
        tuple(_phones(picture)),
        (*_alarms(picture), *(guarded(says, never) for day, says in herd_ahead(picture) if day <= last)),
        tuple(day_of_week(picture.today + timedelta(days=d)) for d in range(days + 1)),
        tuple(_mob(picture, mob) for mob in scene.mobs),
        tuple(_move(picture, move, shut_now) for move in ahead),
        tuple(_shut(picture, last, never)),
        tuple(_water(picture, place, ahead) for place in places),
        tuple(_energiser(picture)),
        say("papers.caution.C6"),
        _fence_text(picture),
        say("papers.text.care", animals=", ".join(not_alone(picture)) or say("papers.relief.any_male")),
        tuple(look_for(picture)),
        tuple(cautions(picture)),
        ifs(emergency),
        ifs_short(emergency),
        sketch(farm, shut_now | {one.paddock for one in closures(picture, picture.today)}),
        tuple(m.place for m in scene.mobs if m.place),
        tuple(dict.fromkeys(m.to for m in ahead if m.to)),
        hay_lines(picture, last),
        guarded(left_out(picture, until), never),
    )


def _phones(picture: Picture) -> Iterator[Phone]:
    for role in PHONES:
        name, number = phone_of(picture, role)
        words = say(f"papers.relief.phone.{role}")
        yield Phone(
            words, "" if name.casefold() in (role, words.casefold()) else guarded(name), number or BLANK
        )


def _alarms(picture: Picture) -> Iterator[str]:
    for alarm in picture.state.alarms:
        yield guarded(say(f"record.alarm.{alarm.code}", **dict(alarm.facts)), products(picture))
    for asked in picture.state.questions:
        if asked.code == "count":
            facts = {key: guarded(text) for key, text in asked.facts if key in ("mob", "counted", "expected")}
            yield say("papers.relief.count_open", **facts)


def _mob(picture: Picture, mob: MobState) -> MobLine:
    pens = tuple(
        say("papers.relief.pen", animal=guarded(pen.animal), heads=beasts_words(pen.lines))
        for pen in mob.pens
    )
    return MobLine(mob.name, place_words(picture.scene, mob.place), beasts_words(mob.lines), mob.head, pens)


def _move(picture: Picture, move: Move, shut_now: set[str]) -> MoveLine:
    scene = picture.scene
    local = scene.local(move.at)
    day = say("dates.weekday", weekday=day_of_week(local.date()), day=day_words(local.date()))
    time = clock_words(local)
    note = ""
    if move.origin == "limit":
        time = say("papers.relief.by", time=time)
        key = "papers.relief.out_now" if _is_out_now(picture, move) else "papers.relief.proposed"
        note = say(key, limit=say(f"limits.{move.limit}.name"))
    elif move.at < picture.now:
        note = say("papers.relief.overdue")
    if move.to in shut_now:
        note = say("papers.relief.to_shut", paddock=place_words(scene, move.to))
    to = place_words(scene, move.to) if move.to is not None else BLANK
    return MoveLine(day, time, mob_name(scene, move.mob), place_words(scene, move.start), to, note)


def _is_out_now(picture: Picture, move: Move) -> bool:
    """Return whether a hard limit asks for a move by now."""
    mob = next((mob for mob in picture.scene.mobs if mob.id == move.mob), None)
    return mob is not None and move.at <= picture.now and out_now(picture, mob) is not None


def _places(picture: Picture, ahead: tuple[Move, ...]) -> tuple[str, ...]:
    """Return the places of the sheet: where mobs are, then where they go."""
    found = [m.place for m in picture.scene.mobs if m.place] + [m.to for m in ahead if m.to]
    return tuple(dict.fromkeys(found))


# ---------------------------------------------------------------- shut


def _shut(picture: Picture, last: date, never: tuple[str, ...]) -> Iterator[ShutLine]:
    """Yield what somebody shut, what the calendar closes by the last day, and what one mob keeps out of."""
    scene = picture.scene
    for shut in picture.state.shut:
        because = say(
            "papers.relief.shut", reason=guarded(shut.because, never), until=guarded(until_words(shut))
        )
        yield _shut_line((place_words(scene, shut.paddock),), because)
    for line in _closed(picture, last):
        yield replace(line, because=guarded(line.because, never))
    for mob in scene.mobs:
        told = picture.farm.mob(mob.id)
        if told is not None and told.keep_out:
            names = [place_words(scene, p) for p in told.keep_out]
            yield _shut_line(names, say("papers.relief.keep_out", mob=mob.name), mob.name)


def _shut_line(names: Sequence[str], because: str, mob: str = "") -> ShutLine:
    return ShutLine(list_words(names), because, tuple(names), mob)


def _closed(picture: Picture, last: date) -> Iterator[ShutLine]:
    """Yield what the calendar closes to all mobs by the last day, paddocks of the same reason together.

    Hay that lies is told among hay (``relief_hay.hay_lines``). Where a mob stands, the line says so; where
    none does it says from when and until when, for stock may be ordered in before or after.
    """
    together: dict[tuple[str, str], list[str]] = {}
    for one in closures(picture, last):
        because, here = _why_closed(picture, one.paddock, one.limit), _who_stands(picture, one.paddock)
        name = place_words(picture.scene, one.paddock)
        if here:
            yield _stood_on(picture, name, because, here, one.first)
        else:
            together.setdefault((because, closed_words(picture, one, last)), []).append(name)
    for (because, days), names in together.items():
        told = say("papers.relief.shut_days", days=days, because=because) if days else because
        yield replace(_shut_line(names, told), days=days)


def _why_closed(picture: Picture, paddock: str, limit: str) -> str:
    found = (b for b in bites(picture.scene, picture.scene.mobs[0].id, paddock) if b.limit == limit)
    return next((b.because for b in found), say(f"limits.{limit}.name"))


def _who_stands(picture: Picture, paddock: str) -> str:
    return list_words(mob.name for mob in picture.scene.mobs if mob.place == paddock)


def _stood_on(picture: Picture, name: str, because: str, here: str, first: date) -> ShutLine:
    """Return the line of a paddock that shuts though animals stand there: who, from when on, and why."""
    since = day_words(first) if first > picture.today else ""
    key = "papers.relief.shut_from" if since else "papers.relief.shut_here"
    told = say(key, mob=here, day=since, because=because)
    return ShutLine(name, told, (name,), here=here, since=since)


# ---------------------------------------------------------------- water, fence


def _water(picture: Picture, place: str, ahead: tuple[Move, ...]) -> tuple[str, str]:
    paddock = place_of(picture.farm, place)
    name = place_words(picture.scene, place)
    if paddock is None:
        return name, BLANK
    coming = {move.mob for move in ahead if move.to == place}
    there = [mob for mob in picture.scene.mobs if mob.place == place or mob.id in coming]
    return name, _water_words(picture, paddock, there)


def _water_words(picture: Picture, paddock: Paddock, mobs: list[MobState]) -> str:
    """Return what holds water in a paddock; where it is carried, how much the thirstiest mob there drinks."""
    if paddock.water == "unknown":
        return BLANK
    holds = f" {paddock.trough.text}" if paddock.trough is not None else ""
    said = say(f"papers.relief.water.{paddock.water}", holds=holds)
    drunk = max((d for m in mobs if (d := _drunk(m)) is not None), default=None)
    if paddock.water in ("trailer", "none") and drunk is not None:
        said = say("papers.relief.drinks", said=said, volume=shown(drunk, "volume", picture.farm.units))
    return said


def _drunk(mob: MobState) -> float | None:
    found = water(mob.lines, True, mob.id)
    return found.value if found is not None else None


def _energiser(picture: Picture) -> Iterator[str]:
    energiser = picture.farm.energiser
    yield say("papers.relief.energiser", where=guarded(energiser.where) or BLANK)
    reading = energiser.reading.text if energiser.reading is not None else BLANK
    day = day_words(energiser.read_on) if energiser.read_on is not None else BLANK
    yield say("papers.relief.reading", reading=reading, day=day)


def _fence_text(picture: Picture) -> str:
    energiser = picture.farm.energiser
    reading = energiser.reading.text if energiser.reading is not None else BLANK
    return say("papers.text.fence", where=guarded(energiser.where) or BLANK, reading=reading)
