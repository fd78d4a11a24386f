"""Money ahead in columns: by hand, and what must hold for every plan."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.farm.accounts import KNOCKS, LINE_KINDS, Knock, Loan, MoneyLine, MoneyPlan
from browseline.ledger.cash import line_cash, plan_cash
from browseline.ledger.money import outlook
from browseline.ledger.postings import CASH, CENT, exact, plan_entries, yearly
from browseline.ledger.sensitivity import break_even, movers
from browseline.units import Quantity


def money(amount: float) -> Quantity:
    return Quantity(f"${amount:g}", Fraction(str(round(amount, 2))), "USD")


def rate(percent: float) -> Quantity:
    return Quantity(f"{percent:g} %", Fraction(str(round(percent, 2))), "%")


NUMBER = st.floats(0, 1000).map(lambda x: round(x, 2))
YEARS = 12


@st.composite
def plans(draw: st.DrawFn) -> MoneyPlan:
    lines = tuple(
        MoneyLine(
            f"line{n}", f"Line {n}", draw(st.sampled_from(LINE_KINDS)), money(draw(NUMBER)),
            count=((1, draw(NUMBER)), (draw(st.integers(2, YEARS)), draw(NUMBER))),
            each=((1, draw(NUMBER)),), less=draw(st.none() | NUMBER.map(money)),
            from_year=draw(st.integers(1, YEARS)),
        )
        for n in range(draw(st.integers(1, 5)))
    )  # fmt: skip
    loans = tuple(
        Loan(f"loan{n}", f"Loan {n}", money(draw(NUMBER)), rate(draw(st.floats(0, 20))),
             draw(st.integers(2, 20)), draw(st.integers(0, 1)), draw(st.integers(1, YEARS)))
        for n in range(draw(st.integers(0, 2)))
    )  # fmt: skip
    return MoneyPlan(2026, YEARS, rate(5), loans, lines)


@st.composite
def knocks_on(draw: st.DrawFn, line: str) -> Knock:
    on = draw(st.sampled_from(KNOCKS))
    return Knock("k", "K", line, on, draw(st.floats(0, 2)), money(draw(NUMBER)), draw(st.integers(0, 3)),
                 draw(st.integers(1, YEARS)))  # fmt: skip


@given(plans(), st.data())
def test_every_planned_entry_sums_to_nothing_by_unit(plan: MoneyPlan, data: st.DataObject) -> None:
    knocks = (data.draw(knocks_on(plan.lines[0].id)),)
    for entry in plan_entries(plan, knocks):
        assert all(total == 0 for total in entry.sums().values())


@given(plans())
def test_the_cash_of_postings_is_that_of_the_columns(plan: MoneyPlan) -> None:
    found, cash = yearly(plan_entries(plan), CASH, "USD"), plan_cash(plan).cash
    cents = 0.005 * (len(plan.lines) + 2 * len(plan.loans)) + 1e-6 * float(np.abs(cash).max())
    for n in range(YEARS):
        assert float(found.get(2026 + n, Decimal(0))) == pytest.approx(cash[n], abs=cents)


@given(plans(), st.data())
def test_members_are_columns_and_drawn_ones_are_those_of_a_knock(
    plan: MoneyPlan, data: st.DataObject
) -> None:
    """A factor drawn for every year of a member is the knock of that factor."""
    line, members = plan.lines[0], data.draw(st.lists(st.floats(0, 2), min_size=2, max_size=4))
    for what in ("price", "yield", "count"):
        draws = {(line.id, what): np.broadcast_to(np.array(members), (YEARS, len(members)))}
        together = plan_cash(plan, draws=draws)
        if line.kind == "carbon":
            continue
        assert together.cash.shape == (YEARS, len(members))
        for column, factor in enumerate(members):
            alone = plan_cash(plan, (Knock("k", "K", line.id, what, factor),))
            assert together.cash[:, column] == pytest.approx(alone.cash, rel=1e-9, abs=1e-6)


def test_draws_of_two_inputs_together() -> None:
    plan = MoneyPlan(2026, 2, rate(5), (), (MoneyLine("a", "A", "income", money(2), ((1, 3.0),)),))
    draws = {
        ("a", "price"): np.array([[1.0, 2.0], [1.0, 1.0]]),
        ("a", "yield"): np.array([[1.0, 0.5], [0.0, 1.0]]),
        ("a", "count"): np.array([[2.0, 1.0], [1.0, 1.0]]),
    }
    assert plan_cash(plan, draws=draws).cash == pytest.approx(np.array([[12.0, 6.0], [0.0, 6.0]]))


def test_a_line_outside_its_years_and_moved_by_hand() -> None:
    line = MoneyLine("a", "A", "cost", money(10), ((1, 2.0),), from_year=2, to_year=3)
    assert line_cash(line, 4, (), {}) == pytest.approx([0, -20, -20, 0])
    late = Knock("k", "K", "a", "later", years_later=2)
    assert line_cash(line, 4, (late,), {}) == pytest.approx([0, 0, 0, -20])
    dearer = Knock("k", "K", "a", "amount", 1.5, money(7), from_year=3)
    assert line_cash(line, 4, (dearer,), {}) == pytest.approx([0, -20, -37, -7])


def test_a_plan_of_no_lines_pays_its_loan() -> None:
    loan = Loan("l", "L", money(100), rate(0), 2, first=2)
    plan = MoneyPlan(2026, 4, rate(5), (loan,), ())
    assert plan_cash(plan).cash == pytest.approx([0, -50, -50, 0])
    found = outlook(plan, "base")
    assert found.payback is None
    assert found.years[0].coverage is None
    assert found.rate_of_return is None or found.rate_of_return.value is not None


def test_without_a_loan_the_worst_year_is_that_of_least_cash() -> None:
    line = MoneyLine("a", "A", "income", money(1), ((1, 5.0), (2, 1.0), (3, 4.0)))
    plan = MoneyPlan(2026, 3, rate(5), (), (line,))
    found = outlook(plan, "base")
    assert (found.worst.year, found.rate_of_return) == (2, None)
    assert found.worth.value == pytest.approx(5 / 1.05 + 1 / 1.05**2 + 4 / 1.05**3)


@given(plans())
def test_the_movers_are_in_order_and_break_even_leaves_nothing(plan: MoneyPlan) -> None:
    sizes = [abs(one.change.value or 0.0) for one in movers(plan)]
    assert sizes == sorted(sizes, reverse=True)
    for one in break_even(plan):
        ident = next(line.id for line in plan.lines if line.name == one.line)
        share = one.share.value or 0.0
        cash = plan_cash(plan, (Knock("k", "K", ident, "count", share),))
        scale = float(np.abs(plan_cash(plan).cash).sum()) * max(1.0, abs(share)) + 1
        assert outlook(plan, "x", (Knock("k", "K", ident, "count", share),)).worth.value == pytest.approx(
            0, abs=1e-6 * scale
        )
        assert cash.cash.shape == (YEARS,)


@given(st.fractions(-1000, 1000))
def test_a_cent_is_the_step_of_money(value: Fraction) -> None:
    assert abs(Fraction(exact(value, CENT)) - value) <= Fraction(1, 200)
