"""Plans made again each week: cheaper than what is kept and the hand rules, never against a hard rule."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from benchmarks import policies
from benchmarks.hand_rules import RULES, by_rule, play_days
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from benchmarks.plan_leaning import Leaning
from benchmarks.plan_real_farms import onward, some
from benchmarks.plan_weather import TEST, mean_year, tables_onward, under, years
from benchmarks.plan_weather import onward as board_onward
from benchmarks.real_farms import farm_scene
from browseline.limits import faces
from browseline.moves import Yardstick, judge, yardstick_of
from browseline.moves.again import FEW, again, outlook_of
from browseline.moves.board.anneal import anneal
from browseline.moves.board.form import Board
from browseline.moves.board.prices import tables_of
from browseline.moves.board.search import all_yard, key_of
from browseline.moves.board.season import cost_usd
from browseline.moves.forecast import PESSIMISTIC, forecast_of
from browseline.moves.lived import choosing, lived
from browseline.moves.propose import ITERATIONS, Keeping
from browseline.moves.replan import MOST_RUN_D, WORTH, changed_days, most_changes, repaired, settled
from browseline.moves.rules import all_yard as all_in_yard
from browseline.moves.rules import rule_plans
from tests.plan_checker import cost, faults

SIZE, LONG, SEED, YEARS = (10, 70, 2), (10, 140, 1), 208, 6
WEEK_D = 7


def in_weather(made: dict[str, Any], weather: np.ndarray) -> dict[str, Any]:
    """Return a season's file in one weather."""
    paddocks = [
        {**p, "peak_growth_kg_ha_d": (np.array(p["peak_growth_kg_ha_d"]) * weather).tolist()}
        for p in made["paddocks"]
    ]
    return {**made, "paddocks": paddocks}


@cache
def played() -> tuple[dict[str, list[float]], list[list[str]], list[float]]:
    """Return each policy's cost by year and what it broke, by the plain checker, and what share changed."""
    made = season(SEED, *LONG)
    board = board_of(made)
    seen, leaning = policies.Forecast(board, PESSIMISTIC * mean_year(LONG[1]), rounds=1), Leaning(LONG[1])
    usd: dict[str, list[float]] = {}
    broken: list[list[str]] = []
    changed: list[float] = []
    for weather in years(TEST, YEARS, LONG[1]):
        truth, file = under(board, weather), in_weather(made, weather)
        week = policies.replanned(seen, truth, seen.plan, WEEK_D)
        leant = policies.replanned(seen, truth, seen.plan, WEEK_D, leaning=leaning)
        plans = {
            "week": week.x,
            "leaning": leant.x,
            "kept": seen.plan,
            **{name: by_rule(truth, i) for i, name in enumerate(RULES)},
        }
        for name, x in plans.items():
            usd.setdefault(name, []).append(cost(file, x.tolist())["total"])
            broken.append(faults(file, x.tolist()))
        changed += week.changed
    return usd, broken, changed


def test_a_plan_made_again_each_week_is_cheaper_than_one_that_is_kept_and_than_every_hand_rule() -> None:
    usd, _, _ = played()
    mean = {name: float(np.mean(costs)) for name, costs in usd.items()}
    assert mean["week"] < 0.8 * mean["kept"]
    assert all(mean[way] < 0.8 * mean[rule] for rule in RULES for way in ("week", "leaning"))


@pytest.mark.parametrize("day", [35, 98])
def test_a_forecast_that_leans_on_what_grew_is_nearer_to_what_comes_than_the_mean_year(day: int) -> None:
    leaning, mean, days = Leaning(LONG[1]), mean_year(LONG[1]), slice(day, day + WEEK_D)
    fresh = years(TEST, 60, LONG[1])
    leant = np.array([leaning.forecast(w[:day])[:WEEK_D] for w in fresh])
    off, usual = np.abs(np.log(leant / fresh[:, days])), np.abs(np.log(mean[days] / fresh[:, days]))
    assert off.mean() < 0.6 * usual.mean()


