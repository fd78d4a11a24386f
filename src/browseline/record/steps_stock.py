"""What happens to animals: moved, split, merged, penned, counted, born, traded, lent, weighed."""

from __future__ import annotations

from dataclasses import replace

from browseline.events import (
    Back,
    Born,
    Borrowed,
    Bought,
    Counted,
    Died,
    Event,
    Merged,
    Moved,
    Penned,
    Returned,
    Sold,
    Split,
    Treated,
    Weaned,
    Weighed,
)  # fmt: skip
from browseline.record.heads import Asked, Group, find, put, read_head, total
from browseline.record.state import WeightRead, Withdrawal
from browseline.record.working import MobNow, Pen, Working, step


@step(Moved)
def move(work: Working, event: Event, body: Moved) -> None:
    """Put the mob where it was seen. The later sighting stands."""
    place, part = work.place(event, body.to, event.part)
    if work.mob(event) is not None:
        work.places.seen(event, place, part)
        work.despite[event.subject] = body.despite_shut


@step(Split)
def split(work: Working, event: Event, body: Split) -> None:
    """Make a mob of some of the animals, or hand them to a mob that is there."""
    mob = work.mob(event)
    if mob is None:
        return
    groups = _taken(work, event, mob.groups, body.head)
    into = work.mobs.get(body.into)
    if into is not None and into.ended is None:
        work.put_all(into.groups, groups)
    else:
        work.new_mob(body.into, body.name, groups, owner=mob.owner, due=mob.due, parents=[mob.id])
        _stand_by(work, event, body.into, mob)
    if body.to:
        place, part = work.place(event, body.to, event.part)
        work.places.enter(body.into, place, part, event.observed, event.id)


@step(Merged)
def merge(work: Working, event: Event, body: Merged) -> None:
    """Hand all animals, the penned ones too, to another mob."""
    mob = work.mob(event)
    into = work.mob(event, body.into)
    if mob is None or into is None or mob is into:
        return
    work.put_all(into.groups, mob.groups)
    into.pens.update(mob.pens)
    into.parents.append(mob.id)
    mob.groups, mob.pens = [], {}
    work.end_mob(mob, event)


@step(Penned)
def pen(work: Working, event: Event, body: Penned) -> None:
    """Take animals and their young out of the mob: they are no longer on pasture."""
    mob = work.mob(event)
    if mob is None:
        return
    groups = _taken(work, event, mob.groups, body.head)
    already = mob.pens.get(body.animal)
    if already is None:
        mob.pens[body.animal] = Pen(groups, event.observed, body.why)
    else:
        work.put_all(already.groups, groups)


@step(Back)
def back(work: Working, event: Event, body: Back) -> None:
    """Put a penned animal, with what was penned with it, back into its mob."""
    mobs = sorted(work.mobs.values(), key=lambda m: m.id != event.subject)
    mob = next((m for m in mobs if body.animal in m.pens), None)
    if mob is None:
        work.ask("not_penned", event.subject, event, animal=body.animal)
        return
    work.put_all(mob.groups, mob.pens.pop(body.animal).groups)


@step(Counted)
def count(work: Working, event: Event, body: Counted) -> None:
    """Compare a count with the mob. A difference is a question; the mob is never edited."""
    mob = work.mob(event)
    if mob is None:
        return
    asked = [read_head(text) for text in body.head]
    if None in asked:
        work.ask("unreadable", mob.id, event, kind=event.kind, text=", ".join(body.head))
        return
    agreed = [_count_one(work, event, mob, one) for one in asked if one is not None]
    classes = sum(group.head > 0 for group in mob.groups)
    whole = len(asked) >= classes or any(one is not None and not one.klass for one in asked)
    if all(agreed) and whole:
        work.settle("count", mob.id)


def _count_one(work: Working, event: Event, mob: MobNow, asked: Asked) -> bool:
    """Return whether one number agrees; open or close its question."""
    words = " ".join(w for w in (asked.kind, asked.klass) if w)
    if words:
        group = find(mob.groups, asked.kind, asked.klass)
        expected = group.head if group is not None else 0
    else:
        expected = total(mob.groups)
    if asked.head == expected:
        work.settle("count", mob.id, words or "all")
        return True
    older = work.questions.get(("count", mob.id, words or "all"))
    since = dict(older.facts)["since_at"] if older is not None else event.observed.text()
    work.ask("count", mob.id, event, words or "all", mob=mob.name, animals=words, counted=asked.head,
             expected=expected, difference=asked.head - expected, since_at=since)  # fmt: skip
    return False


@step(Born)
def bear(work: Working, event: Event, body: Born) -> None:
    """Add the young."""
    mob = work.mob(event)
    if mob is not None:
        put(mob.groups, Group(body.beast, body.klass, body.head))


@step(Bought)
def buy(work: Working, event: Event, body: Bought) -> None:
    """Add animals that were bought."""
    mob = work.mob(event)
    if mob is not None:
        put(mob.groups, Group(body.beast, body.klass, body.head, body.weight))


