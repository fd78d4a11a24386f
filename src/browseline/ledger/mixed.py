"""A year that is under way: what is on record, what is planned for a day, what of the plan is still to come.

An entry belongs to a line by its words: the line's id, its name, or a word of its ``record``. What is left of
a line is told by heads where it counts heads and the entries do, else by money. A year that is over has
nothing left of a line that has entries in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np

from browseline.events import Bought, Event, Sold
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.figures import Figure, Origin, entered
from browseline.ledger.cash import Amounts, Array, Mixed, counts, line_cash, quantity
from browseline.ledger.postings import CASH, CENT, Entry, exact, money_entry, moved
from browseline.record.corrections import resolve
from browseline.units import plain

RECORD = Origin("farm", "record")


@dataclass(frozen=True)
class MixedLine:
    """One line of a year under way: as planned, on record, planned for a day, still to come, and the year."""

    key: str
    name: str
    planned: Figure
    on_record: Figure
    to_come: Figure
    year: Figure


@dataclass(frozen=True)
class ThisYear:
    """The plan's year that holds today, and what on record belongs to no line.

    ``entries`` are postings of the year: those on record, those planned for a day, and the rest at its end.
    """

    calendar: int
    lines: tuple[MixedLine, ...]
    loose_in: Figure
    loose_out: Figure
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class _Said:
    """An entry of money: what came in (below 0 what went out), its words, its heads, whether only planned."""

    entry: Entry
    day: date
    amount: float
    words: str
    head: float | None
    planned: bool
    who: str


def words_of(line: MoneyLine) -> frozenset[str]:
    """Return the words by which an entry belongs to a line."""
    return frozenset(word.casefold() for word in (line.id, line.name, *line.record))


def said_of(events: Iterable[Event], now: datetime, zone: ZoneInfo) -> tuple[_Said, ...]:
    """Return the money of events that stand: those that happened, and those planned for a day to come."""
    made = []
    for event in resolve(events).standing:
        entry = money_entry(event, zone)
        if entry is None or event.planned == (event.order[0] <= now):
            continue
        cash = next(p for p in entry.postings if p.account == CASH)
        head, words = None, cash.because
        if isinstance(event.body, (Sold, Bought)):
            head, words = float(event.body.head), event.body.klass
        made.append(
            _Said(entry, cash.day, float(cash.amount), words.casefold(), head, event.planned, event.who)
        )
    return tuple(made)


def _mine(line: MoneyLine, said: Sequence[_Said], year: int) -> list[_Said]:
    """Return the entries of a line in a year, going the way of its money."""
    out = line.kind in ("cost", "planting")
    words = words_of(line)
    return [s for s in said if s.words in words and s.day.year == year and (s.amount < 0) == out]


def mixed_of(
    plan: MoneyPlan, events: Iterable[Event], now: datetime, zone: ZoneInfo, amounts: Amounts | None = None
) -> Mixed | None:
    """Return what the record says of the plan's lines; None where it says nothing."""
    said = said_of(events, now, zone)
    today = now.astimezone(zone).date()
    done: dict[str, Array] = {}
    left: dict[str, Array] = {}
    for line in plan.lines:
        if not counts(line):
            continue
        by_year = [_mine(line, said, plan.first_year + n) for n in range(plan.years)]
        if any(by_year):
            done[line.id] = np.array([sum(s.amount for s in mine) for mine in by_year])
            left[line.id] = _left(plan, line, by_year, today, amounts or {})
    return Mixed(done, left) if done else None


def _left(
    plan: MoneyPlan, line: MoneyLine, by_year: Sequence[Sequence[_Said]], today: date, amounts: Amounts
) -> Array:
    """Return the share of a line's money that is still to come in each year. [1]"""
    amount = amounts.get(line.id)
    money = line_cash(line, plan.years, (), {}, amount)
    head = quantity(line, plan.years, (), {}, amount)
    share = np.ones(plan.years)
    for n, mine in enumerate(by_year):
        if not mine:
            continue
        if plan.first_year + n < today.year:
            share[n] = 0.0
            continue
        by_head = all(s.head is not None for s in mine)
        had = sum(s.head or 0.0 for s in mine) if by_head else abs(sum(s.amount for s in mine))
        whole = float(head[n] if by_head else abs(money[n]))
        share[n] = max(0.0, 1.0 - had / whole) if whole else 0.0
    return share


