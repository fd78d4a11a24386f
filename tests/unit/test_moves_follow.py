"""Leader and follower: who may come where, how soon and how late; who may share; told in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Rules
from browseline.limits import Scene, faces
from browseline.moves import Plan, Yardstick, judge, plan, yardstick_of
from browseline.moves.rules import all_yard
from browseline.record.state import AWAY, YARD, ShutState, Stay
from browseline.units import parse
from tests.moves_farms import DAY, broken, grazed, left_at, number, with_mob
from tests.small_farm import NOW

EWES, HEIFERS = 0, 1
ACRES, TALL = (3.0, 2.0, 2.5, 4.0), (9.0, 8.0, 10.0, 9.0)
TEN = (
    (1.5, 2.5, 2.0, 3.0, 2.5, 2.0, 3.0, 3.0, 2.5, 2.0),
    (9.0, 8.0, 10.0, 9.0, 8.0, 9.0, 8.5, 10.0, 8.0, 9.0),
)


def measured(scene: Scene) -> Yardstick:
    return yardstick_of(scene, faces(scene))


def behind(scene: Scene, leaves: int, comes: int) -> bool:
    """Return whether ewes may come to paddock 4 on a day if the heifers are there until another."""
    yardstick = measured(scene)
    tried: Plan = all_yard(yardstick)
    tried[HEIFERS, 2:leaves] = 3
    tried[EWES, comes : comes + 2] = 3
    return judge(yardstick, tried).kept


@pytest.mark.parametrize(
    ("leaves", "comes", "kept"), [(4, 4, True), (4, 8, True), (4, 9, False), (8, 0, False), (2, 3, False)]
)
def test_a_follower_comes_at_once_or_within_four_days(leaves: int, comes: int, kept: bool) -> None:
    assert behind(grazed(ACRES, TALL, mobs=2, days=12, follows=True), leaves, comes) is kept
    assert behind(grazed(ACRES, TALL, mobs=2, days=12), leaves, comes)


@pytest.mark.parametrize(("comes", "kept"), [(4, False), (6, False), (7, True), (9, True), (10, False)])
def test_days_behind_are_the_farms_own(comes: int, kept: bool) -> None:
    scene = grazed(ACRES, TALL, mobs=2, days=14, follows=True)
    late = with_mob(scene, "ewes", follows_after=parse("3 d", "time"), follows_within=parse("5 d", "time"))
    assert behind(late, 4, comes) is kept


def test_days_behind_without_a_last_day_count_from_the_first() -> None:
    scene = with_mob(
        grazed(ACRES, TALL, mobs=2, days=14, follows=True), "ewes", follows_after=parse("3 d", "time")
    )
    assert [behind(scene, 4, comes) for comes in (6, 7, 11, 12)] == [False, True, True, False]


@pytest.mark.parametrize(("hours", "kept"), [(95, True), (97, False)])
def test_where_the_leader_left_in_the_past_counts_to_the_hour(hours: int, kept: bool) -> None:
    left = NOW - timedelta(hours=hours)
    past = (Stay("heifers", "3", When.at(left - 3 * DAY), When.at(left)),)
    yardstick = measured(grazed(ACRES, TALL, mobs=2, days=8, past=past, follows=True))
    tried = all_yard(yardstick)
    tried[EWES, 0:2] = 2
    assert judge(yardstick, tried).kept is kept


def test_only_mobs_that_run_together_share_a_paddock_and_then_the_follower_may_come_to_its_leader() -> None:
    apart = grazed(ACRES, TALL, mobs=2, days=10, follows=True)
    friends = with_mob(apart, "heifers", runs_with=("ewes",))
    tried = all_yard(measured(apart))
    tried[HEIFERS, 2:6] = 3
    tried[EWES, 4:6] = 3
    same_day = tried.copy()
    same_day[EWES, 2:6] = 3
    assert not judge(measured(apart), tried).kept
    assert judge(measured(friends), tried).kept
    assert not judge(measured(friends), same_day).kept  # it comes after its leader, not with it


def test_who_follows_does_not_wait_for_the_height_to_start() -> None:
    free, tied = (measured(grazed(ACRES, TALL, mobs=2, follows=f)) for f in (False, True))
    assert np.all(free.bars.enter_kg_ha[:, EWES] == free.bars.enter_kg_ha[:, HEIFERS])
    assert np.all(tied.bars.enter_kg_ha[:, EWES] == 0)
    assert np.all(tied.bars.enter_kg_ha[:, HEIFERS] == free.bars.enter_kg_ha[:, HEIFERS])
    assert np.all(tied.bars.leave_kg_ha == free.bars.leave_kg_ha)


def test_a_leader_away_from_the_farm_leads_nobody() -> None:
    scene = grazed(ACRES, TALL, mobs=2, days=8, follows=True)
    gone = replace(scene, mobs=(scene.mobs[0], replace(scene.mobs[1], place=AWAY)), memo={})
    yardstick = measured(gone)
    tried = all_yard(yardstick)
    tried[0, 2:4] = 2
    assert judge(yardstick, tried).kept


@pytest.mark.parametrize("a_day", [1, 2])
def test_ewes_behind_heifers_graze_most_days_and_never_ahead(a_day: int) -> None:
    scene = grazed(*TEN, mobs=2, days=30, follows=True, head=30, growth="40 lb/ac/d",
                   rules=Rules(moves_a_day=a_day))  # fmt: skip
    season = plan(scene, iterations=6000)
    assert broken(scene, season) == []
    assert number(season.total) < number(season.rule_total)
    on_grass = sum(
        (left_at(s.stay) - max(s.stay.begin.start, NOW)) / DAY
        for s in season.of("ewes")
        if s.stay.place != YARD
    )
    assert on_grass >= 20
    told = [s.reason for s in season.of("ewes")[1:] if s.stay.place != YARD]
    assert told
    assert all("Comes behind Heifers, gone from there on" in reason for reason in told)


def test_a_plan_that_sends_the_follower_first_is_seen_by_the_checker() -> None:
    free = grazed(*TEN, mobs=2, days=20)
    tied = grazed(*TEN, mobs=2, days=20, follows=True)
    assert broken(free, plan(free, iterations=1000)) == []
    assert broken(tied, plan(free, iterations=1000)) != []


def test_a_follower_with_nowhere_to_go_is_a_clash_with_ways_out() -> None:
    shut = (ShutState("1", "Limb down", When.at(NOW)),)
    free = grazed((3.0, 6.0, 3.0), (9, 12, 9), mobs=2, days=6, follows=True, shut=shut)
    scene = with_mob(free, "heifers", keep_out=("3",))
    season = plan(scene, iterations=800)
    clash = next(c for c in season.clashes if c.code == "no_place_behind" and c.mob == "ewes")
    assert "1 shut" in clash.says
    assert "where Heifers have not just been" in clash.says
    assert "Let Ewes go without following Heifers on those days." in clash.ways
    assert broken(scene, season) == []
