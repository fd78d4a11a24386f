"""Lines of money that follow the decades: the very columns of the projection, in the unit of the price."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.chain.money_ahead import can_follow, cash_of, futures, money_given
from browseline.chain.years_ahead import start_of
from browseline.decades.form import Projection
from browseline.decades.project import project
from browseline.farm.accounts import MoneyPlan
from browseline.farm.future import Future, PlannedInput
from browseline.ledger.money import outlook
from browseline.ledger.spread import spread_of
from browseline.units import factor, parse
from tests.acceptance.cases import EWE, farm_folder, mob, seen

MEMBERS, YEARS, PLAN_YEARS = 7, 14, 15
BALE = 800 * 0.45359237 * 0.88 * 0.85
LINES: list[dict[str, Any]] = [
    {"id": "nuts", "name": "Walnuts", "kind": "income", "follows": "yield walnuts-5", "per": "lb",
     "price": "$3", "less": "$1"},
    {"id": "ewes", "name": "Ewes kept", "kind": "cost", "follows": "head ewes", "each": 1, "price": "$100"},
    {"id": "hay", "name": "Hay", "kind": "cost", "follows": "hay bought", "per": "bales", "price": "$60"},
    {"id": "eaten", "name": "Hay as eaten", "kind": "cost", "follows": "hay bought", "per": "t",
     "price": "$90"},
    {"id": "help", "name": "Help", "kind": "cost", "follows": "hours", "per": "h", "price": "$20"},
    {"id": "silk", "name": "Silk", "kind": "income", "follows": "yield walnuts-5 silk", "price": "$5"},
    {"id": "foot", "name": "Hay by the foot", "kind": "cost", "follows": "hay bought", "per": "ft",
     "price": "$1"},
]  # fmt: skip
BARN = {"id": "barn", "bales": "60 bales", "bale_weight": "800 lb", "dry": "88 %", "feeding_loss": "15 %",
        "store_loss": "0 %"}  # fmt: skip


@pytest.fixture(scope="module")
def seen_farm(tmp_path_factory: pytest.TempPathFactory) -> tuple[Picture, MoneyPlan, Projection]:
    money = {
        "first_year": 2025,
        "years": PLAN_YEARS,
        "discount": "5 %",
        "lines": LINES,
        "price_range": "10 %",
    }
    folder = farm_folder(
        tmp_path_factory.mktemp("ahead"), as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})],
        money=money, hay=[BARN],
    )  # fmt: skip
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    grows = 'kind = "mixed_cool"\nyearly_yield = "4800 lb/ac"\nharvest_share = "45 %"'
    (folder / "farm.toml").write_text(text.replace('kind = "mixed_cool"', grows), encoding="utf-8")
    picture = seen(folder, "2026-01-02 06:00")
    plan = picture.farm.money
    assert plan is not None
    return picture, plan, project(start_of(picture), years=YEARS, members=MEMBERS)


def test_a_line_takes_the_column_that_it_names(seen_farm: tuple[Picture, MoneyPlan, Projection]) -> None:
    picture, plan, ahead = seen_farm
    given = futures(picture.farm, plan, ahead)
    assert given.members == tuple(range(MEMBERS))
    (crop,) = [one for one in ahead.yields if one.planting == "walnuts-5"]
    nuts = given.follows["nuts"]
    assert nuts.unit == "lb"
    assert nuts.amount[1:] == pytest.approx(crop.amount[:YEARS] * factor("kg", "lb"))
    assert nuts.origins == crop.origins
    eaten = ahead.feed.hay_kg.sum(axis=2)
    assert given.follows["hay"].amount[1:] == pytest.approx(eaten[:YEARS] / BALE)
    assert given.follows["eaten"].amount[1:] == pytest.approx(eaten[:YEARS] / 1000)
    assert given.follows["help"].amount[1:] == pytest.approx(ahead.work_h[:YEARS])
    at = [n for n, (its, _, _) in enumerate(ahead.feed.classes) if its == "ewes"]
    assert given.follows["ewes"].amount[1:] == pytest.approx(ahead.feed.head[:YEARS, :, at].sum(axis=2))


def test_years_before_the_decades_stand_as_typed(seen_farm: tuple[Picture, MoneyPlan, Projection]) -> None:
    picture, plan, ahead = seen_farm
    given = futures(picture.farm, plan, ahead)
    assert given.follows["nuts"].amount[0] == pytest.approx(np.ones(MEMBERS))


def test_what_the_decades_do_not_have_stands_as_typed_and_is_told(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    picture, plan, ahead = seen_farm
    given = futures(picture.farm, plan, ahead)
    assert given.unknown == ("Silk", "Hay by the foot")
    assert outlook(plan, "base", (), given).years[3].available.parts
    assert futures(picture.farm, plan, None).unknown == tuple(line.name for line in plan.lines)


def test_the_base_is_the_mean_of_the_members_and_the_spread_is_theirs(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    picture, plan, ahead = seen_farm
    given = futures(picture.farm, plan, ahead)
    base = outlook(plan, "base", (), given)
    nuts = given.follows["nuts"].amount.mean(axis=1)
    line = next(f for f in base.years[10].available.parts if f.about.startswith("Walnuts"))
    assert line.value == pytest.approx(nuts[10] * 2)
    assert line.parts[0].value == pytest.approx(nuts[10])
    assert spread_of(plan, given).draws.value == MEMBERS


def test_cash_by_member_for_other_uses_of_the_land(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    picture, _, ahead = seen_farm
    cash = cash_of(picture.farm, ahead)
    assert cash is not None
    assert cash.shape == (PLAN_YEARS, MEMBERS)
    alone = cash_of(picture.farm, None)
    assert alone is not None
    assert alone.shape == (PLAN_YEARS, 1)


def test_everything_that_can_be_followed_is_found(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    picture, plan, ahead = seen_farm
    for name in can_follow(ahead):
        line = replace(plan.lines[0], follows=name, per="")
        given = futures(picture.farm, replace(plan, lines=(line,)), ahead)
        assert given.unknown == (), name


def test_what_is_to_be_spread_is_a_cost_in_its_years(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    """2 t of lime in 2027 and every four years at $60 a t: $120 each time, nothing between."""
    picture, plan, ahead = seen_farm
    lime = PlannedInput("lime", "lime", parse("2 t", "mass"), 2027, 4)
    farm = replace(picture.farm, future=Future(inputs=(lime,)))
    line = replace(plan.lines[1], follows="input lime", per="t", price=parse("$60", "money"))
    bare = replace(plan, lines=(line,), price_range=None)
    spread = futures(farm, bare, ahead).follows["ewes"].amount
    assert spread.shape == (PLAN_YEARS, MEMBERS)
    assert [2025 + year for year in np.flatnonzero(spread[1:, 0]) + 1] == [2027, 2031, 2035, 2039]
    assert spread[2].tolist() == pytest.approx([2.0] * MEMBERS)
    cash = cash_of(replace(farm, money=bare), ahead)
    assert cash is not None
    assert cash[2] == pytest.approx(-120.0)
    assert futures(farm, replace(plan, lines=(replace(line, follows="input urea"),)), ahead).unknown


def test_a_plan_that_outlasts_the_decades_stands_as_typed(
    seen_farm: tuple[Picture, MoneyPlan, Projection],
) -> None:
    picture, plan, ahead = seen_farm
    assert "nuts" not in futures(picture.farm, replace(plan, years=40), ahead).follows


def test_the_page_asks_the_decades_itself(seen_farm: tuple[Picture, MoneyPlan, Projection]) -> None:
    picture, plan, ahead = seen_farm
    given = money_given(picture)
    assert given.follows["nuts"].amount[:, :MEMBERS] == pytest.approx(
        futures(picture.farm, plan, ahead).follows["nuts"].amount
    )
