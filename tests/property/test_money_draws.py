"""Futures of a money plan: keyed draws, shared ones wider; a change that turns an answer really turns it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import numpy_financial as npf  # type: ignore[import-untyped]
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from browseline.farm.accounts import Knock, Loan, MoneyLine, MoneyPlan
from browseline.ledger.cash import plan_cash
from browseline.ledger.changes import changed
from browseline.ledger.drawn import Followed, drawn, plan_draws
from browseline.ledger.flip import Question, ask, margin
from browseline.ledger.spread import quantiles, spread_of
from browseline.science import finance
from browseline.units import Quantity

YEARS = 8
MANY = tuple(range(400))


def money(amount: float) -> Quantity:
    return Quantity(f"${amount:.2f}", Fraction(str(round(amount, 2))), "USD")


def share(percent: float) -> Quantity:
    return Quantity(f"{percent:g} %", Fraction(str(round(percent, 2))), "%")


def line(name: str, price: float, **more: object) -> MoneyLine:
    return MoneyLine(name, name.title(), "income", money(price), **more)  # type: ignore[arg-type]


def plan(*lines: MoneyLine, loans: tuple[Loan, ...] = (), **more: object) -> MoneyPlan:
    return MoneyPlan(2026, YEARS, share(5), loans, lines, **more)  # type: ignore[arg-type]


@given(st.integers(0, 2**32), st.floats(5, 60), st.floats(0, 40), st.integers(2, 4))
@settings(max_examples=25, deadline=None)
def test_shared_draws_give_wider_totals_than_independent_ones(
    seed: int, level: float, swing: float, lines: int
) -> None:
    """Lines of one market are wrong together; their sum spreads wider than that of lines of their own."""
    ranges = {"price_range": share(level), "price_swing": share(swing)}
    apart = [line(f"line{n}", 100, **ranges) for n in range(lines)]
    together = [replace(one, market="nuts") for one in apart]
    widths = []
    for made in (together, apart):
        of = plan(*made)
        total = plan_cash(of, (), plan_draws(of, seed, MANY)).cash.sum(axis=0)
        widths.append(float(np.log(total).std()))
    assert widths[0] > widths[1]


@given(st.integers(0, 2**32), st.integers(1, YEARS - 1), st.integers(1, 20))
@settings(max_examples=25, deadline=None)
def test_more_years_members_and_lines_change_no_other_draw(seed: int, years: int, members: int) -> None:
    ranges = {"price_range": share(20), "price_swing": share(10), "yield_range": share(30)}
    whole = plan_draws(plan(line("a", 3, **ranges), line("b", 4, **ranges)), seed, tuple(range(25)))
    part = plan_draws(replace(plan(line("b", 9, **ranges)), years=years), seed, tuple(range(members)))
    for key, factor in part.items():
        assert np.array_equal(factor, whole[key][:years, :members])


@given(st.integers(0, 2**32), st.floats(5, 80))
@settings(max_examples=20, deadline=None)
def test_four_draws_of_five_lie_in_the_range_that_was_typed(seed: int, percent: float) -> None:
    of = plan(line("a", 3, price_range=share(percent)))
    factor = plan_draws(of, seed, MANY)["a", "price"][0]
    inside = ((factor >= 1 / (1 + percent / 100)) & (factor <= 1 + percent / 100)).mean()
    assert inside == pytest.approx(0.8, abs=0.09)  # 4.5 standard errors of 400 draws


def test_what_follows_the_decades_takes_their_members() -> None:
    amount = np.array([[1.0, 3.0], [2.0, 2.0], *[[4.0, 0.0]] * (YEARS - 2)])
    of = plan(line("nuts", 10, follows="yield hazel nuts", per="kg"))
    given_ = drawn(of, 1, {"nuts": Followed(amount, "kg")}, members=(0, 1))
    assert plan_cash(of, (), None, given_.means).cash == pytest.approx([20] * YEARS)
    wide = plan_cash(of, (), given_.draws, given_.amounts).cash
    assert wide == pytest.approx(amount * 10)
    struck = plan_cash(of, (Knock("f", "frost", "nuts", "yield", 0.5),), None, given_.means)
    assert struck.cash == pytest.approx([10] * YEARS)
    found = spread_of(of, given_)
    assert found.stretch.member == 1
    assert found.stretch.cash.value == pytest.approx(50)


def test_quantiles_against_numpy() -> None:
    values = np.random.default_rng(3).normal(size=101)
    assert quantiles(values) == pytest.approx(np.quantile(values, [0.1, 0.5, 0.9]))
    assert quantiles(np.array([1.0, np.nan, np.nan]))[1] == np.inf


def test_a_spread_counts_its_draws() -> None:
    loan = Loan("l", "Barn", money(400), share(0), YEARS)
    of = plan(line("a", 50, price_range=share(30)), loans=(loan,))
    given_ = drawn(of, 5)
    found, cash = spread_of(of, given_), plan_cash(of, (), given_.draws)
    short = (cash.coverage < 1).any(axis=0).sum()
    assert 0 < short < 100
    assert found.uncovered is not None
    assert found.uncovered.value == short
    total = finance.running_total(cash.cash)
    assert found.in_hole.value == (total.min(axis=0) < 0).sum()
    assert found.unpaid.value == (total[-1] < 0).sum()
    assert found.worthless.value == (finance.present_value(cash.cash, 0.05) < 0).sum()
    assert found.hole.low == pytest.approx(np.sort(total.min(axis=0))[10])


def test_a_plans_range_of_yields_is_not_laid_on_what_the_decades_draw() -> None:
    """What follows the decades spreads by its own members; the plan's range would count it twice."""
    of = plan(
        line("nuts", 10, follows="yield hazel nuts", per="kg"), line("lambs", 10), yield_range=share(30)
    )
    assert set(plan_draws(of, 1, MANY)) == {("lambs", "yield")}