def test_far_ahead_mildly_less_than_the_mean_is_foreseen() -> None:
    told, far = Leaning(LONG[1]).forecast(mean_year(LONG[1])[:20]), slice(-30, None)
    assert told[far].mean() == pytest.approx(PESSIMISTIC * mean_year(LONG[1])[far].mean(), rel=0.15)


def test_a_plan_that_leans_on_what_grew_knows_nothing_of_what_comes() -> None:
    board, day = board_of(season(SEED, *LONG)), 70
    seen, leaning = policies.Forecast(board, PESSIMISTIC * mean_year(LONG[1]), rounds=1), Leaning(LONG[1])
    poor, good = years(TEST, 2, LONG[1])
    good[:day] = poor[:day]
    one, other = (
        policies.replanned(seen, under(board, w), seen.plan, WEEK_D, leaning=leaning).x for w in (poor, good)
    )
    assert (one[:, : day + WEEK_D] == other[:, : day + WEEK_D]).all()
    assert (one != other).any()


def test_tables_read_on_an_unchanged_forecast_are_the_same_with_and_without_it() -> None:
    board, day = board_of(season(SEED, *LONG)), 21
    tables = tables_of(board, 0.16, False)
    left = board_onward(board, all_yard(board), day, board.start_kg_ha, np.zeros(len(board.area_ha)))
    assert tables_onward(board, tables, day, left).low == pytest.approx(tables_onward(board, tables, day).low)


def test_no_hard_rule_is_broken_in_any_season_that_was_played() -> None:
    _, broken, _ = played()
    assert broken == [[]] * len(broken)


def test_less_than_half_of_the_next_week_changes() -> None:
    _, _, changed = played()
    assert 0 < float(np.mean(changed)) <= 0.5


def test_a_board_seen_from_a_later_day_allows_only_what_the_whole_season_allows() -> None:
    made = season(3, *SIZE)
    board = board_of(made)
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    x, _ = anneal(board, all_yard(board), none, np.zeros(0), 3_000, 80.0, 2.0, key_of(1, 0))
    for day in range(5, SIZE[1], 11):
        later = _later(board, x, day)
        begin, free = np.ascontiguousarray(x[:, day:]), none[:, day:].copy()
        rest, _ = anneal(later, begin, free, np.zeros(0), 2_000, 80.0, 30.0, key_of(2, day))
        assert not np.array_equal(rest, x[:, day:])
        whole = np.concatenate([x[:, :day], rest], axis=1)
        assert cost_usd(later, rest)[0]
        assert faults(made, whole.tolist()) == []


def test_the_cost_of_what_is_left_is_the_cost_of_the_season_less_what_is_past() -> None:
    made = season(3, *SIZE)
    board = board_of(made)
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    x, whole = anneal(board, all_yard(board), none, np.zeros(0), 3_000, 80.0, 2.0, key_of(1, 0))
    other = x.copy()
    day = 1 + int(np.flatnonzero((np.diff(x, axis=1) != 0).any(axis=0))[10])
    other[:, day:], _ = anneal(_later(board, x, day), np.ascontiguousarray(x[:, day:]), none[:, day:].copy(),
                               np.zeros(0), 2_000, 20.0, 2.0, key_of(3, 0))  # fmt: skip
    later = _later(board, x, day)
    saved = (
        cost_usd(later, np.ascontiguousarray(x[:, day:]))[1]
        - cost_usd(later, np.ascontiguousarray(other[:, day:]))[1]
    )
    assert saved > 0
    assert whole - cost_usd(board, other)[1] == pytest.approx(saved, abs=1e-6)


def _later(board: Board, x: np.ndarray, day: int) -> Board:
    herbage, dose = board.start_kg_ha.copy(), np.zeros(len(board.area_ha))
    play_days(board, x, 0, day, herbage, dose)
    return board_onward(board, x, day, herbage, dose)


