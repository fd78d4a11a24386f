"""Hay, sacrifice ground and nowhere to go, with cattle, sheep and goats at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Promise, Rules
from browseline.limits import faces
from browseline.moves import Season, judge, plan, yardstick_of
from browseline.moves.rules import all_yard
from browseline.record.state import YARD, CutDone, ShutState
from tests.moves_farms import broken, grazed, number
from tests.small_farm import NOW

ACRES = (3.0, 3.0, 3.0, 4.0, 3.0, 2.5, 3.0)
TALL = (9.0, 9.0, 9.0, 11.0, 9.0, 8.0, 10.0)
TODAY = NOW.date()
HAY = Promise("hay", "hay", "Hay", TODAY, TODAY + timedelta(days=6), ("4",))
KG_HA_IN = 275 * 0.45359237 / 0.40468564224


def test_promised_hay_is_cut_on_the_last_day_of_its_promise() -> None:
    scene = grazed(ACRES, TALL, mobs=3, days=20, promises=(HAY,), growth="0 lb/ac/d")
    yardstick = yardstick_of(scene, faces(scene))
    mass = judge(yardstick, all_yard(yardstick)).mass_kg_ha[:, :, 3].mean(axis=0)
    assert mass[5] > 8 * KG_HA_IN
    assert mass[6] == pytest.approx(4 * KG_HA_IN, rel=0.01)


def test_hay_that_is_cut_already_is_not_cut_again() -> None:
    cut = CutDone("4", When.at(NOW - timedelta(hours=1)), "hay")
    begun = replace(HAY, from_day=TODAY - timedelta(days=3))
    scene = grazed(ACRES, TALL, mobs=3, days=20, promises=(begun,), cuts=(cut,))
    assert np.all(np.isinf(yardstick_of(scene, faces(scene)).whole.days.cut_to_kg_ha))
    again = grazed(ACRES, TALL, mobs=3, days=20, promises=(begun,))
    assert np.sum(np.isfinite(yardstick_of(again, faces(again)).whole.days.cut_to_kg_ha)) == 1


@pytest.mark.parametrize("growth", ["15 lb/ac/d", "60 lb/ac/d"])
def test_the_aftermath_is_grazed_from_the_start_height_only(growth: str) -> None:
    scene = grazed(ACRES, TALL, mobs=3, days=40, promises=(HAY,), growth=growth, head=20)
    season = plan(scene, iterations=4000)
    assert broken(scene, season) == []
    # 4 in after the cut and 8 in to start: 4 x 275 lb at 15 or 60 lb a day are 73 or 18 days
    ready = NOW + timedelta(days=5 + 4 * 275 / float(growth.split()[0]))
    entered = [s.stay.begin.start for s in season.stays if s.stay.place == "4"]
    assert all(begin >= ready - timedelta(days=2) for begin in entered)
    assert bool(entered) is (growth == "60 lb/ac/d")


def sacrificed(season: Season) -> set[str]:
    return {s.stay.place for s in season.stays}


def test_sacrifice_ground_is_never_grazed_and_is_the_yard_of_the_plan() -> None:
    scene = grazed(ACRES, TALL, mobs=3, days=15)
    paddocks = tuple(replace(p, sacrifice=p.id == "5") for p in scene.farm.paddocks)
    marked = replace(scene, farm=replace(scene.farm, paddocks=paddocks), memo={})
    season = plan(marked, iterations=1500)
    assert "5" not in sacrificed(season)
    assert broken(marked, season) == []


def test_three_kinds_with_nowhere_to_go_each_get_a_clash_with_ways_out() -> None:
    shut = tuple(ShutState(p, "Limb down", When.at(NOW)) for p in ("1", "2", "3"))
    scene = grazed((3.0, 3.0, 3.0), (9, 9, 9), mobs=3, days=8, shut=shut)
    season = plan(scene, iterations=300)
    assert {s.stay.place for s in season.stays} == {YARD}
    assert {c.mob for c in season.clashes} == {"ewes", "heifers", "goats"}
    for clash in season.clashes:
        assert "3 shut" in clash.says
        assert any("Mark a yard" in way for way in clash.ways)
    paddocks = tuple(replace(p, sacrifice=p.id == "3") for p in scene.farm.paddocks)
    marked = replace(scene, farm=replace(scene.farm, paddocks=paddocks), memo={})
    assert not any("Mark a yard" in way for c in plan(marked, iterations=300).clashes for way in c.ways)


def test_three_kinds_keep_hard_rules_hay_a_leader_and_cost_less_than_the_rule() -> None:
    scene = grazed(ACRES, TALL, mobs=3, days=30, promises=(HAY,), head=20, growth="35 lb/ac/d", follows=True,
                   rules=Rules(worms_hard=True, no_move_weekdays=(7,)))  # fmt: skip
    season = plan(scene, iterations=5000)
    assert broken(scene, season) == []
    assert season.lived is not None
    assert number(season.lived) <= number(season.total)
    assert number(season.lived) < 1.1 * number(season.rule_total), (
        "hand rules with a daily look are strong here"
    )
