"""Money ahead as figures: each year's cash, what the loans take, the worst year and the deepest hole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.figures import Figure, Origin, typed
from browseline.ledger.cash import Array, Cash, counts, quantity
from browseline.ledger.drawn import NOBODY, Drawn, Followed, middle_cash
from browseline.ledger.money_words import case_words
from browseline.science import finance
from browseline.units import Quantity, plain
from browseline.words import say

AHEAD = Origin("farm", basis="placeholder")
"""A price or a yield of a year to come: typed here, and still a guess."""


@dataclass(frozen=True)
class MoneyYear:
    """One year of a plan: its number, and its money. [money]"""

    key: str
    year: int
    calendar: int
    available: Figure
    payment: Figure
    coverage: Figure | None
    beside: Figure
    cash: Figure
    total: Figure


@dataclass(frozen=True)
class Outlook:
    """A plan with what goes wrong in it (nothing in the *base*).

    Attributes
    ----------
    years : tuple of MoneyYear
    worst, deepest : MoneyYear
        The year that covers the loans least (without loans, of the least cash); the year at whose end the
        running total is least.
    worth : Figure
        Of all cash today, by the plan's discount, the first year's a year away. [money]
    end : Figure
        Running total at the end. [money]
    rate_of_return : Figure or None
        On the loans' money put in at the start, before payments. [1]
    payback : Figure or None
        Year from which the total is never again below nothing. [yr]
    """

    name: str
    knocks: tuple[str, ...]
    years: tuple[MoneyYear, ...]
    worst: MoneyYear
    deepest: MoneyYear
    worth: Figure
    end: Figure
    rate_of_return: Figure | None
    payback: Figure | None


def outlook(plan: MoneyPlan, name: str, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> Outlook:
    """Return a plan by year with the knocks that are switched on; what follows the decades by its mean."""
    cash = middle_cash(plan, knocks, given)
    years = _years(_Case(plan, cash, knocks, name, given))
    total = finance.running_total(cash.cash)
    back = float(finance.payback_year(cash.cash))
    called = case_words(name)
    payback = None if math.isnan(back) else _payback(years, int(back), called)
    return Outlook(
        name,
        tuple(knock.id for knock in knocks),
        years,
        years[_worst(cash)],
        years[int(np.argmin(total))],
        _worth(plan, cash, years, called),
        years[-1].total,
        _return(plan, cash, years, called),
        payback,
    )


def _payback(years: Sequence[MoneyYear], back: int, name: str) -> Figure:
    """Return the year from which the money in hand stays above nothing."""
    parts = tuple(year.total for year in years[max(back - 2, 0) : back])
    formula = ", ".join(_plain(part) for part in parts) + ", …"
    return _made("payback", float(back), "yr", name, parts, formula)


def _worst(cash: Cash) -> int:
    covered = cash.coverage
    return int(np.argmin(cash.cash) if np.isnan(covered).all() else np.nanargmin(covered))


def _made(
    name: str, value: float, unit: str, about: str, parts: tuple[Figure, ...], formula: str = ""
) -> Figure:
    return Figure(name, value, unit, parts=parts, about=about, formula=formula)


# ---------------------------------------------------------------- a year


@dataclass(frozen=True, eq=False)
class _Case:
    """One case of a plan: what strikes, and the money by year that comes of it."""

    plan: MoneyPlan
    cash: Cash
    knocks: Sequence[Knock]
    name: str
    given: Drawn

    def sold(self, line: MoneyLine) -> Array:
        """Return how much of a line, shape (year,)."""
        mine = [knock for knock in self.knocks if knock.line == line.id]
        return quantity(line, self.plan.years, mine, {}, self.given.means.get(line.id))


def _years(case: _Case) -> tuple[MoneyYear, ...]:
    made: list[MoneyYear] = []
    before: Figure | None = None
    for n in range(case.plan.years):
        one = _year(case, n, before)
        before = one.total
        made.append(one)
    return tuple(made)


def _year(case: _Case, n: int, before: Figure | None) -> MoneyYear:
    plan, cash = case.plan, case.cash
    money, about = plan.currency, say("money.about.year", case=case_words(case.name), year=n + 1)
    total = (before.value or 0.0) if before is not None else 0.0
    shown = {line.id: _line_figure(case, line, about, n) for line in plan.lines if counts(line)}
    kinds = {line.id: line.kind for line in plan.lines}
    paying = tuple(f for i, f in shown.items() if kinds[i] in ("income", "cost", "carbon") and f.value)
    others = tuple(f for i, f in shown.items() if kinds[i] in ("planting", "refund") and f.value)
    available = _sum("cash_available", paying, money, about, float(cash.available[n]))
    beside = _sum("cash_beside", others, money, about, float(cash.beside[n]))
    payment = _payment(plan, cash, about, n)
    covered = float(cash.coverage[n])
    coverage = None
    if not math.isnan(covered):
        formula = f"{_plain(available)} ÷ {_plain(payment)}"
        coverage = _made("coverage", covered, "1", about, (available, payment), formula)
    kept = float(cash.cash[n])
    formula = f"{_plain(available)} − {_plain(payment)} + {_plain(beside)}"
    left = _made("cash_year", kept, money, about, (available, payment, beside), formula)
    running = _made(
        "cash_total", total + kept, money, about, (left,) if before is None else (before, left),
        f"{plain(total, 2)} + {_plain(left)}",
    )  # fmt: skip
    return MoneyYear(
        f"year {n + 1}", n + 1, plan.first_year + n, available, payment, coverage, beside, left, running
    )


def _plain(figure: Figure) -> str:
    return plain(figure.value or 0.0, 2)


def _sum(name: str, parts: tuple[Figure, ...], unit: str, about: str, value: float) -> Figure:
    formula = " + ".join(_plain(part) for part in parts) or "0"
    return Figure(
        name, value, unit, origins=() if parts else (AHEAD,), parts=parts, about=about, formula=formula
    )


def _line_figure(case: _Case, line: MoneyLine, about: str, n: int) -> Figure:
    """Return one line's money of a year: how much × (price − less), with what struck it."""
    plan = case.plan
    struck = [
        k.name for k in case.knocks if k.line == line.id and k.from_year <= n + 1 <= (k.to_year or plan.years)
    ]
    less = f" − {line.less.text}" if line.less is not None else ""
    formula = f"{plain(float(case.sold(line)[n]), 2)} × ({line.price.text}{less})"
    formula = f"{_on_record(case, line, n)}{formula}" + "".join(f"; {name}" for name in struck)
    priced = ((line.price, "line_price"), (line.less, "line_less"))
    parts = tuple(price_figure(line.name, said, name) for said, name in priced if said is not None)
    follows = case.given.follows.get(line.id)
    if follows is not None:
        parts = (_followed(line, follows, n), *parts)
    value = float(case.cash.lines[line.id][n])
    return Figure("money_line", value, plan.currency, origins=(AHEAD,), parts=parts, formula=formula,
                  about=say("money.about.line", line=line.name, about=about))  # fmt: skip