# ---------------------------------------------------------------- on the real sward


@cache
def made_up(seed: int = 5, paddocks: int = 9, days: int = 63) -> Yardstick:
    """Return the yardstick of a made-up farm."""
    scene = farm_scene(seed, paddocks, days, 15, 2)
    return yardstick_of(scene, faces(scene))


def test_a_forecast_grows_less_in_each_of_a_few_members() -> None:
    whole = made_up().whole
    seen = forecast_of(whole)
    assert seen.mass_kg_ha.shape[0] == 5
    rows = [np.flatnonzero((whole.mass_kg_ha == mass).all(axis=1))[0] for mass in seen.mass_kg_ha]
    assert seen.days.potential_kg_ha_d == pytest.approx(0.88 * whole.days.potential_kg_ha_d[:, rows])
    assert seen.days.loss_per_d == pytest.approx(whole.days.loss_per_d[:, rows])


def test_a_plan_made_again_keeps_hard_limits_and_as_lived_is_never_worse_than_what_it_began_from() -> None:
    yardstick = made_up()
    members, rules = choosing(yardstick), rule_plans(yardstick, yardstick.whole)
    rule = rules[0]
    held = Keeping(rule, np.full(rule.shape[1], 5.0))
    found = again(yardstick, rule, held, 1, 1_500, outlook_of(yardstick))
    assert found.verdict.kept
    assert judge(yardstick, found.plan).mean_usd == found.verdict.mean_usd
    costs = {
        name: lived(yardstick, plan, judge(yardstick, plan), members).mean_usd + held.usd(plan)
        for name, plan in (("found", found.plan), ("rule", rule), ("yard", all_in_yard(yardstick)))
    }
    assert costs["found"] <= min(costs["rule"], costs["yard"])
    assert costs["found"] < 0.8 * judge(yardstick, rule).mean_usd
    once_more = again(yardstick, rule, held, 1, 1_500, outlook_of(yardstick))
    assert np.array_equal(once_more.plan, found.plan)


def test_on_the_real_sward_weekly_plans_beat_the_hand_rules_that_see_herbage_daily() -> None:
    yardstick = made_up()
    seen = replace(yardstick, whole=some(yardstick.whole, np.arange(12)))
    outlook, won = outlook_of(seen), []
    for member in (12, 13, 14):
        truth = some(yardstick.whole, np.array([member]))
        x = rule_plans(seen, seen.whole)[0]
        for day in range(0, x.shape[1], WEEK_D):
            stands = judge(seen, x, truth).mass_kg_ha[0, day]
            left, old = onward(seen, x, day, stands), np.ascontiguousarray(x[:, day:])
            x[:, day:] = again(
                left, old, Keeping.nothing(left), 1, 800, replace(outlook_of(left), guide=None)
            ).plan
        mine = judge(seen, x, truth)
        assert mine.kept
        won.append(mine.mean_usd / min(judge(seen, plan, truth).mean_usd for plan in rule_plans(seen, truth)))
    assert outlook.board.spread > 0
    assert float(np.mean(won)) < 0.9


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_after_paddocks_are_shut_at_most_half_of_the_next_week_changes(seed: int) -> None:
    scene = farm_scene(seed, 24, 60, 15, 3)
    yardstick = yardstick_of(scene, faces(scene))
    old = again(yardstick, rule_plans(yardstick, yardstick.whole)[0], Keeping.nothing(yardstick), seed, 1_500,
                outlook_of(yardstick)).plan  # fmt: skip
    bars, days = yardstick.bars, old.shape[1]
    used = [
        p for p in dict.fromkeys(old[:, 7:14].ravel().tolist()) if p < yardstick.yard and p not in bars.start
    ]
    shut = bars.open_.copy()
    shut[:, :14, used[:4]] = False
    now = replace(yardstick, bars=bars._replace(open_=shut))
    usd = np.zeros(days)
    usd[:7], usd[7:14] = 40.0, 10.0
    start = repaired(now, old)
    found = again(now, start, Keeping(old, usd), seed, 1_500, outlook_of(now))
    assert found.verdict.kept
    assert not np.isin(found.plan[:, :14], used[:4]).any()
    assert found.verdict.mean_usd <= judge(now, start).mean_usd + 14 * 3 * 40
    assert np.mean(found.plan[:, :7] != old[:, :7]) <= 0.5


