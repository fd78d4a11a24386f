"""What is asked before an entry is kept: a reason for a shut paddock, a second look at a strange number."""

from __future__ import annotations

from datetime import timedelta

from browseline.chain.desk.cannot import cannot
from browseline.chain.desk.desk import Desk
from browseline.chain.improbable import improbable
from browseline.chain.look import Picture
from browseline.errors import Finding, finding
from browseline.events import Counted, Event, Moved, Opened, Shut, Walked
from browseline.limits.shut import until_words
from browseline.record.fold import fold
from browseline.record.told import tell
from browseline.words import day_words, say

FIELD = (Moved, Walked, Shut, Opened, Counted)
"""Entries of the field: nobody writes them down half a year late."""
HALF_A_YEAR, A_YEAR = timedelta(days=183), timedelta(days=367)
KEPT_OPEN = ("count", "which_part")


def doubts(at: Desk, event: Event, before: Picture) -> tuple[Finding, ...]:
    """Return what speaks against an entry: errors stop it, questions may be answered with "keep it"."""
    return (
        *cannot(at, event),
        *_into_shut(at, event),
        *_there_already(at, event),
        *_long_ago(at, event),
        *improbable(event, before),
        *_would_ask(at, event),
    )


def _would_ask(at: Desk, event: Event) -> list[Finding]:
    """Return what the record would ask about this very entry, but what is the record's to keep open.

    That is a count that differs, and on which side of a net a mob is: the next entry tells.
    """
    if event.planned:
        return []
    then = fold(at.farm, (*at.events, event), at.now)
    asked = [q for q in then.questions if q.event == event.id and q.code not in KEPT_OPEN]
    return [
        Finding(
            at.names.called(q.subject), tell(q, at.farm.time_zone), say("cli.look_again"), "question", q.code
        )
        for q in asked
    ]


def _long_ago(at: Desk, event: Event) -> list[Finding]:
    """Return the question of a day that lies more than half a year back: a coming one may be meant.

    A day that is typed without its year is the last of its name.
    """
    ago = at.now - event.observed.end
    if event.planned or not isinstance(event.body, FIELD) or not HALF_A_YEAR < ago < A_YEAR:
        return []
    day = event.observed.end.astimezone(at.zone).date()
    what = say("ask.long_ago", day=f"{day_words(day)} {day.year}", days=ago.days)
    mend = say("ask.long_ago_coming" if isinstance(event.body, Moved) else "ask.long_ago_keep")
    return [Finding(at.names.called(event.subject), what, mend, "question", "improbable")]


def _into_shut(at: Desk, event: Event) -> list[Finding]:
    if not isinstance(event.body, Moved) or event.body.despite_shut:
        return []
    places = [place for place in (event.body.to, event.part) if place]
    shut = next((s for place in places if (s := at.state.shut_now(place)) is not None), None)
    if shut is None:
        return []
    name = at.names.called(shut.paddock)
    return [finding("cli.shut", name, paddock=name, because=shut.because, until=until_words(shut))]


def _there_already(at: Desk, event: Event) -> list[Finding]:
    mob = at.state.mob(event.subject)
    if not isinstance(event.body, Moved) or event.planned or mob is None:
        return []
    if (mob.place, mob.part) != (event.body.to, event.part):
        return []
    place = at.names.called(event.body.to)
    return [finding("cli.there_already", mob.name, level="question", mob=mob.name, place=place)]
