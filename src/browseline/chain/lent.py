"""Animals that somebody lent: what is said when they come, and from when on the farm's own may follow."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta

from browseline import tables
from browseline.chain.look import Picture
from browseline.chain.to_come import Herd, missed
from browseline.events import Borrowed, Bought, Event, Returned, Sold
from browseline.farm.herd_words import class_words
from browseline.farm.names import words, written
from browseline.farm.needs import demand
from browseline.limits._neighbours import bare_trees
from browseline.limits.worms import after_hosts, hosts
from browseline.record.state import HeadLine, MobState
from browseline.units import shown
from browseline.words import day_words, list_words, say

NEAR_D = 3
"""So many days before lent animals go home Today says so. [d]"""


def lent_words(event: Event, body: Borrowed, picture: Picture) -> Iterator[str]:
    """Yield what borrowed animals call for: apart, own water, own mineral, no dung where others follow."""
    mob = picture.state.mob(event.subject)
    if mob is None:
        return
    yield from _whose(mob, body, picture)
    apart = tables.row("stays", "apart", "incoming stock")
    until = picture.scene.local(event.observed.end).date() + timedelta(days=round(apart.middle()))
    yield say("answer.lent.apart", days=f"{apart.middle():g}", day=day_words(until))
    yield say("answer.lent.ask")
    kinds = {line.kind for line in mob.lines}
    if kinds & {"goat", "sheep"}:
        yield say("answer.lent.mineral")
    if "goat" in kinds:
        yield from _goats(mob, picture)
    if body.until is not None and mob.place is not None and hosts(mob):
        yield _worms(mob, body, picture)


def due_words(picture: Picture, near_d: int = NEAR_D) -> Iterator[str]:
    """Yield which lent animals go home within some days, and which should be gone by now."""
    for mob in picture.scene.mobs:
        left = (mob.due - picture.today).days if mob.due is not None else near_d + 1
        if mob.due is not None and left <= near_d:
            owner = mob.owner or say("answer.lent.no_owner")
            key = "overdue" if left < 0 else "due"
            yield say(f"answer.lent.{key}", mob=mob.name, owner=owner, day=day_words(mob.due))


def not_entered(picture: Picture) -> Iterator[str]:
    """Yield what was planned for the herd in the last fortnight and was not entered as done."""
    yield from (says for _, says in _herd_words(picture, missed(picture.events, picture.now), "missed"))


def herd_ahead(picture: Picture) -> Iterator[tuple[date, str]]:
    """Yield what is planned for the herd from today on, by its day: sales, purchases, loans and returns."""
    ahead = (event for event in picture.scene.coming if isinstance(event.body, Herd))
    return _herd_words(picture, ahead, "ahead")


def _herd_words(picture: Picture, events: Iterable[Event], told: str) -> Iterator[tuple[date, str]]:
    for event in events:
        body, found = event.body, picture.state.mob(event.subject)
        if isinstance(body, (Sold, Bought, Borrowed, Returned)):
            day = picture.scene.local(event.observed.start).date()
            animals = "" if isinstance(body, Returned) else class_words(body.klass, body.head)
            mob = found.name if found else written(event.subject)
            fields = {"mob": mob, "day": day_words(day), "animals": animals}
            yield day, say(f"answer.lent.{told}.{body.kind}", head=body.head, **fields)


def _whose(mob: MobState, body: Borrowed, picture: Picture) -> Iterator[str]:
    day = day_words(body.until) if body.until is not None else say("answer.lent.no_day")
    owner = body.owner or say("answer.lent.no_owner")
    yield say("answer.lent.mob", mob=mob.name, head=body.head, owner=owner, day=day)
    needs = demand(mob.lines, mob.id)
    if needs is not None and needs.value:
        yield say("answer.lent.eats", amount=shown(needs.value, "intake", picture.farm.units, 0))
    else:
        yield from eats_unknown(body)


def eats_unknown(body: Borrowed) -> Iterator[str]:
    """Yield what to write where nobody knows what lent animals eat, so that no plan counts their grass."""
    line, classes = (
        HeadLine(body.beast, body.klass, body.head, body.weight, body.intake),
        words("class", body.beast),
    )
    if demand((line,)) is None and classes:
        yield say("answer.lent.eats_unknown", classes=", ".join(class_words(one, 1) for one in classes))


def _goats(mob: MobState, picture: Picture) -> Iterator[str]:
    yield say("answer.lent.leaf")
    yield say("answer.lent.netting")
    trees = bare_trees(picture.scene, mob.place) if mob.place is not None else ()
    beside = {job.id: job.beside for job in picture.farm.jobs if job.paddock == mob.place}
    named = [p for p in picture.farm.plantings if any(p.id in ids for ids in beside.values())]
    told = list_words(dict.fromkeys(p.name for p in (*trees, *named)))
    yield say("answer.lent.barrier", trees=told) if told else say("answer.lent.barrier_any")


def _worms(mob: MobState, body: Borrowed, picture: Picture) -> str:
    """Return from when on sheep may follow, if the goats go home on the day."""
    home = body.until or picture.today
    left = datetime.combine(home, time(), picture.scene.zone)
    free = picture.scene.local(after_hosts(picture.scene, left)).date()
    place = picture.farm.paddock(mob.place or "")
    return say("answer.lent.worms", paddock=place.name if place else mob.place, left=day_words(home),
               day=day_words(free))  # fmt: skip
