"""Money and carbon in ``farm.toml``: what is wrong is told with its line, what is right is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.farm.folders import SOUND, reading, sound

MONEY = '[money]\nfirst_year = 2027\ndiscount = "5 %"\n'
LINE = '[[money.lines]]\nname = "Nuts"\nkind = "income"\nprice = "$3"\n'
KNOCK = '[[money.knocks]]\nname = "Frost"\nline = "nuts"\non = "yield"\nfactor = 0.2\n'
LOAN = '[[money.loans]]\nname = "Barn"\namount = "$100"\nrate = "6 %"\nyears = 5\n'


def test_a_plan_without_lines_is_a_plan(tmp_path: Path) -> None:
    plan = sound(tmp_path, SOUND + MONEY).money
    assert plan is not None
    assert (plan.years, plan.lines, plan.currency) == (15, (), "USD")


def test_lines_loans_and_knocks_are_read(tmp_path: Path) -> None:
    plan = sound(tmp_path, SOUND + MONEY + LINE + "count = { 4 = 294.3, 1 = 327 }\n" + LOAN + KNOCK).money
    assert plan is not None
    assert plan.lines[0].count == ((1, 327.0), (4, 294.3))
    assert plan.lines[0].each == ((1, 1.0),)
    assert (plan.loans[0].interest_only, plan.loans[0].first) == (0, 1)
    assert plan.knocks[0].factor == 0.2


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (MONEY.replace("first_year = 2027\n", ""), "first_year"),
        (MONEY.replace('discount = "5 %"\n', ""), "discount"),
        (MONEY + LINE.replace('kind = "income"\n', ""), "kind"),
        (MONEY + LINE.replace('"income"', '"gift"'), "gift"),
        (MONEY + LINE.replace('price = "$3"\n', ""), "price"),
        (MONEY + LINE.replace('name = "Nuts"\n', ""), "money.lines"),
        (MONEY + LINE + 'count = "many"\n', "count"),
        (MONEY + LINE + "count = { 0 = 3 }\n", "by year of the plan"),
        (MONEY + LINE + "count = { one = 3 }\n", "by year of the plan"),
        (MONEY + LINE + "count = { 1 = -3 }\n", "by year of the plan"),
        (MONEY + LINE + "count = {}\n", "by year of the plan"),
        (MONEY + LINE + LOAN.replace("$100", "€100"), "more than one currency"),
        (MONEY + LOAN.replace('rate = "6 %"\n', ""), "rate"),
        (MONEY + LOAN + "interest_only = 5\n", "interest_only"),
        (MONEY + LINE + KNOCK.replace('"nuts"', '"pears"'), "pears"),
        (MONEY + LINE + KNOCK.replace('"yield"', '"luck"'), "luck"),
        (MONEY + LINE + 'follows = "yield pears nuts"\n', "Write follows as one of: yield or wood"),
        (MONEY + LINE + 'follows = "luck"\n', "Write follows as one of: yield or wood"),
        (MONEY + LINE + 'follows = "hay bought"\nper = "USD"\n', "a unit that a price can be for"),
        (MONEY + LINE + 'follows = "hay bought"\nper = "armfuls"\n', "a unit that a price can be for"),
        (MONEY + LINE + 'price_range = "250 %"\n', "price_range"),
        (MONEY + LINE + "due = 2026-12-31\n", "a day in the years of the plan"),
        (MONEY + LINE + "due = 2042-01-01\n", "a day in the years of the plan"),
        ('[carbon]\nedition = "1996"\n', "1996"),
        ('[carbon]\nmetric = "AR9"\n', "AR9"),
        ('[carbon]\n[[carbon.diets]]\nkind = "sheep"\n', "class"),
    ],
)
def test_what_is_wrong_is_told(tmp_path: Path, typed: str, words: str) -> None:
    found = reading(tmp_path, SOUND + typed)
    assert found.farm is None
    assert words in "\n".join(str(one) for one in found.findings)


def test_what_a_line_follows_its_ranges_and_its_day_are_read(tmp_path: Path) -> None:
    typed = (
        'follows = "sold ewes/lambs"\nper = "pounds"\nmarket = "sheep"\nprice_range = "20 %"\n'
        'due = 2029-11-15\nrecord = ["lambs", "ram lambs"]\n'
    )
    plan = sound(tmp_path, SOUND + MONEY + 'yield_range = "30 %"\n' + LINE + typed).money
    assert plan is not None
    line = plan.lines[0]
    assert (line.follows, line.per, line.market, line.record) == (
        "sold ewes/lambs", "lb", "sheep", ("lambs", "ram lambs")
    )  # fmt: skip
    assert (line.from_year, line.to_year, str(line.due)) == (3, 3, "2029-11-15")
    assert line.price_range is not None
    assert plan.yield_range is not None


def test_a_bad_decade_is_apart_from_the_downside(tmp_path: Path) -> None:
    second = KNOCK.replace("Frost", "Drought") + 'decade = "Dry years"\n'
    plan = sound(tmp_path, SOUND + MONEY + LINE + KNOCK + second).money
    assert plan is not None
    assert plan.decades == ("Dry years",)
    assert [knock.id for knock in plan.knocks_of()] == ["frost"]
    assert [knock.id for knock in plan.knocks_of("Dry years")] == ["drought"]


def test_without_a_table_the_usual_factors_stand(tmp_path: Path) -> None:
    made = sound(tmp_path, SOUND)
    assert made.money is None
    assert made.carbon.edition is None
