"""Money ahead as figures: each year's cash, what the loans take, the worst year and the deepest hole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.figures import Figure, Origin, typed
from browseline.ledger.cash import Cash, counts, plan_cash, quantity
from browseline.science import finance
from browseline.units import Quantity, plain

AHEAD = Origin("farm", basis="placeholder")
"""A price or a yield of a year to come: typed here, and still a guess."""
MOVED = 0.1
"""By so much of itself an input is moved to see what moves the answer. [1]"""
MOVERS = 3


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


@dataclass(frozen=True)
class BreakEven:
    """Where one income line leaves the plan worth nothing today: its price, the share of its yield."""

    line: str
    price: Figure
    share: Figure


def outlook(plan: MoneyPlan, name: str, knocks: Sequence[Knock] = ()) -> Outlook:
    """Return a plan by year with the knocks that are switched on."""
    cash = plan_cash(plan, knocks)
    years = _years(plan, cash, knocks, name)
    total = finance.running_total(cash.cash)
    back = float(finance.payback_year(cash.cash))
    payback = None if math.isnan(back) else _made("payback", back, "yr", name, (years[int(back) - 1].total,))
    return Outlook(
        name,
        tuple(knock.id for knock in knocks),
        years,
        years[_worst(cash)],
        years[int(np.argmin(total))],
        _worth(plan, cash, years, name),
        years[-1].total,
        _return(plan, cash, years, name),
        payback,
    )


def _worst(cash: Cash) -> int:
    covered = cash.coverage
    return int(np.argmin(cash.cash) if np.isnan(covered).all() else np.nanargmin(covered))


def _made(
    name: str, value: float, unit: str, about: str, parts: tuple[Figure, ...], formula: str = ""
) -> Figure:
    return Figure(name, value, unit, parts=parts, about=about, formula=formula)


# ---------------------------------------------------------------- a year


def _years(plan: MoneyPlan, cash: Cash, knocks: Sequence[Knock], name: str) -> tuple[MoneyYear, ...]:
    made: list[MoneyYear] = []
    total = 0.0
    before: Figure | None = None
    for n in range(plan.years):
        one = _year(plan, cash, knocks, name, n, total, before)
        total, before = one.total.value or 0.0, one.total
        made.append(one)
    return tuple(made)


def _year(
    plan: MoneyPlan,
    cash: Cash,
    knocks: Sequence[Knock],
    name: str,
    n: int,
    total: float,
    before: Figure | None,
) -> MoneyYear:
    money, about = plan.currency, f"{name}, year {n + 1}"
    shown = {line.id: _line_figure(plan, line, cash, knocks, about, n) for line in plan.lines if counts(line)}
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


def _line_figure(
    plan: MoneyPlan, line: MoneyLine, cash: Cash, knocks: Sequence[Knock], about: str, n: int
) -> Figure:
    """Return one line's money of a year: how much × (price − less), with what struck it."""
    amount = float(quantity(line, plan.years, [k for k in knocks if k.line == line.id], {})[n])
    struck = [
        k.name for k in knocks if k.line == line.id and k.from_year <= n + 1 <= (k.to_year or plan.years)
    ]
    less = f" − {line.less.text}" if line.less is not None else ""
    formula = f"{plain(amount, 2)} × ({line.price.text}{less})"
    formula += "".join(f"; {name}" for name in struck)
    priced = ((line.price, "line_price"), (line.less, "line_less"))
    parts = tuple(_price(line.id, said, name) for said, name in priced if said is not None)
    value = float(cash.lines[line.id][n])
    return Figure("money_line", value, plan.currency, origins=(AHEAD,), parts=parts, formula=formula,
                  about=f"{line.name}, {about}")  # fmt: skip


def _price(about: str, said: Quantity, name: str) -> Figure:
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


def break_even(plan: MoneyPlan, knocks: Sequence[Knock] = ()) -> tuple[BreakEven, ...]:
    """Return, for each line that brings money, the price and the share of its yield that leave nothing."""
    cash, rate = plan_cash(plan, knocks), plan.discount.to("1")
    made = []
    for line in plan.lines:
        if line.kind != "income":
            continue
        net = cash.lines[line.id]
        sold = quantity(line, plan.years, [k for k in knocks if k.line == line.id], {})
        gross = net + sold * (float(line.less.value) if line.less is not None else 0.0)
        by_price = float(finance.break_even_factor(cash.cash - gross, gross, rate))
        by_yield = float(finance.break_even_factor(cash.cash - net, net, rate))
        if math.isnan(by_price) or math.isnan(by_yield):
            continue
        said = _price(line.id, line.price, "line_price")
        price = by_price * float(line.price.value)
        formula = f"{line.price.text} × {by_price:.3g}"
        made.append(
            BreakEven(
                line.name,
                _made("break_even_price", price, line.price.unit, line.name, (said,), formula),
                Figure("break_even_yield", by_yield, "1", origins=(AHEAD,), about=line.name),
            )
        )
    return tuple(made)


def unsigned(plan: MoneyPlan) -> tuple[str, ...]:
    """Return the carbon lines that have no signed contract and are in no sum."""
    return tuple(line.name for line in plan.lines if not counts(line))


@dataclass(frozen=True)
class Mover:
    """How much the worth today changes where one line brings (or costs) a tenth less."""

    line: str
    change: Figure


def movers(plan: MoneyPlan, knocks: Sequence[Knock] = ()) -> tuple[Mover, ...]:
    """Return the lines of which a tenth moves the worth most, the most first."""
    cash, rate = plan_cash(plan, knocks), plan.discount.to("1")
    made = []
    for line in plan.lines:
        if line.id in cash.lines:
            change = -MOVED * float(finance.present_value(cash.lines[line.id], rate))
            formula = f"−{MOVED:g} × Σ {line.name} ÷ (1 + {rate:g})^year"
            figure = Figure(
                "worth_moved", change, plan.currency, origins=(AHEAD,), formula=formula, about=line.name
            )
            made.append(Mover(line.name, figure))
    return tuple(sorted(made, key=lambda one: -abs(one.change.value or 0.0))[:MOVERS])
