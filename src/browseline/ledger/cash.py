"""Money ahead in columns: years down, members across; what is typed once is the same for every member."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from browseline.farm.accounts import Knock, Loan, MoneyLine, MoneyPlan, Steps
from browseline.science import finance

Array = finance.Array
Draws = Mapping[tuple[str, str], Array]
"""Factors on a line's *price*, *yield* or *count*, by (line, what), shape (year, member)."""
Amounts = Mapping[str, Array]
"""What lines take from the decades in place of their typed count, shape (year,) or (year, member)."""


@dataclass(frozen=True, eq=False)
class Mixed:
    """What the record says of lines in years that are under way or over.

    Attributes
    ----------
    done : mapping from line to array, shape (year,)
        On record or planned for a day, below 0 what goes out. [money]
    left : mapping from line to array, shape (year,)
        Share of the plan's money that is still to come; 1 where nothing is on record. [1]
    """

    done: Mapping[str, Array]
    left: Mapping[str, Array]


BESIDE = ("planting", "refund")
"""Lines that stand beside the cash that pays the loans."""
OUT = ("cost", "planting")
"""Lines whose money goes out."""


@dataclass(frozen=True)
class Cash:
    """A plan's money by year.

    Attributes
    ----------
    lines : mapping from line to array, shape (year, ...)
        What comes in, below 0 what goes out. [money]
    available, beside : array, shape (year, ...)
        Income less cost; refunds less planting. [money]
    interest, principal : array, shape (year,)
        Of all loans. [money]
    """

    lines: Mapping[str, Array]
    available: Array
    beside: Array
    interest: Array
    principal: Array

    @property
    def payment(self) -> Array:
        """Return what the loans take. [money]"""
        return np.asarray(self.interest + self.principal)

    @property
    def coverage(self) -> Array:
        """Return available cash over principal and interest; NaN where nothing is due. [1]"""
        return finance.coverage(self.available, _columns(self.payment, self.available))

    @property
    def cash(self) -> Array:
        """Return what is left of a year. [money]"""
        return np.asarray(self.available + self.beside - _columns(self.payment, self.available))


def _columns(by_year: Array, like: Array) -> Array:
    return by_year.reshape((-1,) + (1,) * (like.ndim - 1))


def plan_cash(
    plan: MoneyPlan,
    knocks: Sequence[Knock] = (),
    draws: Draws | None = None,
    amounts: Amounts | None = None,
    mixed: Mixed | None = None,
) -> Cash:
    """Return a plan's money by year, with what goes wrong in it.

    Parameters
    ----------
    plan : MoneyPlan
        Its carbon lines count only where they are signed.
    knocks : sequence of Knock
        Those that strike; a line's factors multiply.
    draws : mapping, optional
        Shape (year, member) each, or (year, 1); without it no member axis.
    amounts : mapping, optional
        Of lines that follow the decades; of two axes where there are members.
    mixed : Mixed, optional
        What is on record: knocks and draws strike only what is still to come.
    """
    given = {name: np.asarray(one) for name, one in (amounts or {}).items()}
    wide = bool(draws) or any(one.ndim > 1 for one in given.values())
    given = {name: one[:, None] if wide and one.ndim == 1 else one for name, one in given.items()}
    taken = {
        line.id: line_cash(line, plan.years, knocks, draws or {}, given.get(line.id), wide)
        for line in plan.lines
        if counts(line)
    }
    taken = _with_record(taken, mixed, wide)
    shape = np.broadcast_shapes((plan.years, *[1] * wide), *(cash.shape for cash in taken.values()))
    kinds = {line.id: line.kind for line in plan.lines}
    paying, beside = np.zeros(shape), np.zeros(shape)
    for name, cash in taken.items():
        if kinds[name] in BESIDE:
            beside = beside + cash
        else:
            paying = paying + cash
    interest, principal = np.zeros(plan.years), np.zeros(plan.years)
    for loan in plan.loans:
        paid = loan_cash(loan, plan.years)
        interest, principal = interest + paid[:, 0], principal + paid[:, 1]
    return Cash(taken, paying, beside, interest, principal)


