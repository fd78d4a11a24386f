"""The fold: opening values and events in, the farm on an instant out.

No snapshot is kept: folding a whole record is quicker than proving that a snapshot still holds
after an early correction (docs/record.md has the measured times).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime

from browseline.events import (
    Back,
    Born,
    Borrowed,
    Bought,
    Counted,
    Cut,
    Died,
    Event,
    Fed,
    Merged,
    Moved,
    Penned,
    Returned,
    Sold,
    Split,
    Unknown,
    Weaned,
    Weighed,
)  # fmt: skip
from browseline.farm.records import Farm
from browseline.record import steps_land, steps_stock
from browseline.record.corrections import Resolved, planned, resolve
from browseline.record.head_log import HeadLog
from browseline.record.heads import lines
from browseline.record.state import Alarm, BalesMoved, HayState, InPen, MobState, ShutState, State
from browseline.record.working import STEPS, MobNow, Working

__all__ = ["fold", "fold_each", "planned"]

OPENED = frozenset(
    {
        Moved,
        Split,
        Merged,
        Penned,
        Back,
        Counted,
        Born,
        Died,
        Sold,
        Bought,
        Weaned,
        Borrowed,
        Returned,
        Fed,
        Cut,
        Weighed,
    }
)
"""Kinds whose outcome the farm's opening values already hold."""

HEADS = OPENED - {Moved, Counted, Fed, Cut}
"""Kinds that change who is in a mob, or what each weighs."""

_STEPS_OF = (steps_land, steps_stock)


def fold(farm: Farm, events: Iterable[Event], at: datetime) -> State:
    """Return the farm at an instant.

    Parameters
    ----------
    farm : Farm
        The farm as its files say; opening values hold at the start of its day ``as_of``.
    events : iterable of Event
        In any order, of any number of devices. Planned ones change nothing.
    at : datetime
        Aware. Events observed by then count; an interval counts from its end.
    """
    return fold_each(farm, events, (at,))[0]


def fold_each(farm: Farm, events: Iterable[Event], instants: Sequence[datetime]) -> tuple[State, ...]:
    """Return the farm at each of several instants, in one pass.

    Parameters
    ----------
    instants : sequence of datetime
        Aware, in order of time.

    Raises
    ------
    ValueError
        If the instants are not in order.
    """
    limits = [instant.astimezone(UTC) for instant in instants]
    if limits != sorted(limits):
        raise ValueError("instants are not in order")
    resolved = resolve(events)
    seen = [event for event in resolved.standing if not event.planned]
    work = Working(farm)
    start = work.midnight(farm.as_of)
    early = [event for event in seen if event.order[0] < start]
    for event in early:
        if event.order[0] <= limits[-1]:
            _before(work, event)
    _open(work, start, limits[-1])
    rest = iter(seen[len(early) :])
    return tuple(_states(work, rest, limits, resolved, HeadLog(work, start)))


def _states(
    work: Working, events: Iterator[Event], limits: Sequence[datetime], resolved: Resolved, log: HeadLog
) -> Iterator[State]:
    waiting = next(events, None)
    for limit in limits:
        while waiting is not None and waiting.order[0] <= limit:
            log.reach(waiting.order[0])
            apply(work, waiting)
            if type(waiting.body) in HEADS:
                log.note(waiting.order[0])
            waiting = next(events, None)
        log.reach(limit)
        yield _state(work, limit, resolved, log)


def apply(work: Working, event: Event) -> None:
    """Let one event change the farm."""
    if isinstance(event.body, Unknown):
        work.unknown.add((event.body.kind, event.body.version))
        return
    function = STEPS.get(type(event.body))
    if function is not None:
        function(work, event, event.body)


def _before(work: Working, event: Event) -> None:
    """Take in an event dated before the farm began: opening values stand over it, stays are history."""
    if type(event.body) not in OPENED:
        apply(work, event)
        return
    if isinstance(event.body, Moved):
        work.places.seen(event, *work.place(event, event.body.to, event.part))
    if isinstance(event.body, Cut):
        steps_land.mow(work, event, event.body)
    work.ask("before_the_farm", event.subject, event, kind=event.kind, day=work.day(event.observed.end),
             as_of=work.farm.as_of)  # fmt: skip


