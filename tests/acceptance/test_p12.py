"""p12, the lender wants fifteen years: cash, coverage, running total, base and downside, to the dollar."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture
from browseline.ledger.money import Outlook
from browseline.ledger.money_page import MoneyPage, money_account
from browseline.ledger.postings import CASH, plan_entries, yearly
from browseline.words import links_of
from tests.acceptance.cases import EWE, farm_folder, mob, page, seen

TREES = {"1": 327, "4": 294.3}
POUNDS = {str(year): lb for year, lb in zip(range(6, 16), (1, 3, 6, 10, 14, 18, 22, 26, 30, 34), strict=True)}
LOAN = {
    "id": "works", "name": "Fence, water and land works", "amount": "$48,000", "rate": "6.5 %", "years": 15,
    "buys": "fence, water and land works",
}  # fmt: skip
LINES: list[dict[str, Any]] = [
    {"id": "lambs", "name": "Lambs", "kind": "income", "count": 84, "price": "$215"},
    {"id": "ewes", "name": "Ewe costs", "kind": "cost", "count": 60, "price": "$105"},
    {"id": "overhead", "name": "Overhead", "kind": "cost", "price": "$3,600"},
    {"id": "hay", "name": "Extra hay", "kind": "cost", "price": "$0"},
    {"id": "planting", "name": "Walnut trees", "kind": "planting", "count": 327, "price": "$32", "to": 1},
    {"id": "share", "name": "Half of the planting back", "kind": "refund", "count": 327, "price": "$16",
     "from": 2, "to": 2},
    {"id": "care", "name": "Tree care to year 5", "kind": "cost", "count": TREES, "price": "$3", "to": 5},
    {"id": "later-care", "name": "Tree care", "kind": "cost", "count": TREES, "price": "$2", "from": 6},
    {"id": "nuts", "name": "Walnuts", "kind": "income", "count": TREES, "each": POUNDS, "price": "$3.00",
     "less": "$0.80", "from": 6},
]  # fmt: skip
KNOCKS: list[dict[str, Any]] = [
    {"id": "lamb-price", "name": "lambs 10 % down", "line": "lambs", "on": "price", "factor": 0.9},
    {"id": "nut-yield", "name": "nuts 30 % less", "line": "nuts", "on": "yield", "factor": 0.7},
    {"id": "nut-price", "name": "nuts 30 % cheaper", "line": "nuts", "on": "price", "factor": 0.7},
    {"id": "late", "name": "repayment a year late", "line": "share", "on": "later", "years_later": 1},
    {"id": "year-4", "name": "a bad lambing in year 4", "line": "lambs", "on": "count", "factor": 0.8,
     "from": 4, "to": 4},
    {"id": "dry", "name": "hay to buy in year 4", "line": "hay", "on": "amount", "add": "$3,000", "from": 4,
     "to": 4},
    {"id": "frost", "name": "frost in year 11", "line": "nuts", "on": "yield", "factor": 0.22, "from": 11,
     "to": 11},
]  # fmt: skip
MONEY: dict[str, Any] = {
    "first_year": 2026, "years": 15, "discount": "5 %", "cover_wanted": 1.25, "loans": [LOAN], "lines": LINES,
    "knocks": KNOCKS,
}  # fmt: skip


def farm(folder: Path, **money: Any) -> Picture:
    typed = MONEY | money
    farm_folder(folder, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=typed)
    return seen(folder, "2026-01-02 06:00")


def made(folder: Path, *, off: tuple[str, ...] = (), **money: Any) -> MoneyPage:
    picture = farm(folder, **money)
    return money_account(picture.scene, picture.events, off)


def cover(case: Outlook, year: int) -> float:
    coverage = case.years[year - 1].coverage
    assert coverage is not None
    assert coverage.value is not None
    return coverage.value


def dollars(value: float | None) -> float:
    assert value is not None
    return round(value)


EXPECTED = [
    (0, (1.41, 1.61, 3.26, 5.80), -8_390, 1, 77_143, 136_183),
    (1, (1.05, 1.18, 1.86, 2.91), -10_312, 4, 16_643, 36_820),
]


def test_p12_payment(tmp_path: Path) -> None:
    for year in made(tmp_path).cases[0].years:
        assert year.payment.value == pytest.approx(5104.93, abs=0.005)


@pytest.mark.parametrize(
    ("case", "covers", "hole", "deep", "worth", "end"), EXPECTED, ids=["base", "downside"]
)
def test_p12_to_the_dollar(
    tmp_path: Path, case: int, covers: tuple[float, ...], hole: int, deep: int, worth: int, end: int
) -> None:
    found = made(tmp_path).cases[case]
    assert [round(cover(found, year), 2) for year in (1, 6, 10, 15)] == list(covers)
    assert (dollars(found.deepest.total.value), found.deepest.year) == (hole, deep)
    assert dollars(found.worth.value) == worth
    assert dollars(found.end.value) == end


def test_p12_downside_years(tmp_path: Path) -> None:
    found = made(tmp_path).cases[1]
    assert round(cover(found, 4), 2) == -0.15
    assert round(cover(found, 11), 2) == 1.34
    assert [year.year for year in found.years if cover(found, year.year) < 1.25] == [1, 2, 3, 4, 5, 6]
    assert found.payback is not None
    assert found.payback.value == 10
    assert found.worst.year == 4


def test_p12_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    found = made(tmp_path)
    assert "The deepest hole is −$10,312, at the end of year 4" in found.sentences[0]
    assert "coverage −0.15" in found.sentences[1]
    text = "\n".join(found.told())
    for words in (
        "The loans take $5,104.93 a year",
        "over principal and interest", "A bank adds income from off the farm",
        "takes off the family's living",
        "Yields and prices of years to come are invented", "not financial advice",
        "neither the loan nor what it buys is in the cash", "Own work is paid in no line",
    ):  # fmt: skip
        assert words in text


def test_p12_trap_year_4_left_out(tmp_path: Path) -> None:
    (downside,) = [fold for fold in made(tmp_path).folds if fold.key == "years-2"]
    assert [row[0] for row in downside.rows] == [f"{n} ({2025 + n})" for n in range(1, 16)]
    assert downside.rows[3][downside.head.index("coverage")] == "−0.15"


def test_p12_cases_stand_side_by_side(tmp_path: Path) -> None:
    found = made(tmp_path)
    assert found.head == ("case", "As planned", "If it goes wrong")
    by = {row[0]: row[1:] for row in found.rows}
    assert by["deepest hole"] == ("−$8,390", "−$10,312")
    assert by["at the end of year"] == ("1 (2026)", "4 (2029)")
    assert by["coverage in it"][1] == "−0.15"
    assert by["years with coverage below 1.25"][1] == "1 to 6"
    assert by["above nothing for good from year"][1] == "10"
    assert by["in hand at the end"] == ("$136,183", "$36,820")
    assert by["worth today at 5 %"] == ("$77,143", "$16,643")
    for row in found.rows:
        for cell in row[1:]:
            assert links_of(cell) or cell in ("none", "no rate"), (row[0], cell)


def test_p12_trap_nuts_carry_no_loan_in_year_3(tmp_path: Path) -> None:
    year = made(tmp_path).cases[0].years[2]
    assert year.available.value == pytest.approx(84 * 215 - 60 * 105 - 3600 - 327 * 3)
    assert "Walnuts" not in page(year.available)


def test_p12_every_knock_can_be_switched_off(tmp_path: Path) -> None:
    for knock in KNOCKS:
        found = made(tmp_path / knock["id"], off=(knock["id"],))
        assert knock["id"] not in found.cases[1].knocks
        assert found.cases[1].worth.value > 16_643 + 1  # type: ignore[operator]
        assert f"Switched off: {knock['name']}" in "\n".join(found.told())


def test_p12_without_knocks_the_downside_is_the_base(tmp_path: Path) -> None:
    found = made(tmp_path, off=tuple(knock["id"] for knock in KNOCKS))
    assert len(found.cases) == 1


def test_p12_postings_add_up_to_the_table(tmp_path: Path) -> None:
    picture = farm(tmp_path)
    plan = picture.farm.money
    assert plan is not None
    for case, knocks in zip(money_account(picture.scene, ()).cases, ((), plan.knocks), strict=True):
        entries = plan_entries(plan, knocks)
        by_year = yearly(entries, CASH, "USD")
        for year in case.years:
            assert float(by_year[year.calendar]) == pytest.approx(year.cash.value, abs=0.05)
        assert all(total == Decimal(0) for entry in entries for total in entry.sums().values())


def test_no_carbon_income_without_a_signed_contract(tmp_path: Path) -> None:
    carbon = {"id": "carbon", "name": "Carbon", "kind": "carbon", "price": "$900"}
    without = made(tmp_path / "a", lines=[*LINES, carbon])
    signed = made(tmp_path / "b", lines=[*LINES, carbon | {"signed": date(2026, 1, 1)}])
    assert dollars(without.cases[0].end.value) == 136_183
    assert "Carbon is in no sum: no signed contract is entered" in "\n".join(without.told())
    assert dollars(signed.cases[0].end.value) == 136_183 + 15 * 900


def test_at_the_break_even_price_the_plan_is_worth_nothing(tmp_path: Path) -> None:
    (lambs, _) = made(tmp_path / "a").break_even
    price = lambs.price.value
    assert price is not None
    again = made(tmp_path / "b", lines=[LINES[0] | {"price": f"${price:.6f}"}, *LINES[1:]])
    assert again.cases[1].worth.value == pytest.approx(0, abs=0.05)
