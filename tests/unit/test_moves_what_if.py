"""What a rule is worth: what only frees a plan never costs, and no plan is told that cannot be kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from browseline.farm.records import Rules
from browseline.limits import Scene, faces
from browseline.moves import Plan, Yardstick, judge, plan, propose, what_if, yardstick_of
from browseline.moves.replan import keeping
from browseline.moves.rules import all_yard
from browseline.moves.what_if import worths
from browseline.moves.what_if_cases import FREED, Case, cases
from browseline.units import parse
from tests.moves_farms import grazed, number

ACRES, TALL = (3.0, 3.0, 3.0, 4.0, 3.0, 2.5, 3.0), (9.0, 9.0, 9.0, 11.0, 9.0, 8.0, 10.0)
WEEK_ENDS = Rules(no_move_weekdays=(1, 2, 3, 4, 5), moves_a_day=1)


def weekly() -> Scene:
    """Return three mobs on a farm that moves one of them a day, on Saturdays and Sundays alone."""
    return grazed(ACRES, TALL, mobs=3, days=14, growth="30 lb/ac/d", rules=WEEK_ENDS)


def case_of(key: str, scene: Scene, yardstick: Yardstick, begin: Plan) -> Case:
    return next(case for case in cases(scene, yardstick, begin) if case.key == key)


def test_a_plan_that_moved_all_on_its_first_saturday_may_still_do_so_where_weekdays_are_freed() -> None:
    scene = weekly()
    yardstick = yardstick_of(scene, faces(scene))
    out = all_yard(yardstick)
    first = int(yardstick.bars.stuck_d[0])
    assert first > 0
    assert (out[:, first] == yardstick.yard).all()
    assert judge(yardstick, out).kept
    assert judge(case_of("weekdays", scene, yardstick, out).yardstick, out).kept


def test_moves_on_more_days_never_cost_more() -> None:
    scene = weekly()
    found = {rule.key: rule for rule in worths(scene, plan(scene, iterations=200), 200).rules}
    assert {"weekdays", "hands"} <= set(found)
    for key, rule in found.items():
        if key.partition("-")[0] in FREED:
            assert number(rule.usd) >= 0
            assert "more." not in rule.says


def only(monkeypatch: pytest.MonkeyPatch, make: Case) -> None:
    def one(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
        yield make

    monkeypatch.setattr(what_if, "cases", one)


def test_a_case_begins_from_a_plan_mended_for_it_and_is_left_out_where_none_can_be_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    scene = weekly()
    yardstick, season = yardstick_of(scene, faces(scene)), plan(scene, iterations=50)
    begin, bars = all_yard(yardstick), yardstick.bars
    begin[0, int(bars.stuck_d[0]) :] = 5
    shut = bars.open_.copy()
    shut[:, :, 5] = False
    barred = replace(yardstick, bars=bars._replace(open_=shut))
    only(monkeypatch, Case("sundays", barred, begin, {}))
    assert not judge(barred, begin).kept
    assert [rule.key for rule in worths(scene, season, 50).rules] == ["sundays"]
    never = replace(yardstick, bars=bars._replace(arrivals=np.zeros_like(bars.arrivals), open_=shut & False))
    only(monkeypatch, Case("sundays", never, begin, {}))
    assert worths(scene, season, 50).rules == ()


def test_a_season_made_again_may_choose_the_plan_that_rules_are_held_against() -> None:
    scene = grazed(ACRES, TALL, mobs=2, days=20, growth="30 lb/ac/d")
    free = tuple((name, parse("$0", "money")) for name in ("change_near", "change_later"))
    scene = replace(scene, farm=replace(scene.farm, prices=free), memo={})
    yardstick = yardstick_of(scene, faces(scene))
    old = plan(scene, iterations=0)
    better = propose(yardstick, scene.farm.seed, 3_000, keeping(scene, yardstick, old))
    costs = [number(plan(scene, old, 0, also).total) for also in ((), (better.plan,))]
    assert costs[1] == pytest.approx(better.verdict.mean_usd)
    assert costs[1] < costs[0] - 1


def test_what_if_says_what_the_plan_costs_that_it_began_from() -> None:
    scene = grazed(ACRES, TALL, mobs=2, days=20, growth="30 lb/ac/d")
    old = plan(scene, iterations=0)
    found = worths(scene, old, 400)
    assert number(found.own) == pytest.approx(number(old.total))
    assert number(found.base) < number(found.own)
    yardstick = yardstick_of(scene, faces(scene))
    assert judge(yardstick, found.plan).mean_usd == pytest.approx(number(found.base))
    assert not found.mended


def test_a_net_that_only_costs_is_worth_nothing_since_it_may_be_left_down() -> None:
    scene = grazed(ACRES, TALL, mobs=1, days=10, growth="30 lb/ac/d")
    season = plan(scene, iterations=100)
    yardstick = yardstick_of(scene, faces(scene))
    base = what_if._Round(all_yard(yardstick), judge(yardstick, all_yard(yardstick)), ())
    net = case_of("net", scene, yardstick, base.plan)
    dear = replace(base.verdict, usd=base.verdict.usd + 5.0)
    assert what_if._not_worse(net, replace(base, verdict=dear), base) is base.verdict
    worth = {rule.key: number(rule.usd) for rule in worths(scene, season, 100).rules}
    assert worth["net"] >= 0
