"""The page of money beside the lender's case: no plan, no loan, other currencies, what is on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from browseline.chain.keys import figures_of
from browseline.events import Earned, Event, Sold, Spent
from browseline.farm.accounts import Knock, Loan, MoneyLine, MoneyPlan
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
    return "\n".join(page(plan, *events).told())


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
    assert "In no case is the money in hand ever below nothing." in said
    assert "As planned: own work, 100 h a year, is paid in no line. What is left is $3.00 an hour." in said
    assert not any("loan" in row[0] or "coverage" in row[0] for row in page(plan).rows)
    assert "Coverage is" not in said


def test_interest_only_years_and_a_hole_that_stays() -> None:
    cost = MoneyLine("feed", "Feed", "cost", money(500))
    said = told(MoneyPlan(2026, 5, FIVE, (LOAN,), (NUTS, cost)))
    assert "the first 1 of them interest only" in said
    by = {row[0]: row[1:] for row in page(MoneyPlan(2026, 5, FIVE, (LOAN,), (NUTS, cost))).rows}
    assert by["above nothing for good from year"] == ("not in these years",)


def test_thin_years_are_those_below_what_is_wanted_and_below_one() -> None:
    plan = MoneyPlan(2026, 2, FIVE, (LOAN,), (NUTS,), cover_wanted=0.5)
    assert thin(plan) == {"years with coverage below 1": "2"}
    assert thin(replace(plan, cover_wanted=4.0)) == {"years with coverage below 4": "2"}


def thin(plan: MoneyPlan) -> dict[str, str]:
    """Return the row of thin years: its label and what it says as planned."""
    return {row[0]: row[1] for row in page(plan).rows if row[0].startswith("years with")}


def test_labels_say_cases_in_words() -> None:
    late = Knock("late", "Nuts half price", "nuts", "price", 0.5)
    plan = MoneyPlan(2026, 2, FIVE, (LOAN,), (NUTS,), knocks=(late,))
    first, down = page(plan).cases
    assert first.years[0].total.about == "As planned, year 1"
    assert down.years[1].available.about == "If it goes wrong, year 2"
    assert down.years[1].available.parts[0].about == "Nuts, If it goes wrong, year 2"
    assert "Nuts" in down.years[1].available.parts[0].parts[0].about
    assert not any("base-year" in key for key in figures_of(page(plan)))


def test_money_of_other_currencies_is_written_out() -> None:
    assert amount_words(-1234.6, "CAD") == "−1,235 CAD"
    assert amount_words(-0.2, "EUR") == "€0"
    assert amount_words(5, "GBP", 2) == "£5.00"