@step(Died)
def die(work: Working, event: Event, body: Died) -> None:
    """Take away animals that died, in the mob or in the pen that is named."""
    _leave(work, event, Asked(body.beast, body.klass, body.head))


@step(Sold)
def sell(work: Working, event: Event, body: Sold) -> None:
    """Take away animals that were sold; a withdrawal date that is not over is asked about."""
    _leave(work, event, Asked(body.beast, body.klass, body.head))
    day = work.day(event.observed.end)
    for one in work.withdrawals:
        if one.until is not None and day < one.until and event.subject in (one.animal, one.mob):
            work.ask("sold_in_withdrawal", event.subject, event, f"{event.id}/{one.animal}",
                     animal=one.animal, product=one.product, until=one.until)  # fmt: skip


def _leave(work: Working, event: Event, asked: Asked) -> None:
    for mob in work.mobs.values():
        if event.subject in mob.pens:
            held = mob.pens[event.subject]
            work.take(event, held.groups, asked)
            if total(held.groups) == 0:
                del mob.pens[event.subject]
            return
    found = work.mob(event)
    if found is not None:
        work.take(event, found.groups, asked)


@step(Weaned)
def wean(work: Working, event: Event, body: Weaned) -> None:
    """Make young a class of their own, here or in another mob."""
    mob = work.mob(event)
    taken = (
        work.take(event, mob.groups, Asked(body.beast, body.klass, body.head)) if mob is not None else None
    )
    if mob is None or taken is None:
        return
    young = replace(taken, klass=body.new_klass, intake=body.intake, stages=())
    into = work.mobs.get(body.into or mob.id)
    if into is None or into.ended is not None:
        into = work.new_mob(body.into, "", [], owner=mob.owner, due=mob.due, parents=[mob.id])
        _stand_by(work, event, into.id, mob)
    put(into.groups, young)


@step(Borrowed)
def borrow(work: Working, event: Event, body: Borrowed) -> None:
    """Let a mob of somebody else come: one of its own, never added to another."""
    there = work.mobs.get(event.subject)
    if there is not None and there.ended is None:
        work.ask("borrowed_twice", event.subject, event, mob=there.name, head=body.head, animals=body.klass)
        return
    group = Group(body.beast, body.klass, body.head, body.weight, body.intake)
    work.new_mob(event.subject, there.name if there else "", [group], owner=body.owner, due=body.until)
    if body.to:
        place, part = work.place(event, body.to, event.part)
        work.places.enter(event.subject, place, part, event.observed, event.id)


@step(Returned)
def give_back(work: Working, event: Event, body: Returned) -> None:
    """Let a borrowed mob go home, whole or in part."""
    mob = work.mob(event)
    if mob is None:
        return
    there = total(mob.groups) + sum(total(held.groups) for held in mob.pens.values())
    if body.head is not None and body.head < there:
        work.take(event, mob.groups, Asked("", "", body.head))
        return
    if body.head is not None and body.head > there:
        work.ask("returned_more", mob.id, event, mob=mob.name, head=body.head, there=there)
    mob.groups, mob.pens = [], {}
    work.end_mob(mob, event)


@step(Weighed)
def weigh(work: Working, event: Event, body: Weighed) -> None:
    """Keep the mean weight that was read for the class that was weighed."""
    mob = work.mob(event)
    if mob is None:
        return
    group = find(mob.groups, body.beast, body.klass)
    if group is None:
        work.ask("which_animals", mob.id, event, mob=mob.id, animals=body.klass or body.beast,
                 head=body.head or "", kind=event.kind)  # fmt: skip
        return
    group.weight, group.weighed = body.weight, work.day(event.observed.end)
    work.weights.append(WeightRead(mob.id, group.klass, event.observed, body.weight, event.id))


@step(Treated)
def treat(work: Working, event: Event, body: Treated) -> None:
    """Keep the product and the withdrawal date on the animal's record."""
    mob = next((m.id for m in work.mobs.values() if event.subject in m.pens or event.subject == m.id), "")
    work.withdrawals.append(Withdrawal(event.subject, mob, body.product, body.withdrawal, event.observed))


def _taken(work: Working, event: Event, groups: list[Group], head: tuple[str, ...]) -> list[Group]:
    """Return the animals that ``kind/class=number`` texts take out of groups."""
    taken: list[Group] = []
    for text in head:
        asked = read_head(text)
        if asked is None:
            work.ask("unreadable", event.subject, event, f"{event.id}/{text}", kind=event.kind, text=text)
            continue
        group = work.take(event, groups, asked)
        if group is not None:
            put(taken, group)
    return taken


def _stand_by(work: Working, event: Event, new: str, mob: MobNow) -> None:
    """Let a new mob stand where its parent stands."""
    stay = work.places.now(mob.id)
    if stay is not None:
        work.places.enter(new, stay.place, stay.part, event.observed, event.id)