def _open(work: Working, start: datetime, last: datetime) -> None:
    for lot in work.farm.hay:
        bales, as_of = lot.bales.to("bales"), work.farm.as_of
        work.hay[lot.id] = HayState(lot.id, bales, as_of, (BalesMoved(as_of, bales, "opening"),))
    today = work.day(last)
    work.forget({mob.id for mob in work.farm.mobs}, start)
    for mob in work.farm.mobs:
        if mob.from_day is None or mob.from_day <= today:
            work.open_mob(mob, max(start, work.midnight(mob.from_day)) if mob.from_day else start)


def _ask_which_part(work: Working, mobs: tuple[MobState, ...]) -> None:
    """Ask on which side of a net the mobs are that stood in the paddock when it was set up."""
    for mob in mobs:
        net = work.nets.get(mob.place or "")
        whole = work.farm.paddock(mob.place or "")
        if net is None or whole is None or mob.part or mob.ended is not None:
            continue
        parts = [part for part, of in work.parents.items() if of == whole.id]
        if not parts:
            continue
        facts = {"mob": mob.name, "paddock": whole.name, "part": parts[0], "parts": ", ".join(parts)}
        work.ask("which_part", mob.id, net, id=mob.id, **facts)


def _state(work: Working, at: datetime, resolved: Resolved, log: HeadLog) -> State:
    today = work.day(at)
    work.end_mobs(today)
    shut = tuple(s for s in work.shut if s.until or s.until_day is None or today < s.until_day)
    mobs = tuple(_mob(work, mob, today) for mob in work.mobs.values())
    _ask_which_part(work, mobs)
    return State(
        at=at, mobs=mobs, stays=tuple(work.places.stays), shut=shut, heights=tuple(work.heights),
        looks=tuple(work.looks), growth=tuple(work.growth),
        rain=tuple((day, depth) for day, (_, depth) in sorted(work.rain.items())),
        rain_ahead=tuple(work.rain_ahead), cuts=tuple(work.cuts), hay=tuple(work.hay.values()),
        fed=tuple(work.fed), storms=tuple(work.storms), losses=tuple(work.losses),
        row_counts=tuple(work.row_counts),
        withdrawals=tuple(work.withdrawals), questions=tuple(work.questions.values()),
        disagreements=(*resolved.disagreements, *work.places.disagreements, *work.disagreements),
        alarms=tuple(_alarms(mobs, shut, work)), parents=tuple(work.parents.items()),
        part_areas=tuple(work.part_areas.items()), unknown=tuple(sorted(work.unknown)),
        heads=tuple(log.entries), ground=tuple(work.ground), animals=tuple(work.animals),
        weights=tuple(work.weights), guards=tuple(work.guards),
        tree_sizes=tuple(work.tree_sizes), planted=tuple(work.planted),
        frosts=tuple(work.frosts), cleared=tuple(work.cleared), trees_cut=tuple(work.trees_cut),
        leaf=tuple(work.leaf),
    )  # fmt: skip


def _mob(work: Working, mob: MobNow, today: date) -> MobState:
    stay = work.places.now(mob.id)
    place, since, part = (stay.place, stay.begin, stay.part) if stay is not None else (None, None, "")
    pens = tuple(InPen(animal, lines(p.groups, today), p.since, p.why) for animal, p in mob.pens.items())
    return MobState(
        mob.id, mob.name, lines(mob.groups, today), place, since, part, pens, mob.owner, mob.due,
        tuple(mob.parents), mob.ended,
    )  # fmt: skip


def _alarms(mobs: Iterable[MobState], shut: Iterable[ShutState], work: Working) -> Iterator[Alarm]:
    """Yield an alarm for each mob that stands where it is shut."""
    closed, names = list(shut), {p.id: p.name for p in work.farm.paddocks}
    for mob in mobs:
        for one in closed:
            if mob.place is not None and mob.since is not None and one.paddock in (mob.place, mob.part):
                since = max(mob.since, one.since, key=lambda when: when.end.astimezone(UTC))
                facts = (("mob", mob.name), ("paddock", names.get(one.paddock, one.paddock)),
                         ("because", one.because),
                         ("despite", work.despite.get(mob.id, "")))  # fmt: skip
                yield Alarm("in_shut", mob.id, since, facts)
