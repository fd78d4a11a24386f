"""Days in the house are no days off grass, and who is gone or housed by then is no change of mind."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.events import Event, Sold, When
from browseline.farm.records import Promise
from browseline.figures import Figure
from browseline.limits import Bite, Moment, Scene, faces
from browseline.limits.form import Hardness
from browseline.moves import explain, judge, plan, yardstick_of
from browseline.moves.clashes import clashes
from browseline.moves.dearest import dearest
from browseline.moves.explain import Explainer
from browseline.moves.form import Clash
from browseline.moves.rules import all_yard
from browseline.moves.what_if_cases import largest
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


def test_who_lives_off_no_grass_is_not_told_as_off_grass() -> None:
    """Pigs and hens are fed: their pen costs a plan its day, but nobody misses their grass."""
    asked = in_yard(until_housed())
    none = np.zeros_like(asked.yardstick.bars.demand_kg_d)
    fed = replace(asked.yardstick, bars=asked.yardstick.bars._replace(demand_kg_d=none))
    pen = Explainer(asked.scene, fed, asked.plan, judge(fed, asked.plan))
    assert not [clash for clash in dearest(pen) if clash.code == "off_grass"]


def test_where_no_place_is_left_hay_is_priced_until_the_mob_is_housed() -> None:
    shut = Promise("shut", "shut", "Shut", TODAY, TODAY + timedelta(days=DAYS), tuple("1234"))
    asked = in_yard(until_housed(shut))
    (clash,) = [clash for clash in clashes(asked.scene, asked.yardstick, asked.plan) if clash.mob == "ewes"]
    assert f"× {OUT_D} d" in opened(clash)["plan_hay"].formula


def test_a_stay_in_the_yard_says_from_when_the_mob_is_housed() -> None:
    shut = Promise("shut", "shut", "Shut", TODAY, TODAY + timedelta(days=DAYS), tuple("1234"))
    (stay,) = plan(until_housed(shut), iterations=0).stays
    assert "Housed from 12 May." in stay.reason


# ---------------------------------------------------------------- who is gone or housed, in what changed


def at_grass(days: int = DAYS) -> Scene:
    return grazed(ACRES, TALL, mobs=1, days=days)


def sold(scene: Scene, day: int, head: int) -> Scene:
    """Return the same scene where so many ewes are planned to be sold on a day."""
    body = Sold(head, "ewe lactating twins")
    at, ident = When.at(NOW + timedelta(days=day)), "018f0000-0000-7000-8000-000000000001"
    event = Event(ident, "phone", "owner", at, NOW, "ewes", body, planned=True)
    return replace(scene, coming=(event,), memo={})


def test_days_after_the_last_is_sold_are_told_once_as_away() -> None:
    old = plan(at_grass(), iterations=300)
    found = plan(sold(at_grass(), 5, 30), old, 300)
    (told,) = [says for says in found.changes if "11 May to 20 May" in says]
    assert "Ewes, 11 May to 20 May: away instead of" in told
    assert told.endswith("They are sold on 11 May.")
    assert not any("no longer fits" in says for says in found.changes)


def test_days_in_the_house_are_told_as_housed() -> None:
    old = plan(at_grass(), iterations=300)
    found = plan(until_housed(), old, 300)
    (told,) = [says for says in found.changes if "12 May to 20 May" in says]
    assert "Ewes, 12 May to 20 May: the yard instead of" in told
    assert told.endswith("They are housed from 12 May.")


# ---------------------------------------------------------------- what is never broken is told first


def bite(limit: str, hardness: Hardness, hours: float) -> Bite:
    return Bite(
        limit, "ewes", "1", Moment.at(NOW + timedelta(hours=hours)), hardness, f"{limit} says so.", ""
    )


def test_a_hard_limit_that_forces_a_move_is_told_before_a_soft_one(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = in_yard(at_grass())
    found = [bite("worms", "soft", 50), bite("promise", "hard", 60)]
    monkeypatch.setattr(explain, "bites", lambda *_: found)
    told = asked._bitten(0, 0, 2)
    assert told is not None
    assert told.limit == "promise"


def test_a_net_is_no_way_out_where_its_ground_is_shut_too() -> None:
    def days(count: int, paddocks: str) -> Promise:
        return Promise(paddocks, "shut", "Shut", TODAY, TODAY + timedelta(days=count), tuple(paddocks))

    asked = in_yard(grazed(ACRES, TALL, mobs=1, days=DAYS, promises=(days(DAYS, "123"), days(3, "4"))))
    (clash,) = [clash for clash in clashes(asked.scene, asked.yardstick, asked.plan) if clash.mob == "ewes"]
    assert not any("by a net" in way for way in clash.ways)
    bars = asked.yardstick.bars
    assert largest(asked.yardstick) == 3
    assert largest(asked.yardstick, bars.open_[:, :3]) is None


def test_hay_of_a_housed_mob_is_not_told_as_grass_that_does_not_reach() -> None:
    """All of it is eaten in the house: none is fed beside grass that is too short."""
    asked = in_yard(until_housed())
    assert asked.yardstick.bars.off.any()
    assert not [clash for clash in dearest(asked) if clash.code == "grass"]


def test_a_mob_that_nobody_can_move_till_the_end_has_its_short_grass_told() -> None:
    """Its first day for a move lies past the plan: there is no way out by moving it, and no end of it all."""
    away = Promise("away", "away", "Away", TODAY, TODAY + timedelta(days=DAYS + 5))
    found = plan(grazed((0.2,) * 4, (5.0,) * 4, mobs=1, days=DAYS, promises=(away,)), iterations=50)
    (clash,) = [clash for clash in found.clashes if clash.code == "grass"]
    assert not any("hay in the yard" in way for way in clash.ways)