def _with_record(ahead: Mapping[str, Array], mixed: Mixed | None, wide: bool) -> dict[str, Array]:
    """Return each line's money with what is on record in place of that part of it."""
    if mixed is None:
        return dict(ahead)
    made = dict(ahead)
    for name in mixed.done.keys() & made.keys():
        done, left = (_tall(of[name], wide) for of in (mixed.done, mixed.left))
        made[name] = done + left * made[name]
    return made


def counts(line: MoneyLine) -> bool:
    """Return whether a line is money: carbon is none without a signed contract."""
    return line.kind != "carbon" or line.signed is not None


def line_cash(
    line: MoneyLine,
    years: int,
    knocks: Sequence[Knock],
    draws: Draws,
    amount: Array | None = None,
    wide: bool = False,
) -> Array:
    """Return one line's money: count × each × (price − less), below 0 where it goes out. [money]"""
    mine = [knock for knock in knocks if knock.line == line.id]
    wide = wide or bool(draws)
    struck = _tall(float(line.price.value) * _struck(mine, "price", years), wide)
    price = struck * draws.get((line.id, "price"), 1.0)
    less = float(line.less.value) if line.less is not None else 0.0
    times = quantity(line, years, mine, draws, amount, wide)
    money = times * (price - less) * _tall(_struck(mine, "amount", years), wide)
    sign = -1.0 if line.kind in OUT else 1.0
    more = sum((_added(knock, years) for knock in mine), np.zeros(years))
    return np.asarray(sign * (_later(money, mine) + _tall(more, wide)))


def quantity(
    line: MoneyLine,
    years: int,
    knocks: Sequence[Knock],
    draws: Draws,
    amount: Array | None = None,
    wide: bool = False,
) -> Array:
    """Return how much is sold or bought: count × each, nothing outside the line's years.

    ``amount`` stands for the count of a line that follows the decades.
    """
    wide = wide or bool(draws)
    struck = _struck(knocks, "count", years) * _struck(knocks, "yield", years)
    each = _tall(stepped(line.each, years) * struck * _within(line.from_year, line.to_year, years), wide)
    count = _tall(stepped(line.count, years), wide) if amount is None else amount
    drawn = draws.get((line.id, "count"), 1.0) * draws.get((line.id, "yield"), 1.0)
    return np.asarray(count * each * drawn)


def _tall(by_year: Array, wide: bool) -> Array:
    """Return numbers by year as a column where there are members."""
    return by_year[:, None] if wide else by_year


def stepped(steps: Steps, years: int) -> Array:
    """Return a number a year from numbers each from a year on; nothing before the first. [as typed]"""
    made = np.zeros(years)
    for year, number in steps:
        made[year - 1 :] = number
    return made


def _within(first: int, last: int | None, years: int) -> Array:
    year = np.arange(1, years + 1)
    return np.where((year >= first) & (year <= (last or years)), 1.0, 0.0)


def _struck(knocks: Sequence[Knock], on: str, years: int) -> Array:
    made = np.ones(years)
    for knock in knocks:
        if knock.on == on:
            made = made * np.where(_within(knock.from_year, knock.to_year, years) > 0, knock.factor, 1.0)
    return made


def _added(knock: Knock, years: int) -> Array:
    more = float(knock.add.value) if knock.add is not None and knock.on == "amount" else 0.0
    return more * _within(knock.from_year, knock.to_year, years)


def _later(amount: Array, knocks: Sequence[Knock]) -> Array:
    """Return money moved by whole years; what falls behind the last year is not in the plan."""
    by = sum(knock.years_later for knock in knocks if knock.on == "later")
    if by == 0:
        return amount
    moved = np.zeros(amount.shape)
    moved[by:] = amount[: len(amount) - by]
    return moved


def loan_cash(loan: Loan, years: int) -> Array:
    """Return interest and principal of a loan by year of a plan, shape (year, 2). [money]"""
    paid = finance.loan_years(
        float(loan.amount.value), float(loan.rate.to("1")), loan.years, loan.interest_only
    )
    made = np.zeros((years, 2))
    begin = loan.first - 1
    length = max(min(years - begin, loan.years), 0)
    made[begin : begin + length] = paid[:length, :2]
    return made
