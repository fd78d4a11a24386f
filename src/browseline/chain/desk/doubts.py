"""What is asked before an entry is kept: a reason for a shut paddock, a second look at a strange number."""

from __future__ import annotations

from browseline.chain.desk.cannot import cannot
from browseline.chain.desk.desk import Desk
from browseline.chain.improbable import improbable
from browseline.chain.look import Picture
from browseline.errors import Finding, finding
from browseline.events import Event, Moved
from browseline.limits.shut import until_words
from browseline.record.fold import fold
from browseline.record.told import tell
from browseline.words import say

KEPT_OPEN = ("count", "which_part")


def doubts(at: Desk, event: Event, before: Picture) -> tuple[Finding, ...]:
    """Return what speaks against an entry: errors stop it, questions may be answered with "keep it"."""
    return (
        *cannot(at, event),
        *_into_shut(at, event),
        *_there_already(at, event),
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
