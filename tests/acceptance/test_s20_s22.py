"""s20 what grazing saves, s21 is it for us, s22 against an annual staple; s23 past the data."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.events import When, Worked
from browseline.farm.records import Farm
from browseline.farm.same_land import Crop, Mowing, SameLand
from browseline.record.state import Stay
from browseline.science import finance
from browseline.trials.cash import cash_of
from browseline.trials.for_us import ForUs, HoursByMonth, for_us, for_us_words, hours_by_month
from browseline.trials.land_uses import LandUse, land_uses
from browseline.trials.outcome import by_key
from browseline.trials.same_land import same_land_page
from browseline.trials.saves import dung_nitrogen, saves_words
from browseline.units import parse
from tests.acceptance.cases import entry
from tests.small_farm import NOW, days_after, ewes, farm, heights, look, state
from tests.unit.trials.test_same_land import MEMBERS, PLAN, SAME, TREES, YEARS, usd

MOWING = Mowing("under", "Mowing under the nuts", ("1",), 2, "mower (sickle/disk)")


def seen(own: Farm, **more: object) -> Picture:
    there = state(own, mobs=(ewes(),), heights=heights({"1": "6 in"}))
    return look(own, replace(there, **more))  # type: ignore[arg-type]


def treed(same: SameLand = SAME, price: str = "$3", less: str = "", **more: object) -> Farm:
    cost = usd(less) if less else None
    lines = tuple(
        replace(line, price=usd(price), less=cost) if line.id == "nuts" else line for line in PLAN.lines
    )
    own = farm((5.0, 3.0), weather=True, plantings=(TREES,), money=replace(PLAN, lines=lines), same_land=same)
    return replace(own, **more)  # type: ignore[arg-type]


@cache
def uses(price: str = "$3", less: str = "") -> tuple[LandUse, ...]:
    return land_uses(seen(treed(price=price, less=less)), YEARS, MEMBERS)


# ---------------------------------------------------------------- s20


def test_s20_two_passes_on_five_acres_stand_for_35_7_kg() -> None:
    own = treed(replace(SAME, mowing=(MOWING,)))
    said = saves_words(seen(own), uses()[0])
    assert "35.7 kg CO2" in said[0]
    assert "Mowing under the nuts" in said[0]
    assert "not a removal" in said[0]


def test_s20_no_baseline_no_line() -> None:
    said = saves_words(seen(treed()), uses()[0])
    assert not any("kg CO2" in sentence for sentence in said)
    assert "none is counted" in said[0]


def test_s20_dung_by_row_is_head_days_times_rate() -> None:
    """60 ewes of 68.04 kg for 10 d at 0.35 kg/1000 kg/d: 14.29 kg N on the paddock."""
    begin = NOW.replace(month=4, day=1)
    end = NOW.replace(month=4, day=11)
    assert days_after(begin, end) == 10
    stay = Stay("ewes", "1", When.at(begin), When.at(end))
    own = treed()
    picture = seen(own, stays=(stay,))
    fell = dung_nitrogen(picture, own.paddocks[0])
    assert fell is not None
    assert fell.value == pytest.approx(60 * 10 * 150 * 0.45359237 * 0.35 / 1000, rel=1e-3)
    assert fell.low is not None
    assert fell.high is not None
    # Half of it either way in nineteen of twenty, so 32.7 % in eight of ten.
    half = 0.5 * 1.28155 / 1.95996
    assert (fell.low, fell.high) == pytest.approx((14.29 * (1 - half), 14.29 * (1 + half)), rel=2e-3)
    old = Stay(
        "ewes", "1", When.at(begin.replace(year=NOW.year - 2)), When.at(end.replace(year=NOW.year - 2))
    )
    assert dung_nitrogen(seen(own, stays=(old, stay)), own.paddocks[0]) == fell


def test_s20_shade_is_a_range_that_includes_nothing() -> None:
    said = [s for s in saves_words(seen(treed()), uses()[0]) if "Shade" in s]
    assert len(said) == 1
    assert "0 to 34 %" in said[0]
    assert "includes nothing" in said[0]


# ---------------------------------------------------------------- s21


def worth(found: ForUs) -> tuple[float, float]:
    assert found.worth is not None
    assert found.worth.low is not None
    assert found.worth.high is not None
    return found.worth.low, found.worth.high


def test_s21_dear_nuts_pay_cheap_ones_are_a_choice_of_purpose() -> None:
    pays, costs = (for_us(treed(price=price), uses(price)) for price in ("$40", "$0.01"))
    assert pays.verdict == "pays"
    assert worth(pays)[0] >= 0
    assert costs.verdict == "costs"
    assert worth(costs)[1] <= 0
    said = for_us_words(seen(treed(price="$0.01")), uses("$0.01"))[-1]
    assert "costs $" in said
    assert "a choice of purpose" in said


def only_if_price(less: str) -> str:
    """Return a price of nuts at which some futures pay and some do not."""
    for cents in range(5, 400, 5):
        price = f"${cents / 100:.2f}"
        if for_us(treed(price=price, less=less), uses(price, less)).verdict == "only_if":
            return price
    raise AssertionError("no price is in between")


@pytest.mark.parametrize("less", ["", "$0.30"], ids=["whole", "less what selling costs"])
def test_s21_only_if_names_a_price_with_which_nine_of_ten_futures_are_no_worse(less: str) -> None:
    typed = only_if_price(less)
    own = treed(price=typed, less=less)
    found = for_us(own, uses(typed, less))
    assert found.only_if is not None
    needed = found.only_if.price.value or 0.0
    assert needed > (found.only_if.was.value or 0.0)

    def tenth(price: str) -> float:
        made = treed(price=price, less=less)
        here, pasture = uses(typed, less)[:2]
        assert here.projection is not None
        ahead = here.projection
        cash = cash_of(made, ahead, ahead.members)
        assert cash is not None
        assert pasture.cash is not None
        return float(np.percentile(finance.present_value(cash - pasture.cash, 0.05), 10))

    assert found.only_if.line == "Nuts"
    assert tenth(f"${needed:.2f}") >= -1e-6
    assert tenth(f"${needed - 0.01:.2f}") < 0
    assert "pays only if Nuts" in for_us_words(seen(own), uses(typed, less))[-1]


def test_s21_hours_by_month_against_hours_there_are() -> None:
    own = treed(
        replace(SAME, hours_by_month=(8,) * 4 + (30, 25) + (8,) * 6), labour_hours_day=parse("3 h", "time")
    )
    found = hours_by_month(seen(own), uses()[0])
    assert found.short == (5, 6)
    said = for_us_words(seen(own), uses())
    assert "There are 21 a week: not enough in May and Jun." in said


def test_s21_hours_on_record_are_told_by_month_and_by_week() -> None:
    """Six months of 30.4 h are 7 h a week in each: a month is 365 / 84 weeks. Five say nothing of a year."""
    days = ("2025-12-05", "2026-01-05", "2026-02-05", "2026-03-05", "2026-04-05", "2026-05-05")
    old = entry("2024-07-05 09:00", "farm", Worked(parse("300 h", "time")))

    def told(months: int) -> HoursByMonth:
        kept = [entry(f"{day} 09:00", "farm", Worked(parse("30.4 h", "time"))) for day in days[:months]]
        return hours_by_month(replace(seen(treed()), events=(old, *kept)), uses()[0])

    found = told(6)
    assert found.of == "record"
    week = 30.4 * 84 / 365
    assert [one.value for one in found.months] == pytest.approx([week] * 5 + [0.0] * 6 + [week])
    assert told(5).of == "table"


def test_s21_hours_without_the_farms_own_are_the_tables_and_say_so() -> None:
    """60 ewes × 0.2 × 32 h/LU/yr ÷ 52 = 7.4 h a week."""
    found = hours_by_month(seen(treed()), uses()[0])
    assert found.of == "table"
    assert found.months[0].value == pytest.approx(60 * 0.2 * 32 / 52, rel=0.01)
    said = next(words for words in for_us_words(seen(treed()), uses()) if words.startswith("Hours a week"))
    assert "7.4 in every month" in said
    assert said.count("7.4") == 1


def test_s21_first_year_of_a_tree_crop_is_a_range() -> None:
    young = replace(TREES, planted=2025)
    own = treed(plantings=(young,))
    said = " ".join(for_us_words(seen(own), land_uses(seen(own), 12, 30)))
    assert "Nuts: first harvest in 20" in said


def test_s21_no_plan_no_answer() -> None:
    own = treed(money=None)
    said = for_us_words(seen(own), land_uses(seen(own), 2, 4))
    assert "not known" in said[-1]


# ---------------------------------------------------------------- s22, s23


def test_s22_one_table_with_passes_nitrogen_gases_money_and_food() -> None:
    page = same_land_page(seen(treed()), uses(), YEARS, MEMBERS)
    names = [row[0] for row in page.rows]
    for wanted in (
        "maize",
        "nitrogen spread, by way of air",
        "what the crop leaves",
        "fuel burned",
        "Money left",
        "Energy of food",
    ):
        assert any(wanted in name for name in names), wanted
    said = " ".join(page.sentences)
    assert "145 lb/ac of nitrogen" in said
    assert "7.78 Gt" in said
    assert "Scale only" in said


def test_s22_food_an_acre_by_hand() -> None:
    """10.96 t/ha of maize at 3,650 kcal/kg are 40,004 Mcal a hectare."""
    crop = uses()[3]
    assert crop.crop is not None
    still = replace(SAME, crop=Crop(price=usd("$180")))
    found = land_uses(seen(treed(still)), 1, 3)[3]
    food = by_key(found.measures)["food", "food_energy", ""]
    area = 8.0 * 0.40468564224
    assert np.allclose(food.by_year / area, 10_960 * 3.65)


def test_s23_a_horizon_past_the_data_says_so() -> None:
    """The table knows hybrid hazel to 40 years; planted in 2020 it is 106 in 2126."""
    own = treed(replace(SAME, mowing=()), money=None)
    page = same_land_page(seen(own), land_uses(seen(own), 100, 3), 100, 3)
    assert any("Past the data: " in s and "Nuts" in s for s in page.sentences)
    short = same_land_page(seen(own), land_uses(seen(own), 5, 3), 5, 3)
    assert not any("Past the data" in s for s in short.sentences)
