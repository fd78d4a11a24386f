"""The page of money beside the lender's case: no plan, no loan, other currencies, what is on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from browseline.events import Earned, Event, Sold, Spent
from browseline.farm.accounts import Loan, MoneyLine, MoneyPlan
from browseline.ledger.money_page import MoneyPage, amount_words, money_account
from browseline.units import Quantity
from tests.unit.ledger.small import NOW, event, farm, quantity, scene


def money(amount: float, unit: str = "USD") -> Quantity:
    return Quantity(f"{amount:g} {unit}", Fraction(str(amount)), unit)


FIVE = quantity("5 %", "share")
NUTS = MoneyLine("nuts", "Nuts", "income", money(3), ((1, 100.0),))
LOAN = Loan("l", "Barn", money(1000), quantity("6 %", "share"), 4, interest_only=1)


def page(plan: MoneyPlan | None, *events: Event) -> MoneyPage:
    of = replace(farm(), money=plan, as_of=(NOW - timedelta(days=100)).date())
    return money_account(scene(of, list(events)), events)


def told(plan: MoneyPlan | None, *events: Event) -> str:
    return "\n".join(page(plan, *events).sentences)


def test_without_a_plan_the_record_is_told() -> None:
    said = told(None, event("farm", Earned(money(12.5), "nuts")), event("farm", Spent(money(4), "string")),
                event("ewes", Sold(2, "lambs", price=money(300))))  # fmt: skip
    assert "No money plan is typed" in said
    assert "On record for 2026: $312.50 came in." in said
    assert "On record for 2026: $4.00 went out." in said


def test_what_is_planned_or_ahead_is_not_on_record() -> None:
    planned = event("farm", Earned(money(99), "nuts"), planned=True)
    ahead = event("farm", Earned(money(98), "nuts"), NOW + timedelta(days=3))
    assert page(None, planned, ahead).on_record == ()


def test_without_a_loan_and_with_own_hours() -> None:
    plan = MoneyPlan(2026, 2, FIVE, (), (NUTS,), own_hours=quantity("100 h", "time"))
    said = told(plan)
    assert "No loan is typed." in said
    assert "never below nothing" in said
    assert "As planned: own work, 100 h a year, is paid in no line. What is left is $3.00 an hour." in said
    assert "nothing due" in page(plan).rows[0]
    assert "Coverage is" not in said


def test_interest_only_years_and_a_hole_that_stays() -> None:
    cost = MoneyLine("feed", "Feed", "cost", money(500))
    said = told(MoneyPlan(2026, 5, FIVE, (LOAN,), (NUTS, cost)))
    assert "the first 1 of them interest only" in said
    assert "As planned: the money in hand ends below nothing." in said


def test_a_coverage_that_is_wanted_and_met_is_not_told_as_thin() -> None:
    plan = MoneyPlan(2026, 2, FIVE, (LOAN,), (NUTS,), cover_wanted=0.5)
    assert "coverage is below" not in told(plan)
    thin = replace(plan, cover_wanted=4.0)
    assert "coverage is below 4 in year 2." in told(thin)


def test_money_of_other_currencies_is_written_out() -> None:
    assert amount_words(-1234.6, "CAD") == "−1,235 CAD"
    assert amount_words(-0.2, "EUR") == "€0"
    assert amount_words(5, "GBP", 2) == "£5.00"