# ---------------------------------------------------------------- the year on the page


def this_year(
    plan: MoneyPlan, mixed: Mixed | None, events: Iterable[Event], now: datetime, zone: ZoneInfo,
    amounts: Amounts | None = None,
) -> ThisYear | None:  # fmt: skip
    """Return the year under way; None where today is in no year of the plan or no money is on record."""
    year = now.astimezone(zone).date().year
    n = year - plan.first_year
    said = tuple(s for s in said_of(events, now, zone) if s.day.year == year)
    if not 0 <= n < plan.years or not said:
        return None
    lines, entries, matched = [], list[Entry](), set[int]()
    for line in plan.lines:
        if not counts(line):
            continue
        mine = _mine(line, said, year)
        matched |= {id(s) for s in mine}
        money = float(line_cash(line, plan.years, (), {}, (amounts or {}).get(line.id))[n])
        left = float(mixed.left[line.id][n]) if mixed is not None and line.id in mixed.left else 1.0
        if not money and not mine:
            continue
        lines.append(_line(plan, line, mine, money, left))
        entries += [s.entry for s in mine]
        entries += _rest(plan, line, year, exact(left * money, CENT))
    loose = [s for s in said if id(s) not in matched and not s.planned]
    came = _entered("loose_in", plan, [s for s in loose if s.amount > 0], str(year))
    went = _entered("loose_out", plan, [s for s in loose if s.amount < 0], str(year))
    return ThisYear(year, tuple(lines), came, went, tuple(entries))


def _entered(name: str, plan: MoneyPlan, said: Sequence[_Said], about: str, sign: float = 1.0) -> Figure:
    ordered = sorted(said, key=lambda s: s.day)
    rows = [(sign * abs(s.amount), f"{abs(s.amount):,.2f} {s.words}", s.day, s.who) for s in ordered]
    return entered(name, plan.currency, rows, about=about)


def _line(plan: MoneyPlan, line: MoneyLine, mine: Sequence[_Said], money: float, left: float) -> MixedLine:
    out = -1.0 if line.kind in ("cost", "planting") else 1.0
    unit, name = plan.currency, line.name
    ahead = Origin("farm", basis="placeholder")
    planned = Figure("line_planned", money, unit, origins=(ahead,), about=name, formula=plain(money, 2))
    had = _entered("line_recorded", plan, [s for s in mine if not s.planned], name, out)
    dated = _entered("line_dated", plan, [s for s in mine if s.planned], name, out)
    rest = left * money + (dated.value or 0.0)
    formula = f"{plain(left)} × {plain(money, 2)} + {plain(dated.value or 0.0, 2)}"
    come = Figure("line_to_come", rest, unit, parts=(planned, dated), about=name, formula=formula)
    formula = f"{plain(had.value or 0.0, 2)} + {plain(rest, 2)}"
    whole = Figure(
        "line_year", (had.value or 0.0) + rest, unit, parts=(had, come), about=name, formula=formula
    )
    return MixedLine(line.id, name, planned, had, come, whole)


def _rest(plan: MoneyPlan, line: MoneyLine, year: int, amount: Decimal) -> list[Entry]:
    day = line.due if line.due is not None and line.due.year == year else date(year, 12, 31)
    account = f"{line.kind}: {line.name}"
    return [moved(day, account, CASH, amount, plan.currency, line.name, planned=True)] if amount else []


def by_account(entries: Iterable[Entry]) -> Mapping[str, Decimal]:
    """Return what came to every account."""
    out: dict[str, Decimal] = {}
    for entry in entries:
        for posting in entry.postings:
            out[posting.account] = out.get(posting.account, Decimal(0)) + posting.amount
    return out