def made_otherwise(seed: int) -> tuple[Yardstick, np.ndarray]:
    """Return a made-up season whose heights are other than foreseen, and the plan in force."""
    foreseen = made_up(seed, 12, 60)
    begin, none = rule_plans(foreseen, foreseen.whole)[1], Keeping.nothing(foreseen)
    old = again(foreseen, begin, none, 7, 300, outlook_of(foreseen)).plan
    heights = np.exp(np.random.default_rng(seed).normal(0.0, 0.3, len(foreseen.paddocks)))
    whole = foreseen.whole._replace(mass_kg_ha=foreseen.whole.mass_kg_ha * heights)
    return replace(foreseen, whole=whole), old


@pytest.mark.parametrize(("seed", "usd", "taken"), [(32, 4.0, True), (24, 0.5, False)])
def test_a_plan_that_changes_much_of_the_week_gives_way_to_one_that_costs_hardly_more(
    seed: int, usd: float, taken: bool
) -> None:
    now, old = made_otherwise(seed)
    price = np.zeros(old.shape[1])
    price[:7], price[7:14] = usd, usd / 5
    held, outlook = Keeping(old, price), outlook_of(now)
    first = again(now, old, held, 1, 400, outlook)
    found = settled(now, old, held, 1, 400, outlook)
    assert changed_days(old, first.plan) > 7, "more than half of two mobs' next week"
    assert (changed_days(old, found.plan) <= 7) is taken
    costs = [it.verdict.mean_usd + held.usd(it.plan) for it in (first, found)]
    assert costs[1] <= WORTH * costs[0]


def test_few_small_changes_buy_more_where_all_of_them_look_at_all_members(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cost: dict[int, list[float]] = {0: [], FEW: []}
    for seed in (21, 22, 23, 24):
        yardstick = made_up(seed, 24, 90)
        begin = rule_plans(yardstick, yardstick.whole)[0]
        none = Keeping.nothing(yardstick)
        old = again(yardstick, begin, none, 7, 1_200, outlook_of(yardstick)).plan
        heights = np.exp(np.random.default_rng(seed).normal(0.0, 0.15, len(yardstick.paddocks)))
        whole = yardstick.whole._replace(mass_kg_ha=yardstick.whole.mass_kg_ha * heights)
        now = replace(yardstick, whole=whole)
        for few in cost:
            monkeypatch.setattr("browseline.moves.again.FEW", few)
            outlook = replace(outlook_of(now), guide=None)
            cost[few].append(again(now, old, none, 1, 3 * old.size, outlook).verdict.mean_usd)
    assert sum(cost[FEW]) < 0.95 * sum(cost[0])


def test_a_large_season_is_planned_again_by_few_changes_that_still_pay() -> None:
    scene = farm_scene(1, 60, 240, 51, 3)
    yardstick = yardstick_of(scene, faces(scene))
    old = rule_plans(yardstick, yardstick.whole)[0]
    start = repaired(yardstick, old)
    tries = min(ITERATIONS, most_changes(yardstick))
    assert 0 < tries * 240 * 51 < MOST_RUN_D, "the days of members for which two seconds suffice"
    found = again(yardstick, start, Keeping.nothing(yardstick), 1, tries, outlook_of(yardstick))
    assert found.verdict.mean_usd < 0.7 * judge(yardstick, start).mean_usd
