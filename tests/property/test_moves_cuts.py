"""Hay cuts of a plan: on no farm does anybody stand on a paddock from its cut to the day its hay is off."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from hypothesis import event, given, settings
from hypothesis import strategies as st

from browseline.events import When
from browseline.farm.records import Promise, Rules
from browseline.limits import Scene
from browseline.moves import Season, plan
from browseline.moves.season import judged
from browseline.record.state import ShutState
from browseline.units import parse
from tests.moves_farms import broken, grazed
from tests.small_farm import ZONE

COUNT = 5
RARELY = 4


@st.composite
def hay_farms(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a small farm that makes hay, in a flush or short of grass; one place is best to graze."""
    now = datetime(2026, 5, 6, draw(st.sampled_from([0, 7, 15])), tzinfo=ZONE)
    names = st.sampled_from([str(n + 1) for n in range(COUNT)])
    rules = Rules(
        worm_stay=parse("60 d", "time"),
        worm_rest=parse("1 d", "time"),
        hay_pass=parse(f"{draw(st.sampled_from([1, 20, 60]))} USD/ac", "money by area"),
        hay_field_loss=parse("10 %", "share"),
        hay_days=parse(f"{draw(st.sampled_from([1, 2, 2.5, 4, 7]))} d", "time"),
        hay_stubble=parse(f"{draw(st.sampled_from([8, 7, 4]))} in", "length"),
        no_move_weekdays=tuple(draw(st.sets(st.integers(1, 7), max_size=1))),
    )
    shut: tuple[ShutState, ...] = ()
    promises: tuple[Promise, ...] = ()
    if draw(st.integers(0, RARELY)) == 0:
        until = now.date() + timedelta(days=draw(st.integers(1, 12)))
        shut = (ShutState(draw(names), "Limb down", When.at(now), until_day=until),)
    if draw(st.integers(0, RARELY)) == 0:
        first = now.date() + timedelta(days=draw(st.integers(1, 10)))
        last = first + timedelta(days=draw(st.integers(1, 4)))
        promises = (Promise("away", "away", "Away", first, last),)
    best = draw(st.integers(0, COUNT - 1))
    acres = [draw(st.sampled_from([0.8, 1.5, 3.0])) for _ in range(COUNT)]
    inches = [draw(st.sampled_from([8.0, 7.0, 10.0])) for _ in range(COUNT)]
    acres[best], inches[best] = 6.0, draw(st.sampled_from([16.0, 12.0]))
    return {
        "acres": tuple(acres),
        "tall_in": tuple(inches),
        "mobs": draw(st.integers(1, 2)),
        "head": draw(st.sampled_from([40, 20, 80])),
        "days": 24,
        "members": 3,
        "growth": draw(st.sampled_from(["50 lb/ac/d", "30 lb/ac/d"])),
        "rules": rules,
        "shut": shut,
        "promises": promises,
        "now": now,
    }


def as_kept(season: Season) -> Season:
    """Return a season as it is read back: its stays and the days of its cuts."""
    return replace(season, cuts=(), kept=season.own_cuts)


def faults(scene: Scene, season: Season) -> list[str]:
    last = scene.days[-1] + timedelta(days=1)
    late = [f"{cut.paddock} is clear on {cut.clear}" for cut in season.cuts if cut.clear > last]
    return [*broken(scene, season), *late]


@settings(max_examples=40)
@given(hay_farms())
def test_nobody_stands_where_hay_lies(case: dict[str, Any]) -> None:
    scene = grazed(**case)
    season = plan(scene, iterations=2400)
    event(f"{len(season.cuts)} cuts")
    assert faults(scene, season) == []


@settings(max_examples=20)
@given(hay_farms(), st.integers(1, 3))
def test_nor_in_a_plan_made_again_or_judged_as_it_was_kept(case: dict[str, Any], later: int) -> None:
    scene = grazed(**case)
    season = plan(scene, iterations=400)
    assert faults(scene, judged(scene, as_kept(season))) == []
    fewer = grazed(**(case | {"head": max(case["head"] // (later + 1), 1)}))
    assert faults(fewer, plan(fewer, as_kept(season), iterations=200)) == []
