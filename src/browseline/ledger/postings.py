"""Postings: events done and planned as dated amounts from one account to another.

Every entry sums to nothing in each of its units. Money and gases share the form: date, account, amount, unit,
because. Amounts are ``Decimal``: money to the cent, gases to the gram.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from browseline.events import Bought, Earned, Event, Sold, Spent
from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.farm.herd_words import class_words
from browseline.ledger.cash import loan_cash
from browseline.ledger.drawn import NOBODY, Drawn, middle_cash
from browseline.units import Quantity

CASH = "cash"
CENT, GRAM = Decimal("0.01"), Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Posting:
    """An amount that came to an account, below 0 what left it. ``event`` is the entry that it follows."""

    day: date
    account: str
    amount: Decimal
    unit: str
    because: str
    event: str = ""
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """Postings that belong together; they sum to nothing by unit."""

    postings: tuple[Posting, ...]

    def sums(self) -> dict[str, Decimal]:
        """Return the sum of each unit."""
        found: dict[str, Decimal] = {}
        for posting in self.postings:
            found[posting.unit] = found.get(posting.unit, Decimal(0)) + posting.amount
        return found


def exact(value: Fraction | float, step: Decimal) -> Decimal:
    """Return a value as a decimal of whole steps (cents, grams)."""
    made = Fraction(value)
    whole = Decimal(made.numerator) / Decimal(made.denominator)
    return whole.quantize(step, rounding=ROUND_HALF_EVEN)


def moved(
    day: date, source: str, target: str, amount: Decimal, unit: str, because: str, *, event: str = "",
    planned: bool = False,
) -> Entry:  # fmt: skip
    """Return the entry of an amount that went from one account to another."""
    return Entry(
        (
            Posting(day, source, -amount, unit, because, event, planned),
            Posting(day, target, amount, unit, because, event, planned),
        )
    )


def money_entries(events: Iterable[Event], zone: ZoneInfo) -> tuple[Entry, ...]:
    """Return the money of events that stand: spent, earned, bought and sold, in their order.

    A price of animals is for all of the entry.
    """
    return tuple(entry for event in events if (entry := money_entry(event, zone)) is not None)


def money_entry(event: Event, zone: ZoneInfo) -> Entry | None:
    """Return the money of one event; None where it is about none."""
    found = _said(event)
    if found is None:
        return None
    came, said, account, because = found
    day = event.observed.end.astimezone(zone).date()
    ends = (account, CASH) if came else (CASH, account)
    amount = exact(said.value, CENT)
    return moved(day, *ends, amount, said.unit, because, event=event.id, planned=event.planned)


def _said(event: Event) -> tuple[bool, Quantity, str, str] | None:
    """Return whether money came, how much, the other account, and what for; None for no money."""
    body = event.body
    if isinstance(body, (Spent, Earned)):
        came = isinstance(body, Earned)
        return came, body.amount, f"{'income' if came else 'cost'}: {body.what}", body.what
    if isinstance(body, (Sold, Bought)) and body.price is not None:
        came = isinstance(body, Sold)
        what = f"{body.head} {class_words(body.klass, body.head)}"
        return came, body.price, f"{'income' if came else 'cost'}: {body.klass}", what
    return None


def plan_entries(plan: MoneyPlan, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> tuple[Entry, ...]:
    """Return the money ahead as entries: a line each on its day or at the year's end, interest, principal."""
    return tuple(_planned(plan, knocks, given))


def _planned(plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn) -> Iterator[Entry]:
    cash = middle_cash(plan, knocks, given)
    names = {line.id: line for line in plan.lines}
    for year in range(plan.years):
        day = date(plan.first_year + year, 12, 31)
        for ident, amounts in cash.lines.items():
            amount, line = exact(float(amounts[year]), CENT), names[ident]
            if amount:
                account = f"{line.kind}: {line.name}"
                yield moved(_due(line, day), account, CASH, amount, plan.currency, line.name, planned=True)
        yield from _repaid(plan, year, day)


def _due(line: MoneyLine, end: date) -> date:
    """Return the day on which a line falls in a year: its own, or the year's last."""
    return line.due if line.due is not None and line.due.year == end.year else end


def _repaid(plan: MoneyPlan, year: int, day: date) -> Iterator[Entry]:
    """Yield what a year pays on every loan: interest, principal."""
    for loan in plan.loans:
        for what, paid in zip(("interest", "principal"), loan_cash(loan, plan.years)[year], strict=True):
            amount = exact(float(paid), CENT)
            if amount:
                yield moved(day, CASH, f"{what}: {loan.name}", amount, plan.currency, loan.name, planned=True)


def yearly(entries: Iterable[Entry], account: str, unit: str) -> dict[int, Decimal]:
    """Return what came to an account in each year, in one unit; one ending in ``:`` is a kind of account."""
    found: dict[int, Decimal] = {}
    for entry in entries:
        for posting in entry.postings:
            named = posting.account == account or (
                account.endswith(":") and posting.account.startswith(account)
            )
            if named and posting.unit == unit:
                found[posting.day.year] = found.get(posting.day.year, Decimal(0)) + posting.amount
    return dict(sorted(found.items()))
