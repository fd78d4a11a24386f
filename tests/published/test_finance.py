"""Money over years beside numpy-financial, and by hand."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.science import finance

MONEY = st.floats(-1e5, 1e5).map(lambda x: round(x, 2))
FLOWS = st.lists(MONEY, min_size=1, max_size=40)
RATE = st.floats(-0.2, 0.6)


@given(FLOWS, RATE)
def test_present_value_is_that_of_numpy_financial(cash: list[float], rate: float) -> None:
    """npf.npv counts its first entry today; ours comes a year later."""
    ours = finance.present_value(np.array(cash), rate)
    assert ours == pytest.approx(npf.npv(rate, [0.0, *cash]), rel=1e-9, abs=1e-4)


@given(st.floats(1, 1e7), st.floats(0.0001, 0.5), st.integers(1, 60))
def test_payment_is_that_of_numpy_financial(amount: float, rate: float, years: int) -> None:
    assert finance.level_payment(amount, rate, years) == pytest.approx(
        -npf.pmt(rate, years, amount), rel=1e-9
    )


def test_a_loan_without_interest_is_paid_in_equal_parts() -> None:
    assert finance.level_payment(1500, 0, 15) == npf.pmt(0, 15, -1500) == 100


@given(
    st.floats(1, 1e6),
    st.lists(st.floats(0, 1e5).map(lambda x: round(x, 2)), min_size=1, max_size=30).filter(
        lambda x: sum(x) > 1
    ),
)
def test_rate_of_one_outlay_is_that_of_numpy_financial(outlay: float, back: list[float]) -> None:
    """One outlay and returns after it have one rate only."""
    cash = [-outlay, *back]
    ours, theirs = float(finance.internal_rate(np.array(cash))), npf.irr(cash)
    if np.isfinite(theirs):
        assert ours == pytest.approx(theirs, rel=1e-5, abs=1e-7)
    worth = finance.present_value(np.array(cash), ours)
    if ours > -0.5:
        assert worth == pytest.approx(0, abs=1e-6 * (outlay + sum(back)))


@given(st.lists(MONEY, min_size=2, max_size=15))
def test_every_rate_makes_the_cash_worth_nothing(cash: list[float]) -> None:
    for rate in finance.rates_of_return(np.array(cash)):
        if -0.5 < rate < 5:
            scale = np.abs(cash) @ (1 + rate) ** -np.arange(len(cash), dtype=float)
            assert npf.npv(rate, cash) == pytest.approx(0, abs=1e-5 * scale)


@pytest.mark.parametrize("cash", [[1.0, 2.0], [-1.0, -2.0], [0.0, 0.0], [5.0], [0.0, 3.0, 0.0]])
def test_no_rate_where_the_sign_never_changes(cash: list[float]) -> None:
    assert np.isnan(finance.internal_rate(np.array(cash)))


def test_two_rates_are_both_told_and_the_one_nearer_to_nothing_is_used() -> None:
    cash = np.array([-100.0, 230.0, -132.0])
    assert finance.rates_of_return(cash) == pytest.approx([0.1, 0.2])
    assert finance.internal_rate(cash) == pytest.approx(0.1)


@given(st.floats(1, 1e6), st.floats(0, 0.3), st.integers(1, 40), st.data())
def test_a_loan_is_repaid_and_its_interest_is_on_what_is_owed(
    amount: float, rate: float, years: int, data: st.DataObject
) -> None:
    only = data.draw(st.integers(0, years - 1))
    interest, principal, owed = finance.loan_years(amount, rate, years, only).T
    assert principal.sum() == pytest.approx(amount, rel=1e-7)
    assert (principal[:only] == 0).all()
    assert owed[-1] == 0
    before = np.concatenate([[amount], owed[:-1]])
    assert interest == pytest.approx(before * rate, rel=1e-9)
    paid = (interest + principal)[only:]
    assert paid == pytest.approx(np.full(len(paid), paid[0]), rel=1e-6)


def test_interest_and_principal_are_those_of_numpy_financial() -> None:
    interest, principal, _ = finance.loan_years(48_000, 0.065, 15).T
    periods = np.arange(1, 16)
    assert interest == pytest.approx(-npf.ipmt(0.065, periods, 15, 48_000))
    assert principal == pytest.approx(-npf.ppmt(0.065, periods, 15, 48_000))


def test_coverage_is_not_a_number_where_nothing_is_due() -> None:
    assert finance.coverage(np.array([10.0, 10.0]), np.array([4.0, 0.0])) == pytest.approx(
        [2.5, np.nan], nan_ok=True
    )


def test_payback_is_the_year_from_which_the_total_stays_up() -> None:
    cash = np.array([[-5.0, 1.0, -1.0], [6.0, 1.0, 0.0], [-3.0, 1.0, 0.0], [2.0, 1.0, 0.0]])
    assert finance.payback_year(cash) == pytest.approx([4.0, 1.0, np.nan], nan_ok=True)


@given(st.lists(st.tuples(MONEY, st.floats(1, 1e5)), min_size=1, max_size=20), RATE)
def test_at_the_break_even_factor_all_is_worth_nothing(years: list[tuple[float, float]], rate: float) -> None:
    rest, item = np.array(years).T
    factor = finance.break_even_factor(rest, item, rate)
    scale = finance.present_value(np.abs(rest) + item, rate)
    assert finance.present_value(rest + factor * item, rate) == pytest.approx(0, abs=1e-7 * float(scale))


def test_no_break_even_on_an_item_worth_nothing() -> None:
    assert np.isnan(finance.break_even_factor(np.array([1.0]), np.array([0.0]), 0.05))


@given(st.integers(1, 10), st.integers(1, 5), st.data())
def test_members_as_columns_are_each_as_if_alone(years: int, members: int, data: st.DataObject) -> None:
    cash = np.array(data.draw(st.lists(MONEY, min_size=years * members, max_size=years * members)))
    table = cash.reshape(years, members)
    for column in range(members):
        alone = table[:, column]
        assert finance.present_value(table, 0.05)[column] == pytest.approx(finance.present_value(alone, 0.05))
        assert finance.payback_year(table)[column] == pytest.approx(
            float(finance.payback_year(alone)), nan_ok=True
        )
        assert finance.internal_rate(table)[column] == pytest.approx(
            float(finance.internal_rate(alone)), nan_ok=True
        )
