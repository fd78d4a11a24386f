"""Moves and shut dates as an iCalendar file (RFC 5545).

An event keeps its UID when the plan changes: a move is known by its mob and by which stay of that
mob it begins, a shut date by its planting and year. So a calendar that reads the file again moves
what it has and adds nothing twice; a move of an earlier plan that has none in its stead is called
off. Times are in UTC; a shut date is a day of the farm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

from browseline.chain.barred import left_out, shut_by
from browseline.chain.look import Picture
from browseline.events import Event, Moved
from browseline.limits.harvest import WARN_D, ShutDate, shut_dates
from browseline.moves.form import Season
from browseline.papers.names import BLANK, guarded, mob_name, place_words
from browseline.papers.planned import Move, moves
from browseline.words import day_words, say

LENGTH = timedelta(minutes=30)
FAR = timedelta(days=366)
FOREVER = datetime.max.replace(tzinfo=UTC)


def ics(picture: Picture, season: Season | None = None) -> bytes:
    """Return the calendar of moves ahead and of shut dates, each with its warnings 14, 7, 3 d before.

    Planned moves that cannot be made are left out, and a note of today says which.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//browseline//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", say("papers.calendar.name", farm=guarded(picture.farm.name)))
    farm = sha256(f"{picture.farm.name}\n{picture.farm.as_of}".encode()).hexdigest()[:16]
    order = dict[str, int]()
    for move in moves(picture, picture.now + FAR, season):
        order[move.mob] = order.get(move.mob, _stays(picture, move.mob, picture.now)) + 1
        calendar.add_component(_move(picture, move, f"move-{move.mob}-{order[move.mob]}@{farm}.browseline"))
    for mob, number, event in _called_off(picture, order):
        calendar.add_component(_off(picture, mob, event, f"move-{mob}-{number}@{farm}.browseline"))
    told = left_out(picture)
    if told:
        calendar.add_component(_again(picture, guarded(told), f"left-out@{farm}.browseline"))
    for shut in shut_dates(picture.scene):
        if shut.last_grazing >= picture.today:
            name = f"shut-{shut.planting.id}-{shut.first_drop.year}"
            calendar.add_component(_shut(picture, shut, f"{name}@{farm}.browseline"))
    return bytes(calendar.to_ical())


def _stays(picture: Picture, mob: str, by: datetime) -> int:
    """Return how many stays of a mob had begun by a time."""
    own = (stay for stay in picture.state.stays if stay.mob == mob and not stay.planned)
    return sum(1 for stay in own if stay.begin.start <= by)


def _called_off(picture: Picture, last: Mapping[str, int]) -> Iterator[tuple[str, int, Event]]:
    """Yield mob, number and planned move of every move ahead that an earlier plan told of and none tells now.

    A plan told its moves in order of time, numbered on from the stays that had begun when it was asked.
    """
    ends: dict[str, datetime] = {}
    for event in picture.events:
        if event.supersedes:
            ends[event.supersedes] = min(ends.get(event.supersedes, event.recorded), event.recorded)
    typed = [event for event in picture.events if event.planned and isinstance(event.body, Moved)]
    for mob in sorted({event.subject for event in typed}):
        own = sorted((e for e in typed if e.subject == mob), key=lambda e: e.observed.start)
        beyond = last.get(mob, _stays(picture, mob, picture.now))
        for number, event in sorted(_told(picture, mob, own, ends).items()):
            if number > beyond and event.observed.start >= picture.now:
                yield mob, number, event


def _told(picture: Picture, mob: str, own: Sequence[Event], ends: Mapping[str, datetime]) -> dict[int, Event]:
    """Return the planned move that was told last under each number of a mob, whenever it was asked."""
    told: dict[int, Event] = {}
    begun = {stay.begin.start for stay in picture.state.stays if stay.mob == mob and not stay.planned}
    for at in sorted(begun | {event.recorded for event in own}):
        stood = [e for e in own if e.recorded <= at < ends.get(e.id, FOREVER) and e.observed.start >= at]
        told.update(enumerate(stood, _stays(picture, mob, at) + 1))
    return told


def _off(picture: Picture, mob: str, event: Event, uid: str) -> Any:
    """Return a move that an earlier plan told of, called off."""
    to = place_words(picture.scene, event.body.to if isinstance(event.body, Moved) else None)
    out = _event(picture, uid, say("papers.calendar.off", mob=mob_name(picture.scene, mob), to=to))
    begin = event.observed.start.astimezone(UTC).replace(microsecond=0)
    out.add("dtstart", begin)
    out.add("dtend", begin + LENGTH)
    out.add("status", "CANCELLED")
    return out


def _event(picture: Picture, uid: str, summary: str) -> Any:
    from icalendar import Event as Entry

    event = Entry()
    event.add("uid", uid)
    event.add("dtstamp", picture.now.astimezone(UTC))
    event.add("sequence", int(picture.now.timestamp() // 60))
    event.add("summary", summary)
    return event


def _move(picture: Picture, move: Move, uid: str) -> Any:
    scene = picture.scene
    to = place_words(scene, move.to) if move.to is not None else BLANK
    names = {"mob": mob_name(scene, move.mob), "start": place_words(scene, move.start), "to": to}
    mob = scene.state.mob(move.mob)
    if mob in scene.mobs and move.to is not None and "shut" in shut_by(scene, mob, move.to, move.at):
        names["to"] = say("papers.calendar.to_shut", to=to)
    if move.origin == "limit":
        summary = say("papers.calendar.by", limit=say(f"limits.{move.limit}.name"), **names)
    else:
        summary = say("papers.calendar.move", **names)
    event = _event(picture, uid, summary)
    begin = move.at.astimezone(UTC).replace(microsecond=0)
    event.add("dtstart", begin)
    event.add("dtend", begin + LENGTH)
    return event


def _again(picture: Picture, told: str, uid: str) -> Any:
    """Return the note of today that the season must be planned again, with the moves that are left out."""
    event = _event(picture, uid, say("papers.calendar.again"))
    event.add("dtstart", picture.today)
    event.add("dtend", picture.today + timedelta(days=1))
    event.add("transp", "TRANSPARENT")
    event.add("description", told)
    return event


def _shut(picture: Picture, shut: ShutDate, uid: str) -> Any:
    from icalendar import Alarm

    paddock = place_words(picture.scene, shut.planting.paddock)
    days = f"{shut.interval.value:.0f}"
    summary = say("papers.calendar.shut", paddock=paddock, days=days, drop=day_words(shut.first_drop))
    event = _event(picture, uid, summary)
    event.add("dtstart", shut.last_grazing)
    event.add("dtend", shut.last_grazing + timedelta(days=1))
    event.add("transp", "TRANSPARENT")
    event.add("description", say("papers.calendar.rule", rule=guarded(shut.rule)))
    for ahead in WARN_D:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", say("papers.calendar.alarm", paddock=paddock, count=ahead))
        alarm.add("trigger", -timedelta(days=ahead))
        event.add_component(alarm)
    return event