def _on_record(case: _Case, line: MoneyLine, n: int) -> str:
    """Return how a line's formula begins where some of its year is on record already."""
    mixed = case.given.mixed
    if mixed is None or line.id not in mixed.done or mixed.left[line.id][n] == 1.0:
        return ""
    return f"{plain(float(mixed.done[line.id][n]), 2)} + {plain(float(mixed.left[line.id][n]))} × "


def _followed(line: MoneyLine, follows: Followed, n: int) -> Figure:
    """Return how much the decades give a line in a year: the mean over members and four of five of them."""
    of_year = follows.amount[n]
    low, high = (float(np.quantile(of_year, q)) for q in (0.1, 0.9))
    formula = f"the mean of {len(of_year)} draws"
    return Figure(
        "line_followed", float(of_year.mean()), follows.unit, low, high, follows.origins, formula,
        about=say("money.about.year", case=line.follows, year=n + 1),
    )  # fmt: skip


def price_figure(about: str, said: Quantity, name: str) -> Figure:
    """Return a price of the years ahead as a figure: typed here, and a guess."""
    return Figure(name, float(said.value), said.unit, origins=(AHEAD,), about=about, typed=said.text)


def _payment(plan: MoneyPlan, cash: Cash, about: str, n: int) -> Figure:
    parts = tuple(
        typed("loan_amount", float(loan.amount.value), loan.amount.unit, loan.amount.text, about=loan.name)
        for loan in plan.loans
    ) + tuple(
        typed("loan_rate", loan.rate.to("1"), "1", loan.rate.text, about=loan.name) for loan in plan.loans
    )
    interest, principal = float(cash.interest[n]), float(cash.principal[n])
    formula = f"{plain(interest, 2)} + {plain(principal, 2)}"
    origins = () if parts else (Origin("farm"),)
    value = float(cash.payment[n])
    return Figure(
        "loan_payment", value, plan.currency, origins=origins, parts=parts, formula=formula, about=about
    )


# ---------------------------------------------------------------- all years


def _worth(plan: MoneyPlan, cash: Cash, years: Sequence[MoneyYear], name: str) -> Figure:
    rate = plan.discount.to("1")
    value = float(finance.present_value(cash.cash, rate))
    parts = (typed("discount", rate, "1", plan.discount.text), *(year.cash for year in years))
    return _made("worth_today", value, plan.currency, name, parts, f"Σ cash ÷ (1 + {rate:g})^year")


def _return(plan: MoneyPlan, cash: Cash, years: Sequence[MoneyYear], name: str) -> Figure | None:
    put_in = sum(float(loan.amount.value) for loan in plan.loans)
    if not put_in:
        return None
    flows = np.concatenate([[-put_in], cash.available + cash.beside])
    rate = float(finance.internal_rate(flows))
    if math.isnan(rate):
        return None
    parts = tuple(figure for year in years for figure in (year.available, year.beside))
    return _made("rate_of_return", rate, "1", name, parts, f"−{plain(put_in, 2)}, cash of {len(years)} years")


def unsigned(plan: MoneyPlan) -> tuple[str, ...]:
    """Return the carbon lines that have no signed contract and are in no sum."""
    return tuple(line.name for line in plan.lines if not counts(line))
