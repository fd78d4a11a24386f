"""The judge against a plain day-by-day recomputation, and the terms against arithmetic by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Promise, Rules
from browseline.limits import Scene, faces
from browseline.moves import Plan, Yardstick, judge, yardstick_of
from browseline.moves.judge import some_members
from browseline.moves.kernel import TERMS
from browseline.moves.rules import all_yard, rule_plans
from browseline.record.state import AWAY, Stay
from tests.moves_farms import grazed, plain_cost
from tests.small_farm import NOW

ACRES, TALL = (3.0, 2.0, 2.5, 4.0), (9.0, 8.0, 10.0, 7.0)
DEMAND_KG_D = 30 * 4.4 * 0.45359237


def measured(scene: Scene) -> Yardstick:
    return yardstick_of(scene, faces(scene))


def random_plan(rng: np.random.Generator, mobs: int, days: int, yard: int) -> Plan:
    """Return a plan of short stays in which no two mobs share a paddock."""
    plan = np.full((mobs, days), yard)
    for m in range(mobs):
        t = 0
        while t < days:
            n = int(rng.integers(1, 6))
            place = int(rng.integers(0, yard + 1))
            if not np.any(plan[:m, t : t + n] == place):
                plan[m, t : t + n] = place
            t += n
    return plan


@pytest.mark.parametrize("weather", [False, True], ids=["typed growth", "weather"])
@pytest.mark.parametrize("mobs", [1, 2])
def test_the_judge_agrees_with_plain_arithmetic(mobs: int, weather: bool) -> None:
    past = (Stay("ewes", "3", When.at(NOW - timedelta(days=12)), When.at(NOW - timedelta(days=9, hours=6))),)
    scene = grazed(ACRES, TALL, mobs=mobs, been_h=50, days=25, members=3, past=past, weather=weather)
    yardstick, rng = measured(scene), np.random.default_rng(1)
    for _ in range(12):
        plan = random_plan(rng, mobs, 25, len(ACRES))
        verdict = judge(yardstick, plan)
        for member in range(3):
            plain = plain_cost(scene, plan, member)
            assert verdict.total_usd[member] == pytest.approx(plain, rel=1e-9, abs=1e-6)


def test_a_day_in_the_yard_costs_its_hay_and_its_day() -> None:
    yardstick = measured(grazed(ACRES, TALL, days=10))
    verdict = judge(yardstick, all_yard(yardstick))
    amount, usd = verdict.part("hay")
    assert amount == pytest.approx(10 * DEMAND_KG_D)
    assert usd == pytest.approx(10 * DEMAND_KG_D * 0.30)
    assert verdict.part("yard")[1] == pytest.approx(300)
    assert verdict.part("moves")[1] == pytest.approx(8)


def test_a_longer_stay_eats_a_smaller_share_unless_the_farm_typed_one() -> None:
    # psu_agronomy_guide, Table 1.8-9: 80 % of what disappears at one day, 60 % at a week and after
    scene = grazed(ACRES, TALL)
    assert measured(scene).bars.eaten_frac == pytest.approx(np.full((4, 8), 0.70))
    book = tuple(replace(n, share_eaten=None) for n in scene.herbage.numbers)
    untyped = replace(scene, herbage=replace(scene.herbage, numbers=book), memo={})
    share = measured(untyped).bars.eaten_frac[0]
    assert share[1] == pytest.approx(0.80)
    assert share[7] == pytest.approx(0.60)
    assert np.all(np.diff(share[1:]) <= 0)


def test_days_already_stood_count_towards_the_longest_stay() -> None:
    for been_h, over in ((0, 1), (48, 3)):
        yardstick = measured(grazed(ACRES, TALL, been_h=been_h, days=10))
        plan = all_yard(yardstick)
        plan[0, :5] = 0
        assert judge(yardstick, plan).part("over")[0] == pytest.approx(over)


def test_rest_counts_from_stays_of_the_past_to_the_hour() -> None:
    past = (Stay("ewes", "3", When.at(NOW - timedelta(days=34)), When.at(NOW - timedelta(days=30, hours=6))),)
    yardstick = measured(grazed(ACRES, TALL, days=12, past=past))
    plan = all_yard(yardstick)
    plan[0, 2:5] = 2
    assert judge(yardstick, plan).part("rest")[0] == pytest.approx(35 - 30.25 - 2)


@pytest.mark.parametrize(("first", "last", "kept"), [(0, 4, True), (0, 5, False), (1, 3, True)])
def test_a_hard_longest_stay_bars_a_plan(first: int, last: int, kept: bool) -> None:
    yardstick = measured(grazed(ACRES, TALL, days=10, rules=Rules(worms_hard=True)))
    plan = all_yard(yardstick)
    plan[0, first:last] = 1
    assert judge(yardstick, plan).kept is kept


def test_two_mobs_in_one_paddock_a_shut_day_and_a_day_nobody_moves_bar_a_plan() -> None:
    promises = (
        Promise("hay", "hay", "Hay", NOW.date() + timedelta(days=4), NOW.date() + timedelta(days=8), ("3",)),
        Promise("out", "away", "Away", NOW.date() + timedelta(days=5), NOW.date() + timedelta(days=7)),
    )
    yardstick = measured(grazed(ACRES, TALL, mobs=2, days=10, promises=promises))
    plain = all_yard(yardstick)
    assert judge(yardstick, plain).kept
    together, shut, barred, fits = (plain.copy() for _ in range(4))
    together[:, 2:4] = 3
    shut[0, 1:4] = 2  # day 4 of the plan begins at 7:00 of the shut day; day 3 runs into it
    barred[0, 3:6] = 3
    fits[0, 1:3] = 2
    assert [judge(yardstick, p).kept for p in (together, shut, barred, fits)] == [False, False, False, True]


def test_the_rules_go_to_the_longest_rested_and_to_the_most_feed() -> None:
    past = tuple(
        Stay("ewes", p, When.at(NOW - timedelta(days=d + 3)), When.at(NOW - timedelta(days=d)))
        for p, d in (("2", 40), ("3", 60), ("4", 50))
    )
    yardstick = measured(grazed(ACRES, TALL, been_h=72, days=12, past=past))
    longest, most = rule_plans(yardstick, yardstick.whole)
    assert list(dict.fromkeys(longest[0]))[:3] == [0, 2, 1]  # 4 is too short to enter at 8 in
    assert list(dict.fromkeys(most[0]))[1] == 2


def test_a_few_members_run_from_the_poorest_to_the_richest() -> None:
    yardstick = measured(grazed(ACRES, TALL, members=31))
    few = some_members(yardstick.whole, 3)
    grass = yardstick.whole.mass_kg_ha @ yardstick.whole.land.area_ha
    chosen = np.sort(few.mass_kg_ha @ few.land.area_ha)
    assert chosen[0] < np.median(grass) < chosen[-1]
    assert few.mass_kg_ha.shape[0] == 3
    assert some_members(few, 5) is few


def test_mobs_away_are_not_planned_and_the_parts_add_up() -> None:
    scene = grazed(ACRES, TALL, mobs=2)
    gone = replace(scene, mobs=(scene.mobs[0], replace(scene.mobs[1], place=AWAY)), memo={})
    assert measured(gone).mobs == ("ewes",)
    verdict = judge(yardstick := measured(scene), all_yard(yardstick))
    assert sum(verdict.part(t)[1] for t in TERMS) == pytest.approx(verdict.total_usd)
