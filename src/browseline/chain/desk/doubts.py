"""What is asked before an entry is kept: a reason for a shut paddock, a second look at a strange number."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from browseline.chain.barred import comes_barred
from browseline.chain.desk.cannot import cannot
from browseline.chain.desk.desk import Desk
from browseline.chain.desk.times import without_year
from browseline.chain.improbable import improbable
from browseline.chain.look import Picture
from browseline.chain.to_come import Herd, to_come
from browseline.errors import Finding, finding
from browseline.events import Borrowed, Counted, Event, Moved, Opened, Shut, Walked
from browseline.farm.names import written
from browseline.limits.shut import until_words
from browseline.record.fold import fold
from browseline.record.state import Question
from browseline.record.told import tell
from browseline.words import day_words, say

FIELD = (Moved, Walked, Shut, Opened, Counted)
"""Entries of the field: nobody writes them down half a year late, with the year or without."""
PLANNED = (Moved, *Herd)
"""Entries that are often planned."""
HALF_A_YEAR, A_YEAR = timedelta(days=183), timedelta(days=367)
KEPT_OPEN = ("count", "which_part")


def doubts(at: Desk, event: Event, before: Picture, day: str = "") -> tuple[Finding, ...]:
    """Return what speaks against an entry: errors stop it, questions may be answered with "keep it".

    ``day`` is its time as it was typed, empty where none was.
    """
    return (
        *cannot(at, event),
        *_into_shut(at, event),
        *_there_already(at, event),
        *_barred_coming(at, event, before),
        *_long_ago(at, event, day),
        *improbable(event, before),
        *_would_ask(at, event),
    )


def _would_ask(at: Desk, event: Event) -> list[Finding]:
    """Return what the record would ask about this very entry, but what is the record's to keep open.

    That is a count that differs, and on which side of a net a mob is: the next entry tells.
    """
    if event.planned:
        return _would_ask_then(at, event)
    then = fold(at.farm, (*at.events, event), at.now)
    return [_asked(at, q, tell(q, at.farm.time_zone)) for q in then.questions if _new(q, event)]


def _new(question: Question, event: Event) -> bool:
    return question.event == event.id and question.code not in KEPT_OPEN


def _asked(at: Desk, question: Question, words: str) -> Finding:
    return Finding(at.names.called(question.subject), words, say("cli.look_again"), "question", question.code)


def _would_ask_then(at: Desk, event: Event) -> list[Finding]:
    """Return what the record would ask if all that is planned for the herd came true, and did not before.

    A planned sale may leave too few for one that is planned for a later day.
    """
    if not isinstance(event.body, Herd):
        return []
    ahead = [one for one in to_come(at.events, at.now) if isinstance(one.body, Herd)]
    days = {one.id: one.observed.end for one in (*ahead, event)}
    last = max(at.now, *days.values())

    def questions(planned: Iterable[Event]) -> tuple[Question, ...]:
        done = (one for one in at.events if not one.planned)
        return fold(at.farm, (*done, *(replace(one, planned=False) for one in planned)), last).questions

    known = {(q.event, q.code) for q in questions(ahead)}
    new = [
        q for q in questions((*ahead, event))
        if q.event in days and q.code not in KEPT_OPEN and (q.event, q.code) not in known
    ]  # fmt: skip
    return [
        _asked(at, q, say("ask.by_then", day=day_words(days[q.event].astimezone(at.zone).date()),
                          question=tell(q, at.farm.time_zone)))
        for q in new
    ]  # fmt: skip


def _long_ago(at: Desk, event: Event, typed: str) -> list[Finding]:
    """Return the question of a day that lies more than half a year back: a coming one may be meant.

    A day that is typed without its year is the last of its name.
    """
    ago = at.now - event.observed.end
    asked = isinstance(event.body, FIELD) or without_year(typed)
    if event.planned or not asked or not HALF_A_YEAR < ago < A_YEAR:
        return []
    day = event.observed.end.astimezone(at.zone).date()
    what = say("ask.long_ago", day=f"{day_words(day)} {day.year}", days=ago.days)
    mend = say("ask.long_ago_coming" if isinstance(event.body, PLANNED) else "ask.long_ago_keep")
    return [Finding(at.names.called(event.subject), what, mend, "question", "long_ago")]


def _into_shut(at: Desk, event: Event) -> list[Finding]:
    if not isinstance(event.body, Moved) or event.body.despite_shut:
        return []
    places = [place for place in (event.body.to, event.part) if place]
    shut = next((s for place in places if (s := at.state.shut_now(place)) is not None), None)
    if shut is None:
        return []
    name = at.names.called(shut.paddock)
    return [finding("cli.shut", name, paddock=name, because=shut.because, until=until_words(shut))]


def _barred_coming(at: Desk, event: Event, before: Picture) -> list[Finding]:
    """Return the question of a planned loan to ground that is shut then, taken, or on a day without hands."""
    if not event.planned or not isinstance(event.body, Borrowed):
        return []
    bar = comes_barred(before, event, lasting=False)
    if bar is None:
        return []
    mob, place = written(event.subject), at.names.called(event.body.to)
    return [finding("cli.comes_barred", mob, level="question", mob=mob, place=place, why=bar.why)]


def _there_already(at: Desk, event: Event) -> list[Finding]:
    mob = at.state.mob(event.subject)
    if not isinstance(event.body, Moved) or event.planned or mob is None:
        return []
    if (mob.place, mob.part) != (event.body.to, event.part):
        return []
    place = at.names.called(event.body.to)
    return [finding("cli.there_already", mob.name, level="question", mob=mob.name, place=place)]
