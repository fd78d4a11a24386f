"""A year under way: by hand, what is on record, what is planned for a day, what is still to come."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from browseline.events import Earned, Event, Sold, Spent
from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.ledger.cash import Mixed
from browseline.ledger.drawn import Drawn, middle_cash
from browseline.ledger.mixed import by_account, mixed_of, this_year
from browseline.ledger.money_page import MoneyPage, money_account
from browseline.ledger.postings import CASH, plan_entries, yearly
from browseline.units import Quantity
from tests.unit.ledger.small import NOW, ZONE, event, farm, quantity, scene


def money(amount: float) -> Quantity:
    return Quantity(f"${amount:g}", Fraction(str(amount)), "USD")


YEAR = NOW.year
LAMBS = MoneyLine("lambs", "Lambs", "income", money(200), ((1, 80.0),))
HAY = MoneyLine("hay", "Hay", "cost", money(1000), record=("bales",))
FENCE = MoneyLine("share", "Cost share", "refund", money(500), due=date(YEAR, 11, 15), from_year=1, to_year=1)
PLAN = MoneyPlan(YEAR, 3, quantity("5 %", "share"), (), (LAMBS, HAY, FENCE))
LATER = NOW + timedelta(days=30)


def sold(head: int, price: float, when: datetime = NOW, *, planned: bool = False) -> Event:
    return event("ewes", Sold(head, "lambs", price=money(price)), when, planned=planned)


def mixed(*events: Event, now: datetime = NOW) -> Mixed | None:
    return mixed_of(PLAN, events, now, ZONE)


def page(*events: Event, plan: MoneyPlan = PLAN) -> MoneyPage:
    of = replace(farm(), money=plan, as_of=(NOW - timedelta(days=100)).date())
    return money_account(scene(of, list(events)), events)


def test_nothing_on_record_leaves_the_plan_alone() -> None:
    assert mixed() is None
    assert page().under_way is None


def test_heads_tell_what_is_left_of_a_line_of_heads() -> None:
    """30 of 80 went for $170 each: 50 are still to come at $200."""
    found = mixed(sold(30, 30 * 170))
    assert found is not None
    assert found.left["lambs"] == pytest.approx([50 / 80, 1, 1])
    cash = middle_cash(PLAN, (), Drawn(mixed=found))
    assert cash.lines["lambs"] == pytest.approx([30 * 170 + 50 * 200, 16_000, 16_000])


def test_money_tells_what_is_left_of_other_lines() -> None:
    found = mixed(event("farm", Spent(money(400), "bales")), event("farm", Spent(money(700), "Hay")))
    assert found is not None
    assert found.left["hay"] == pytest.approx([0, 1, 1])
    assert middle_cash(PLAN, (), Drawn(mixed=found)).lines["hay"] == pytest.approx([-1100, -1000, -1000])


def test_a_knock_strikes_only_what_is_still_to_come() -> None:
    found = mixed(sold(30, 30 * 170))
    knock = Knock("k", "K", "lambs", "price", 0.5)
    cash = middle_cash(PLAN, (knock,), Drawn(mixed=found))
    assert cash.lines["lambs"][0] == pytest.approx(30 * 170 + 50 * 100)


def test_a_sale_planned_for_a_day_is_part_of_the_line() -> None:
    found = mixed(sold(30, 5100), sold(20, 4400, LATER, planned=True))
    assert found is not None
    cash = middle_cash(PLAN, (), Drawn(mixed=found))
    assert cash.lines["lambs"][0] == pytest.approx(5100 + 4400 + 30 * 200)


def test_a_planned_sale_whose_day_has_passed_did_not_happen() -> None:
    past = sold(20, 4400, NOW - timedelta(days=2), planned=True)
    assert mixed(past) is None


def test_a_year_that_is_over_has_nothing_left_of_what_is_on_record() -> None:
    found = mixed(sold(30, 5100), now=datetime(YEAR + 1, 3, 1, tzinfo=UTC))
    assert found is not None
    assert found.left["lambs"] == pytest.approx([0, 1, 1])
    assert middle_cash(PLAN, (), Drawn(mixed=found)).lines["lambs"] == pytest.approx([5100, 16_000, 16_000])


def test_what_came_in_is_no_cost_of_the_same_name() -> None:
    assert mixed(event("farm", Earned(money(40), "bales"))) is None


def test_the_year_on_the_page_is_the_sum_of_its_postings() -> None:
    events = (sold(30, 5100), sold(20, 4400, LATER, planned=True), event("farm", Spent(money(400), "bales")))
    found = page(*events)
    assert found.under_way is not None
    sums = by_account(found.under_way.entries)
    assert sum(sums.values()) == 0
    assert float(sums[CASH]) == pytest.approx(found.cases[0].years[0].cash.value)
    assert sums[CASH] == Decimal(5100 + 4400 + 6000 - 1000 + 500)
    lambs = found.under_way.lines[0]
    assert [f.value for f in (lambs.planned, lambs.on_record, lambs.to_come, lambs.year)] == [
        16_000, 5100, 10_400, 15_500
    ]  # fmt: skip
    for entry in found.under_way.entries:
        assert all(total == 0 for total in entry.sums().values())


def test_planned_entries_and_those_on_record_stand_in_one_year() -> None:
    found = page(sold(30, 5100))
    assert found.under_way is not None
    kinds = {(p.planned, p.day) for entry in found.under_way.entries for p in entry.postings}
    assert (False, NOW.date()) in kinds
    assert (True, date(YEAR, 12, 31)) in kinds
    assert (True, date(YEAR, 11, 15)) in kinds


def test_a_cost_share_is_posted_on_its_day() -> None:
    days = [e.postings[0].day for e in plan_entries(PLAN) if e.postings[0].account == "refund: Cost share"]
    assert days == [date(YEAR, 11, 15)]
    assert float(yearly(plan_entries(PLAN), CASH, "USD")[YEAR]) == 15_500


def test_what_is_in_no_line_is_told_and_in_no_sum() -> None:
    found = page(event("farm", Spent(money(40), "string")), sold(30, 5100))
    assert found.under_way is not None
    assert found.under_way.loose_out.value == 40
    said = "\n".join(found.told())
    assert "in no line of the plan: $40 that went out" in said
    assert f"The year {YEAR} is under way" in said
    assert "Lambs: $5,100 on record, $10,000 still to come, $16,000 was planned." in said
    assert found.cases[0].years[0].cash.value == pytest.approx(5100 + 10_000 - 1000 + 500)


def test_a_year_outside_the_plan_is_not_under_way() -> None:
    early = replace(PLAN, first_year=YEAR + 2, lines=(LAMBS,))
    assert this_year(early, None, (sold(30, 5100),), NOW, ZONE) is None


def test_columns_of_members_take_the_record_too() -> None:
    found = mixed(sold(30, 5100))
    draws = {("lambs", "price"): np.full((3, 2), [1.0, 0.5])}
    from browseline.ledger.drawn import drawn_cash

    cash = drawn_cash(PLAN, (), Drawn((0, 1), draws, mixed=found))
    assert cash.lines["lambs"][0] == pytest.approx([5100 + 10_000, 5100 + 5000])
