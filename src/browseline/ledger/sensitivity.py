"""What moves the answer: a tenth of each input, each range alone, the price and yield that leave nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from browseline.farm.accounts import Knock, MoneyPlan
from browseline.figures import Figure
from browseline.ledger.cash import plan_cash
from browseline.ledger.changes import Change, changed
from browseline.ledger.drawn import NOBODY, Drawn, drawn_cash, middle_cash, range_figures
from browseline.ledger.money import AHEAD, price_figure
from browseline.ledger.spread import quantiles
from browseline.science import finance
from browseline.words import say

MOVED = 0.1
"""By so much of itself an input is moved to see what moves the answer. [1]"""
MOVERS = 3
NEARLY = 1e-9


@dataclass(frozen=True)
class BreakEven:
    """Where one income line leaves the plan worth nothing today: its price, the share of its yield."""

    line: str
    price: Figure
    share: Figure


@dataclass(frozen=True)
class Mover:
    """How much the worth today changes with one input: a tenth less of it, or its whole range."""

    line: str
    change: Figure


def worth(plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn) -> float:
    """Return what a plan is worth today. [money]"""
    return float(finance.present_value(middle_cash(plan, knocks, given).cash, plan.discount.to("1")))


def break_even(plan: MoneyPlan, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> tuple[BreakEven, ...]:
    """Return, for each line that brings money, the price and the share of its yield that leave nothing."""
    made = []
    for line in plan.lines:
        by_price, by_yield = (_factor(plan, knocks, given, (line.id, of)) for of in ("price", "yield"))
        if line.kind != "income" or by_price is None or by_yield is None:
            continue
        said = price_figure(line.name, line.price, "line_price")
        price = Figure(
            "break_even_price", by_price * float(line.price.value), line.price.unit, parts=(said,),
            about=line.name, formula=f"{line.price.text} × {by_price:.3g}",
        )  # fmt: skip
        share = Figure("break_even_yield", by_yield, "1", origins=(AHEAD,), about=line.name)
        made.append(BreakEven(line.name, price, share))
    return tuple(made)


def _factor(plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn, key: tuple[str, str]) -> float | None:
    """Return the factor on one input at which all is worth nothing: worth is a straight line in it."""
    ends = np.broadcast_to(np.array([0.0, 1.0]), (plan.years, 2))
    cash = plan_cash(plan, knocks, {key: ends}, given.means, given.mixed).cash
    if cash.shape[1] == 1:
        return None
    none, all_of_it = finance.present_value(cash, plan.discount.to("1"))
    return None if abs(all_of_it - none) < NEARLY else float(-none / (all_of_it - none))


def movers(plan: MoneyPlan, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> tuple[Mover, ...]:
    """Return the inputs of which a tenth less moves the worth most, the most first."""
    now, less = worth(plan, knocks, given), Fraction(1) - Fraction(str(MOVED))
    made = []
    for name, change in _inputs(plan, less):
        moved = worth(changed(plan, change), knocks, given) - now
        if moved:
            formula = f"{name} × {float(less):g}"
            made.append(
                Mover(
                    name,
                    Figure(
                        "worth_moved", moved, plan.currency, origins=(AHEAD,), formula=formula, about=name
                    ),
                )
            )
    return tuple(sorted(made, key=lambda one: -abs(one.change.value or 0.0))[:MOVERS])


def _inputs(plan: MoneyPlan, factor: Fraction) -> Iterator[tuple[str, Change]]:
    """Yield what can be moved with its name: how much of each line, each loan's rate, the discount."""
    for line in plan.lines:
        yield line.name, Change("yield", line.id, factor)
    for loan in plan.loans:
        share = Fraction(str(loan.rate.to("1"))) * factor
        yield say("money.input.rate", loan=loan.name), Change("rate", loan.id, share)
    share = Fraction(str(plan.discount.to("1"))) * factor
    yield say("money.input.discount"), Change("discount", "", share)


def wideners(plan: MoneyPlan, given: Drawn, knocks: Sequence[Knock] = ()) -> tuple[Mover, ...]:
    """Return what of the draws spreads the worth most: each range drawn alone, the decades alone."""
    parts = range_figures(plan)
    made = []
    for name, alone in _alone(plan, given):
        drawn = finance.present_value(drawn_cash(plan, knocks, alone).cash, plan.discount.to("1"))
        low, _, high = quantiles(drawn)
        figure = Figure(
            "worth_spread", high - low, plan.currency, origins=(AHEAD,), parts=parts, about=name,
            formula=f"{low:.2f} to {high:.2f}, of {len(drawn)} draws",
        )  # fmt: skip
        made.append(Mover(name, figure))
    return tuple(sorted(made, key=lambda one: -(one.change.value or 0.0))[:MOVERS])


def _alone(plan: MoneyPlan, given: Drawn) -> Iterator[tuple[str, Drawn]]:
    """Yield the draws with one thing drawn and the rest in the middle; lines of a market go together."""
    lines = {line.id: line for line in plan.lines}
    members = len(given.members)
    still = {
        name: replace(one, amount=np.broadcast_to(one.amount.mean(axis=1)[:, None], one.amount.shape))
        for name, one in given.follows.items()
    }
    groups: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for key in given.draws:
        line, of = lines[key[0]], key[1]
        about = (line.market or line.name) if of == "price" else line.name
        groups.setdefault((about, of), []).append(key)
    for (about, of), keys in groups.items():
        draws = {key: given.draws[key] for key in keys}
        yield say(f"money.input.{of}", about=about), replace(given, draws=draws, follows=still)
    if given.follows:
        sure = {(line, "yield"): np.ones((plan.years, members)) for line in given.follows}
        yield say("money.input.decades"), replace(given, draws=sure)
