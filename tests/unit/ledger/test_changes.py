"""Changes of a plan as somebody would type them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from browseline.farm.accounts import Loan, MoneyLine, MoneyPlan
from browseline.ledger.changes import Change, changed, edits_of, typed_keys
from tests.unit.ledger.small import quantity
from tests.unit.ledger.test_money_page import FIVE, money

TREES = MoneyLine(
    "nuts", "Nuts", "income", money(3), ((1, 327.0), (4, 294.3)), ((6, 1.0), (7, 3.0)), from_year=6
)
SHARE = MoneyLine("share", "Share", "refund", money(500), from_year=2, to_year=2, due=date(2027, 11, 15))
PODS = MoneyLine("pods", "Pods", "income", money(1), follows="yield locust pods", per="lb")
BARN = Loan("barn", "Barn", money(1000), quantity("6 %", "share"), 4)
PLAN = MoneyPlan(2026, 15, FIVE, (BARN,), (TREES, SHARE, PODS))


@pytest.mark.parametrize(
    ("change", "edits"),
    [
        (Change("price", "nuts", Fraction("2.5")), ("money.lines.nuts.price=2.50 USD",)),
        (Change("rate", "barn", Fraction("0.072")), ("money.loans.barn.rate=7.2 %",)),
        (Change("discount", "", Fraction("0.031")), ("money.discount=3.1 %",)),
        (Change("count", "nuts", Fraction("0.5")), ("money.lines.nuts.count={ 1 = 163.5, 4 = 147.15 }",)),
        (Change("yield", "nuts", Fraction(2)), ("money.lines.nuts.each={ 6 = 2.0, 7 = 6.0 }",)),
        (Change("yield", "pods", Fraction("0.9")), ("money.lines.pods.each=0.9",)),
        (Change("later", "nuts", Fraction(2)),
         ("money.lines.nuts.each={ 8 = 1.0, 9 = 3.0 }", "money.lines.nuts.from=8")),
        (Change("later", "share", Fraction(1)), ("money.lines.share.due=2028-11-15",)),
    ],
)  # fmt: skip
def test_a_change_as_it_is_typed(change: Change, edits: tuple[str, ...]) -> None:
    assert edits_of(PLAN, change) == edits


def test_one_change_leaves_everything_else_alone() -> None:
    after = changed(PLAN, Change("price", "nuts", Fraction(2)))
    assert after.lines[1:] == PLAN.lines[1:]
    assert replace(after.lines[0], price=TREES.price) == TREES
    assert (after.loans, after.discount) == (PLAN.loans, PLAN.discount)


def test_a_day_of_a_leap_year_has_a_day_a_year_later() -> None:
    leap = replace(SHARE, due=date(2028, 2, 29), from_year=3, to_year=3)
    plan = replace(PLAN, lines=(leap,))
    assert typed_keys(plan, Change("later", "share", Fraction(1))) == {
        "money.lines.share.due": date(2029, 2, 28)
    }
