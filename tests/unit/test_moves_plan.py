"""Plans: never worse than the rule, the best where all can be counted, told in words, changed little."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Promise, Rules
from browseline.limits import Scene, faces
from browseline.moves import Yardstick, judge, plan, propose, yardstick_of
from browseline.moves.replan import FIRM_D, keeping
from browseline.moves.rules import rule_plans
from browseline.record.state import YARD, MobState, ShutState
from tests.moves_farms import DAY, broken, grazed, left_at, number, span, with_rules
from tests.small_farm import NOW

TWELVE = (
    (3.0, 2.5, 2.0, 3.0, 4.0, 2.0, 3.0, 3.0, 2.5, 2.0, 3.5, 3.0),
    (9, 8, 10, 7, 8, 9, 6, 10, 8, 7, 9, 8),
)


def twelve(rules: Rules | None = None) -> Scene:
    return grazed(*TWELVE, mobs=2, days=60, weather=True, members=15, head=60, rules=rules)


@pytest.mark.parametrize("hard", [False, True], ids=["worms soft", "worms hard"])
def test_twelve_paddocks_cost_less_than_the_rule_and_keep_every_hard_limit(hard: bool) -> None:
    scene = twelve(rules=Rules(worms_hard=hard, no_move_weekdays=(7,)))
    season = plan(scene)
    assert broken(scene, season) == []
    yardstick = yardstick_of(scene, faces(scene))
    letter = judge(yardstick, keeping(scene, yardstick, season).old).mean_usd
    assert letter < 0.9 * min(
        judge(yardstick, rule).mean_usd for rule in rule_plans(yardstick, yardstick.whole)
    )
    assert number(season.total) == pytest.approx(letter)
    assert season.lived is not None
    assert number(season.lived) < letter, "lived with eyes on the grass it costs less than kept to the letter"
    assert number(season.lived) < 1.1 * number(season.rule_total), (
        "hand rules with a daily look are strong here"
    )
    low, mean, high = span(season.total)
    assert low <= mean <= high


def best_of_all(yardstick: Yardstick) -> float:
    """Return the least mean cost of every plan there is, judged one by one."""
    mobs, days = len(yardstick.mobs), len(yardstick.days)
    least = np.inf
    for row in product(range(yardstick.yard + 1), repeat=mobs * days):
        verdict = judge(yardstick, np.array(row).reshape(mobs, days))
        least = min(least, verdict.mean_usd) if verdict.kept else least
    return least


@pytest.mark.parametrize(("acres", "tall", "hard", "head"), [
    ((3.0, 2.0, 2.5), (6.5, 9.0, 10.0), False, 60),
    ((0.5, 0.6, 0.4), (7.0, 9.0, 9.5), False, 30),
    ((0.3, 1.0, 0.4), (5.0, 8.5, 7.0), True, 40),
    ((2.0, 0.2, 3.0), (4.2, 9.0, 7.9), True, 25),
])  # fmt: skip
def test_on_a_tiny_farm_the_plan_is_the_best_there_is(
    acres: tuple[float, ...], tall: tuple[float, ...], hard: bool, head: int
) -> None:
    scene = grazed(acres, tall, days=5, head=head, rules=Rules(worms_hard=hard), been_h=24)
    yardstick = yardstick_of(scene, faces(scene))
    found = propose(yardstick, 1, 3000)
    assert found.verdict.mean_usd == pytest.approx(best_of_all(yardstick), abs=1e-6)


def test_two_mobs_on_a_tiny_farm_get_the_best_there_is() -> None:
    scene = grazed((0.5, 0.6), (8.0, 9.0), mobs=2, days=3, head=20)
    yardstick = yardstick_of(scene, faces(scene))
    assert propose(yardstick, 1, 3000).verdict.mean_usd == pytest.approx(best_of_all(yardstick), abs=1e-6)


def test_the_same_seed_and_tries_give_the_same_plan() -> None:
    scene = twelve()
    one, two = plan(scene, iterations=1500), plan(replace(scene, memo={}), iterations=1500)
    assert one == two


def test_no_tries_give_the_better_of_the_rules() -> None:
    scene = twelve()
    yardstick = yardstick_of(scene, faces(scene))
    rules = [judge(yardstick, p).mean_usd for p in rule_plans(yardstick, yardstick.whole)]
    assert propose(yardstick, 1, 0).verdict.mean_usd == pytest.approx(min(rules))


# ---------------------------------------------------------------- replanning


def test_nothing_new_changes_nothing_near() -> None:
    scene = twelve()
    season = plan(scene, iterations=1500)
    again = plan(scene, season, iterations=1500)
    assert again.changed_days == 0
    assert number(again.total) <= number(season.total) + 14 * 10


def test_a_promise_changes_few_days_and_says_so() -> None:
    scene = twelve()
    season = plan(scene, iterations=3000)
    near = next(s.stay for s in season.of("ewes") if s.stay.begin.start > NOW)
    first = near.begin.start.date()
    hay = Promise("hay", "hay", "Hay", first, first + timedelta(days=10), (near.place,))
    changed = replace(scene, farm=replace(scene.farm, promises=(hay,)), memo={})
    again = plan(changed, season, iterations=3000)
    assert broken(changed, again) == []
    days = [c for c in again.changes if c.startswith("Ewes")]
    assert days
    assert f"instead of {near.place}" in days[0]
    free = plan(changed, iterations=3000)
    was = keeping(scene, yardstick_of(scene, faces(scene)), season).old
    now = keeping(changed, yardstick_of(changed, faces(changed)), free).old
    assert again.changed_days <= max(int(np.sum(was[:, :FIRM_D] != now[:, :FIRM_D])), 1)


def test_a_mob_that_the_plan_leaves_in_place_is_told_when_it_has_to_go() -> None:
    """A plan is kept as its moves: of a mob without one it says that it stays."""
    scene = grazed((3.0,) * 5, (9, 8, 9, 8, 9), mobs=2, days=16)
    season = plan(scene, iterations=200)
    kept = replace(season, stays=season.of("ewes"))
    gate = ShutState("2", "wasps", When.at(NOW), "cleared")
    state = replace(scene.state, shut=(gate,))
    again = plan(replace(scene, state=state, memo={}), kept, iterations=200)
    assert again.changed_days >= FIRM_D
    told = [words for words in again.changes if words.startswith("Heifers")]
    assert any("instead of 2" in words and "Shut: wasps, until cleared." in words for words in told)


def test_moves_that_were_made_stay_made() -> None:
    scene = twelve()
    season = plan(scene, iterations=1500)
    later = NOW + 6 * DAY
    planned = next(s.stay for s in season.of("ewes") if s.stay.begin.start <= later < left_at(s.stay))
    since = When.at(planned.begin.start - timedelta(hours=3))  # moved three hours before the plan said
    moved = MobState("ewes", "Ewes", scene.mobs[0].lines, planned.place, since)
    mobs = (moved, scene.mobs[1])
    state = replace(scene.state, mobs=mobs, at=later)
    later_scene = replace(scene, now=later, days=scene.days[6:], mobs=mobs, state=state, memo={},
                          herbage=replace(scene.herbage, now=later))  # fmt: skip
    again = plan(later_scene, season, iterations=1500)
    assert again.of("ewes")[0].stay.place == planned.place
    assert again.of("ewes")[0].stay.begin == since
    assert all(s.stay.begin.start >= later for s in again.of("ewes")[1:])


# ---------------------------------------------------------------- words


def test_the_end_of_a_stay_names_its_limit_and_the_runner_up() -> None:
    season = plan(twelve())
    by_limit = {s.limit for s in season.stays}
    assert "worms" in by_limit
    assert all(s.reason for s in season.stays)
    assert season.of("ewes")[-1].reason.startswith("The plan ends on")
    told = [s for s in season.stays if s.runner_up]
    assert len(told) == len(season.stays)
    assert all(list(span(s.lost_by)) == sorted(span(s.lost_by)) for s in told)
    assert all(0 <= number(s.share_kept) <= 1 for s in season.stays if s.stay.place != YARD)


def test_grass_and_shut_paddocks_end_stays_too() -> None:
    shut_from = NOW.date() + timedelta(days=3)
    hay = Promise("hay", "hay", "Hay", shut_from, shut_from + timedelta(days=30), ("1",))
    closing = plan(grazed((5.0, 5.0), (12, 12), promises=(hay,), days=15))
    assert closing.of("ewes")[0].limit == "promise"
    # 0.95 ac x 3 in x 275 lb x 0.70 = 549 lb is 2.1 d of 264 lb
    grazing = plan(grazed((0.95, 6.0, 6.0), (7, 12, 12), days=10, growth="0 lb/ac/d", head=60))
    first = grazing.of("ewes")[0]
    assert first.limit == "grass"
    assert left_at(first.stay) == NOW + 2 * DAY
    assert number(first.share_kept) >= 0.5


def test_the_present_stay_is_explained_by_what_bites_it() -> None:
    season = plan(grazed((6.0, 6.0, 6.0), (10, 10, 10), been_h=48, days=12, rules=Rules(worms_hard=True)))
    first = season.of("ewes")[0]
    assert first.limit == "worms"
    assert left_at(first.stay) <= NOW + 2 * DAY
    assert first.reason.startswith("Worms: ")


def test_no_place_left_is_a_clash_with_ways_out() -> None:
    shut = tuple(ShutState(p, "Limb down", When.at(NOW)) for p in ("1", "2"))
    season = plan(grazed((3.0, 3.0), (9, 9), shut=shut, days=10))
    assert {s.stay.place for s in season.stays} == {YARD}
    (clash,) = season.clashes
    assert clash.code == "no_place"
    assert clash.mob == "ewes"
    assert "2 shut" in clash.says
    assert len(clash.ways) == 4


def test_a_mob_that_nobody_can_take_out_of_a_shut_paddock_is_a_clash() -> None:
    weekday = NOW.isoweekday()
    shut = (ShutState("1", "Limb down", When.at(NOW)),)
    scene = grazed((3.0, 3.0), (9, 9), shut=shut, days=10, rules=Rules(no_move_weekdays=(weekday,)))
    season = plan(scene)
    assert season.clashes[0].code == "stuck"
    assert season.of("ewes")[0].stay.place == "1"
    assert left_at(season.of("ewes")[0].stay) == NOW + DAY


def test_paddocks_without_a_height_are_left_out_and_said() -> None:
    scene = grazed((3.0, 3.0, 3.0), (9, 9, 9), days=10)
    read = scene.herbage.read.copy()
    read[2] = False
    partly = replace(scene, herbage=replace(scene.herbage, read=read), memo={})
    season = plan(partly)
    assert "3" not in {s.stay.place for s in season.stays}
    assert season.clashes[0].code == "not_read"


def test_no_mob_gives_an_empty_season() -> None:
    season = plan(replace(grazed((3.0,), (9,), days=5), mobs=(), memo={}))
    assert season.stays == ()
    assert season.total.value == 0


def test_hard_rules_of_the_farm_are_those_the_plan_keeps() -> None:
    soft = grazed((1.5, 1.5, 1.5), (9, 9, 9), days=20)
    hard = with_rules(soft, worms_hard=True)
    assert broken(hard, plan(soft)) != []
    assert broken(hard, plan(hard)) == []


def test_a_change_for_days_on_which_nobody_is_there_says_so() -> None:
    acres, tall = (3.0,) * 6, (9.0, 8.0, 8.5, 9.0, 7.5, 8.0)
    old = plan(grazed(acres, tall, days=16), iterations=200)
    leaves = next(s.stay.end.end.date() for s in old.of("ewes") if s.stay.end is not None)
    away = Promise("a", "away", "Away", leaves, leaves + timedelta(days=2))
    new = plan(grazed(acres, tall, days=16, promises=(away,)), old, iterations=200)
    for stay in new.of("ewes"):
        assert stay.stay.begin.start.date() not in (leaves, leaves + timedelta(days=1))
    assert any("when nobody can move animals" in words for words in new.changes)
