"""Days in the house are no days off grass, and who is gone or housed by then is no change of mind."""

from __future__ import annotations

from datetime import timedelta

import pytest

from browseline.farm.records import Promise
from browseline.figures import Figure
from browseline.limits import Scene, faces
from browseline.moves import judge, plan, yardstick_of
from browseline.moves.clashes import clashes
from browseline.moves.dearest import dearest
from browseline.moves.explain import Explainer
from browseline.moves.form import Clash
from browseline.moves.rules import all_yard
from browseline.words import links_of
from tests.moves_farms import grazed, number
from tests.small_farm import NOW

ACRES, TALL = (3.0, 3.0, 3.0, 4.0), (9.0, 9.0, 9.0, 11.0)
TODAY, DAYS, OUT_D = NOW.date(), 20, 6


def until_housed(*more: Promise) -> Scene:
    """Return one mob whose grazing season ends in six days, on a plan of twenty."""
    season = Promise("out", "grazing", "Out", TODAY - timedelta(days=30), TODAY + timedelta(days=OUT_D))
    return grazed(ACRES, TALL, mobs=1, days=DAYS, promises=(season, *more))


def in_yard(scene: Scene) -> Explainer:
    yardstick = yardstick_of(scene, faces(scene))
    place = all_yard(yardstick)
    assert (place == yardstick.yard).all()
    return Explainer(scene, yardstick, place, judge(yardstick, place))


def opened(clash: Clash) -> dict[str, Figure]:
    texts = (clash.says, *clash.ways)
    found = [link.to for text in texts for link in links_of(text) if isinstance(link.to, Figure)]
    return {figure.name: figure for figure in found}


def test_days_off_grass_told_as_a_clash_are_those_of_the_judge() -> None:
    asked = in_yard(until_housed())
    (clash,) = [clash for clash in dearest(asked) if clash.code == "off_grass"]
    found = opened(clash)
    assert number(found["plan_yard"]) == asked.verdict.part("yard")[0].mean() == OUT_D
    need_kg = float(asked.yardstick.bars.demand_kg_d[:OUT_D].sum())
    assert number(found["plan_hay"]) == pytest.approx(need_kg)
    hay_usd, day_usd = asked.yardstick.bars.prices_usd[:2]
    assert number(found["plan_cost"]) == pytest.approx(need_kg * hay_usd + OUT_D * day_usd)
    assert clash.end - clash.begin == timedelta(days=OUT_D)


def test_where_no_place_is_left_hay_is_priced_until_the_mob_is_housed() -> None:
    shut = Promise("shut", "shut", "Shut", TODAY, TODAY + timedelta(days=DAYS), tuple("1234"))
    asked = in_yard(until_housed(shut))
    (clash,) = [clash for clash in clashes(asked.scene, asked.yardstick, asked.plan) if clash.mob == "ewes"]
    assert f"× {OUT_D} d" in opened(clash)["plan_hay"].formula


def test_a_stay_in_the_yard_says_from_when_the_mob_is_housed() -> None:
    shut = Promise("shut", "shut", "Shut", TODAY, TODAY + timedelta(days=DAYS), tuple("1234"))
    (stay,) = plan(until_housed(shut), iterations=0).stays
    assert "Housed from 12 May." in stay.reason
