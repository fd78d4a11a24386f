"""Hours of work: what was entered, what an hour earned so far, what moves ahead will take.

Pay an hour is money in less money out of the same stretch of days, over the hours entered: hours that
nobody entered, own land and what is still in the barn are not in it, and the page says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from browseline import tables
from browseline.events import Earned, Event, Moved, Spent, Worked
from browseline.figures import Figure, entered, typed
from browseline.ledger.account import Account, dated, happened, season_of
from browseline.limits import Scene
from browseline.record.fold import planned
from browseline.units import factor, plain
from browseline.words import linked, list_words, say

HOUR_D = factor("h", "d")
MINUTE_H = factor("min", "h")
WEEK_D = 7
START, STOP = "start", "stop"
MONEY = {Earned.kind: "money_in", Spent.kind: "money_out"}


@dataclass(frozen=True)
class Work:
    """One piece of work: its day, hours, what it was, who; ``running`` while nobody stopped it. [h]"""

    day: date
    hours: float
    what: str
    who: str = ""
    running: bool = False


@dataclass(frozen=True)
class Hours:
    """The hours of a season so far.

    Attributes
    ----------
    total : Figure
        [h]
    money : tuple of (currency, Figure)
        In less out of the same days, one line a currency.
    pay : Figure or None
        Money an hour; None without hours, without money or in several currencies.
    due, there : Figure or None
        What moves planned in the next week take, and the labour there is for it. [h]
    """

    first: date
    last: date
    work: tuple[Work, ...]
    total: Figure
    money: tuple[tuple[str, Figure], ...]
    pay: Figure | None
    due: Figure
    there: Figure | None

    @property
    def by_job(self) -> tuple[tuple[str, Figure], ...]:
        """Return the hours of each job, the longest first. [h]"""
        jobs: dict[str, list[Work]] = {}
        for one in self.work:
            jobs.setdefault(one.what, []).append(one)
        found = [(what, _added(work, what)) for what, work in jobs.items()]
        return tuple(sorted(found, key=lambda job: (-(job[1].value or 0.0), job[0])))


def worked(scene: Scene, events: Sequence[Event]) -> Iterator[Work]:
    """Yield every piece of work in order; a start runs to the next stop of the same job and person."""
    open_: dict[tuple[str, str], Event] = {}
    for event in happened(events, scene.now):
        if isinstance(event.body, Worked):
            yield from _done(scene, open_, event, event.body)
    for begun in open_.values():
        yield _between(scene, begun, scene.now, True)


def _done(scene: Scene, open_: dict[tuple[str, str], Event], event: Event, body: Worked) -> Iterator[Work]:
    """Yield what an entry ends or tells; a start only opens."""
    key = (event.who, body.what.casefold())
    if body.clock == START:
        open_.setdefault(key, event)
    elif body.clock == STOP:
        begun = open_.pop(key if body.what else _last(open_, event.who), None)
        if begun is not None:
            yield _between(scene, begun, event.observed.end, False)
    else:
        yield _typed(scene, event, body)


def _last(open_: dict[tuple[str, str], Event], who: str) -> tuple[str, str]:
    mine = [key for key in open_ if key[0] == who]
    return mine[-1] if mine else (who, "")


def _between(scene: Scene, begun: Event, end: datetime, running: bool) -> Work:
    hours = (end - begun.observed.end) / timedelta(hours=1)
    what = begun.body.what if isinstance(begun.body, Worked) else ""
    return Work(scene.local(begun.observed.end).date(), hours, what, begun.who, running)


def _typed(scene: Scene, event: Event, body: Worked) -> Work:
    if body.time is not None:
        hours = body.time.to("h")
    else:
        hours = (event.observed.end - event.observed.start) / timedelta(hours=1)
    return Work(scene.local(event.observed.start).date(), hours, body.what, event.who)


def _added(work: Sequence[Work], about: str = "") -> Figure:
    """Return the hours of some work together. [h]"""
    entries = [(one.hours, f"{plain(one.hours)} h", one.day, one.who) for one in work]
    return entered("hours_worked", "h", entries, about=about)


def hours(scene: Scene, events: Sequence[Event]) -> Hours:
    """Return the hours and money of the season that today is in, and the hours due in the coming week."""
    first, last = season_of(scene.farm, scene.days[0])
    work = tuple(one for one in worked(scene, events) if first <= one.day < last)
    total = _added(work)
    money = tuple(_money(scene, events, first, last))
    return Hours(first, last, work, total, money, _pay(total, money), _due(scene, events), _there(scene))


def _money(scene: Scene, events: Sequence[Event], first: date, last: date) -> Iterator[tuple[str, Figure]]:
    of: dict[str, dict[str, list[tuple[float, str, date, str]]]] = {}
    for event in happened(events, scene.now):
        body, day = event.body, scene.local(event.observed.end).date()
        if isinstance(body, (Spent, Earned)) and first <= day < last:
            sums = of.setdefault(body.amount.unit, {Earned.kind: [], Spent.kind: []})
            sums[body.kind].append((float(body.amount.value), body.amount.text, day, event.who))
    for currency, sums in sorted(of.items()):
        came, went = (entered(MONEY[kind], currency, entries) for kind, entries in sums.items())
        formula = f"{came.value:,.2f} − {went.value:,.2f}"
        left = (came.value or 0.0) - (went.value or 0.0)
        yield currency, Figure("money_left", left, currency, formula=formula, parts=(came, went))


def _pay(total: Figure, money: Sequence[tuple[str, Figure]]) -> Figure | None:
    if len(money) != 1 or not total.value:
        return None
    currency, left = money[0]
    formula = f"{left.value:,.2f} {currency} ÷ {total.value:.4g} h"
    return Figure(
        "pay_an_hour", (left.value or 0.0) / total.value, currency, formula=formula, parts=(left, total)
    )


def _due(scene: Scene, events: Sequence[Event]) -> Figure:
    """Return the hours that the moves planned in the coming week take. [h]"""
    row = tables.row("stays", "move_time", "single gate")
    end = scene.days[0] + timedelta(days=WEEK_D)
    moves = [
        e for e in planned(events)
        if isinstance(e.body, Moved) and scene.days[0] <= scene.local(e.observed.end).date() < end
    ]  # fmt: skip
    each = row.middle() * MINUTE_H
    formula = f"{len(moves)} × {row.middle():g} min"
    return Figure("hours_due", len(moves) * each, "h", formula=formula, parts=(row.figure("move_time"),))


def _there(scene: Scene) -> Figure | None:
    day = scene.farm.labour_hours_day
    if day is None:
        return None
    return typed("hours_there", WEEK_D * day.to("d") / HOUR_D, "h", f"{WEEK_D} × {day.text}")


# ---------------------------------------------------------------- the page


def hours_account(scene: Scene, events: Sequence[Event]) -> Account:
    """Return the page: hours by job, money, pay an hour with its method, hours due."""
    made = hours(scene, events)
    figures = tuple(f for f in (made.pay, made.total, made.due, made.there) if f is not None)
    head = (say("account.hours.head.job"), say("account.hours.head.hours"))
    rows = tuple(
        (what or say("account.hours.no_word"), linked(f"{time.value:.1f} h", time))
        for what, time in made.by_job
    )
    return Account("browseline/hours/1", "hours", tuple(_told(made)), figures, head, rows)


def _told(made: Hours) -> Iterator[str]:
    last = dated(made.last - timedelta(days=1))
    total = linked(f"{made.total.value:.1f}", made.total)
    yield say("account.hours.total", first=dated(made.first), last=last, hours=total)
    running = [one.what or say("account.hours.no_word") for one in made.work if one.running]
    if running:
        yield say("account.hours.running", what=list_words(running))
    for currency, left in made.money:
        amount = linked(f"{left.value:,.2f} {currency}", left)
        yield say("account.hours.money", amount=amount, formula=linked(left.formula, left))
    if made.pay is not None:
        amount = linked(f"{made.pay.value:,.2f} {made.pay.unit}", made.pay)
        yield say("account.hours.pay", amount=amount, formula=linked(made.pay.formula, made.pay))
        yield say("account.hours.method")
    else:
        yield say("account.hours.no_pay")
    due = linked(f"{made.due.value:.1f}", made.due)
    if made.there is None:
        yield say("account.hours.due", due=due)
    else:
        yield say("account.hours.due_of", due=due, there=linked(f"{made.there.value:.1f}", made.there))
