"""A plan over many futures: what one draw in ten stays below, the middle, what one in ten goes above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.farm.accounts import Knock, MoneyPlan
from browseline.figures import Figure, Origin
from browseline.ledger.cash import Array, Cash
from browseline.ledger.drawn import Drawn, drawn_cash, range_figures
from browseline.science import finance

Struck = npt.NDArray[np.bool_]
LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
DECADE = 10
"""Years of the worst stretch that is looked for. [yr]"""
COVERED = 1.0
"""Coverage below which the loans are not covered. [1]"""


@dataclass(frozen=True)
class SpreadYear:
    """One year over all draws: each figure's value is the middle, its range four draws of five."""

    key: str
    year: int
    calendar: int
    coverage: Figure | None
    cash: Figure
    total: Figure


@dataclass(frozen=True)
class Stretch:
    """The worst years on end over all draws: their cash, the coverage at its least, and of which draw."""

    member: int
    first: int
    last: int
    cash: Figure
    coverage: Figure | None


@dataclass(frozen=True)
class Spread:
    """A plan over many futures.

    Attributes
    ----------
    draws : Figure
        How many.
    years : tuple of SpreadYear
    worst, deepest : SpreadYear
        The year whose poorer end covers the loans least (without loans, of the least cash); that whose poorer
        end of the running total is least.
    hole, worth, end : Figure
        The deepest of the running total in any year; worth today; in hand at the end. [money]
    rate_of_return, payback : Figure or None
        Where most draws have one; ``high`` of the payback None where one draw in ten never pays back. [1, yr]
    uncovered, in_hole, worthless, unpaid : Figure
        Draws in which some year does not cover the loans, the money in hand is below nothing at some year's
        end, all is worth less than nothing today, it ends below nothing.
    stretch : Stretch
    """

    draws: Figure
    years: tuple[SpreadYear, ...]
    worst: SpreadYear
    deepest: SpreadYear
    hole: Figure
    worth: Figure
    end: Figure
    rate_of_return: Figure | None
    payback: Figure | None
    uncovered: Figure | None
    in_hole: Figure
    worthless: Figure
    unpaid: Figure
    stretch: Stretch


@dataclass(frozen=True, eq=False)
class _Maker:
    """What the figures of a spread have in common."""

    plan: MoneyPlan
    parts: tuple[Figure, ...]
    origins: tuple[Origin, ...]
    members: int

    def range(self, name: str, values: Array, unit: str, about: str = "") -> Figure | None:
        """Return the middle of some draws and their range; None where the middle has no value."""
        low, middle, high = quantiles(values)
        if not np.isfinite(middle):
            return None
        ends = (float(low) if np.isfinite(low) else None, float(high) if np.isfinite(high) else None)
        formula = f"the middle of {self.members} draws"
        return Figure(name, float(middle), unit, *ends, self.origins, formula, self.parts, about=about)

    def money(self, name: str, values: Array, about: str = "") -> Figure:
        found = self.range(name, values, self.plan.currency, about)
        if found is None:
            raise ValueError(name)
        return found

    def share(self, name: str, struck: Struck) -> Figure:
        count = float(np.count_nonzero(struck))
        formula = f"counted in {self.members} draws"
        return Figure(name, count, "1", origins=self.origins, formula=formula, parts=self.parts)


def quantiles(values: Array) -> tuple[float, float, float]:
    """Return what one draw in ten is below, the middle, and what one in ten is above; NaN counts as most."""
    ordered = np.sort(np.where(np.isnan(values), np.inf, values))
    at = [round(share * (len(ordered) - 1)) for share in (LOW, MIDDLE, HIGH)]
    low, middle, high = (float(ordered[n]) for n in at)
    return low, middle, high


def spread_of(plan: MoneyPlan, given: Drawn, knocks: Sequence[Knock] = ()) -> Spread:
    """Return a plan over its futures, with what goes wrong in each of them."""
    cash = drawn_cash(plan, knocks, given)
    origins = tuple(dict.fromkeys(origin for one in given.follows.values() for origin in one.origins))
    guess = (Origin("farm", basis="placeholder"),)
    maker = _Maker(plan, range_figures(plan), origins or guess, len(given.members))
    total, covered = finance.running_total(cash.cash), cash.coverage
    years = tuple(_year(maker, cash, total, n) for n in range(plan.years))
    worth = finance.present_value(cash.cash, plan.discount.to("1"))
    due = bool((cash.payment > 0).any())
    short = np.where(np.isnan(covered), np.inf, covered).min(axis=0)
    draws = Figure("draws", float(maker.members), "1", origins=guess, formula=f"{maker.members}")
    return Spread(
        draws, years, years[_least(covered if due else cash.cash)], years[_least(total)],
        maker.money("spread_hole", total.min(axis=0)), maker.money("spread_worth", worth),
        maker.money("spread_end", total[-1]),
        maker.range("spread_rate", _rates(plan, cash), "1"),
        maker.range("spread_payback", finance.payback_year(cash.cash), "yr"),
        maker.share("draws_uncovered", short < COVERED) if due else None,
        maker.share("draws_in_hole", total.min(axis=0) < 0), maker.share("draws_worthless", worth < 0),
        maker.share("draws_unpaid", total[-1] < 0), _stretch(maker, cash),
    )  # fmt: skip


def _year(maker: _Maker, cash: Cash, total: Array, n: int) -> SpreadYear:
    about = f"year {n + 1}"
    covered = maker.range("spread_coverage", cash.coverage[n], "1", about)
    kept = maker.money("spread_cash", cash.cash[n], about)
    running = maker.money("spread_total", total[n], about)
    return SpreadYear(about, n + 1, maker.plan.first_year + n, covered, kept, running)


def _least(values: Array) -> int:
    """Return the year in which one draw in ten stays below least."""
    return int(np.argmin([quantiles(year)[0] for year in values]))


def _rates(plan: MoneyPlan, cash: Cash) -> Array:
    """Return the rate of return of each draw: NaN, shape (member,), where there is none. [1]"""
    put_in = sum(float(loan.amount.value) for loan in plan.loans)
    flows = cash.available + cash.beside
    if not put_in:
        return np.full(flows.shape[1], np.nan)
    return finance.internal_rate(np.concatenate([np.full((1, flows.shape[1]), -put_in), flows]))


def _stretch(maker: _Maker, cash: Cash) -> Stretch:
    """Return the ten years on end that bring least, over all draws."""
    length = min(DECADE, maker.plan.years)
    sums = np.apply_along_axis(np.convolve, 0, cash.cash, np.ones(length), "valid")
    first, member = (int(n) for n in np.unravel_index(np.argmin(sums), sums.shape))
    years = slice(first, first + length)
    covered = cash.coverage[years, member]
    about = f"year {first + 1} to {first + length}"
    kept = [
        Figure("cash_year", float(left), maker.plan.currency, origins=maker.origins, about=f"year {n}")
        for n, left in enumerate(cash.cash[years, member], first + 1)
    ]
    money = Figure(
        "stretch_cash", float(sums[first, member]), maker.plan.currency, origins=maker.origins,
        formula=f"the least of {maker.members} draws", parts=tuple(kept), about=about,
    )  # fmt: skip
    coverage = None
    if not np.isnan(covered).all():
        coverage = Figure(
            "stretch_coverage", float(np.nanmin(covered)), "1", origins=maker.origins, about=about,
            formula=f"the least of {length} years",
        )  # fmt: skip
    return Stretch(member, first + 1, first + length, money, coverage)