def test_the_drawn_rate_of_return_is_that_of_numpy_financial() -> None:
    """What the loan bought against cash before payments, planting in it: draw by draw."""
    loan = Loan("l", "Barn", money(2000), share(4), YEARS)
    planting = MoneyLine("trees", "Trees", "planting", money(300), to_year=1)
    of = plan(line("a", 500, price_range=share(30)), planting, loans=(loan,))
    given_ = drawn(of, 5)
    cash = plan_cash(of, (), given_.draws)
    flows = cash.available + cash.beside
    rates = sorted(npf.irr([-2000.0, *flows[:, member]]) for member in range(flows.shape[1]))
    found = spread_of(of, given_).rate_of_return
    assert found is not None
    assert (found.low, found.value, found.high) == pytest.approx((rates[10], rates[50], rates[89]), rel=1e-3)


@st.composite
def flippable(draw: st.DrawFn) -> tuple[MoneyPlan, tuple[Knock, ...]]:
    amount = st.floats(1, 400).map(lambda x: round(x, 2))
    lines = (
        line("lambs", draw(amount), count=((1, float(draw(st.integers(2, 90)))),)),
        line("nuts", draw(amount), each=((1, 0.0), (4, 2.0), (6, 5.0)), from_year=3),
        MoneyLine("costs", "Costs", "cost", money(draw(amount)), ((1, float(draw(st.integers(1, 60)))),)),
    )
    loan = Loan("l", "Barn", money(draw(st.floats(100, 20000))), share(draw(st.floats(0, 12))), YEARS)
    knocks = (Knock("k", "K", "lambs", "count", draw(st.floats(0.3, 1)), from_year=4, to_year=4),)
    return plan(*lines, loans=(loan,)), knocks[: draw(st.integers(0, 1))]


@given(flippable(), st.sampled_from(["covers", "worth"]))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_change_that_is_told_turns_the_answer(
    made: tuple[MoneyPlan, tuple[Knock, ...]], question: Question
) -> None:
    of, knocks = made
    found = ask(question, of, knocks)
    assert found.yes == (margin(question, of, knocks) >= 0)
    assert [flip.far for flip in found.flips] == sorted(flip.far for flip in found.flips)
    for flip in found.flips:
        after = changed(of, flip.change)
        assert after != of
        assert (margin(question, after, knocks) >= 0) != found.yes


@given(flippable())
@settings(max_examples=20, deadline=None)
def test_a_change_a_little_smaller_does_not_turn_it(made: tuple[MoneyPlan, tuple[Knock, ...]]) -> None:
    """Two cents, two tenths of a percent, two head or a year nearer turns nothing."""
    of, knocks = made
    found = ask("worth", of, knocks)
    for flip in found.flips:
        to, was = flip.change.to, flip.was
        head = of.lines[0 if flip.change.about == "lambs" else 2].count[0][1]
        step = {"price": Fraction(1, 50), "later": Fraction(1), "count": Fraction(2, round(head))}.get(
            flip.change.on, Fraction(1, 500)
        )
        nearer = to - step if to > was else to + step
        if (nearer > was) == (to > was) and nearer != was:
            after = changed(of, replace(flip.change, to=nearer))
            assert (margin("worth", after, knocks) >= 0) == found.yes, flip
