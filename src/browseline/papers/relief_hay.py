"""Hay on the relief sheet: what is kept for a cut, when it is cut, and until when its hay lies there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from browseline.chain.in_force import cuts_ahead, cuts_missed, moves_ahead
from browseline.chain.look import Picture
from browseline.events import Event, Moved
from browseline.limits.hay import lying
from browseline.moves.hay_rules import making
from browseline.papers.names import day_of_week, place_words
from browseline.words import day_words, list_words, say


@dataclass(frozen=True, slots=True)
class HayLine:
    """Paddocks of one line, together and each; what is done there, in full and in few words."""

    paddocks: str
    places: tuple[str, ...]
    words: str
    short: str


def hay_lines(picture: Picture, last: date) -> tuple[HayLine, ...]:
    """Return hay that lies or may lie, one line for each kept cut up to ``last``, and what is kept for later.

    A cut of a paddock that somebody shut is left out: it is under what is shut.
    """
    how, now = making(picture.farm), lying(picture.scene)
    lies = tuple(_line(picture, "lying", hay.place, hay.day, hay.off) for hay in now)
    if how is None:
        return lies
    shut = {one.paddock for one in picture.state.shut}
    ahead = [event for event in cuts_ahead(picture) if event.subject not in shut]
    near = [event for event in ahead if _day(picture, event.observed.start) <= last]
    later = tuple(dict.fromkeys(e.subject for e in ahead if e not in near))
    missed = [event for event in cuts_missed(picture) if event.subject not in shut]
    lines = (
        *lies,
        *_missed(picture, missed, how.days),
        *(_cut(picture, event, how.days) for event in near),
    )
    return (*lines, *_later(picture, later))


def _missed(picture: Picture, events: Iterable[Event], days: int) -> Iterator[HayLine]:
    """Yield the paddocks whose cut nobody entered and whose hay would lie there still."""
    for event in events:
        day = _day(picture, event.observed.start)
        off = day + timedelta(days=days)
        if picture.today < off:
            yield _line(picture, "missed", event.subject, day, off)


def _cut(picture: Picture, event: Event, days: int) -> HayLine:
    """Return the line of one cut ahead; where stock go in before, they have to be out by then."""
    day = _day(picture, event.observed.start)
    before = event.observed.end
    grazed = any(_stands(picture, mob.id, event.subject, before) for mob in picture.scene.mobs)
    return _line(picture, "after" if grazed else "cut", event.subject, day, day + timedelta(days=days))


def _stands(picture: Picture, mob: str, paddock: str, before: datetime) -> bool:
    """Return whether a mob stands in a paddock now or is planned to go in before a time."""
    now = picture.state.mob(mob)
    going = (e for e in moves_ahead(picture) if e.subject == mob and e.observed.start < before)
    there = any(isinstance(e.body, Moved) and e.body.to == paddock for e in going)
    return there or (now is not None and now.place == paddock)


def _later(picture: Picture, paddocks: tuple[str, ...]) -> Iterator[HayLine]:
    if paddocks:
        names = tuple(place_words(picture.scene, p) for p in paddocks)
        yield HayLine(list_words(names), names, say("papers.relief.hay.later"), say("papers.text.hay.later"))


def _line(picture: Picture, key: str, paddock: str, day: date, off: date) -> HayLine:
    name = place_words(picture.scene, paddock)
    words = say(f"papers.relief.hay.{key}", day=_words(day), off=_words(off))
    short = say(f"papers.text.hay.{key}", day=day_words(day), off=day_words(off))
    return HayLine(name, (name,), words, short)


def _words(day: date) -> str:
    return say("dates.weekday", weekday=day_of_week(day), day=day_words(day))


def _day(picture: Picture, at: datetime) -> date:
    return picture.scene.local(at).date()
