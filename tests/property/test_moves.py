"""Moves: what must hold for any farm, calendar and past."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.events import When
from browseline.farm.records import Job, Promise, Rules
from browseline.limits import faces
from browseline.moves import judge, plan, propose, yardstick_of
from browseline.moves.rules import all_yard, rule_plans
from browseline.record.state import ShutState, Stay
from tests.moves_farms import broken, grazed, number, plain_cost
from tests.small_farm import ZONE

COUNT = 5


@st.composite
def farms(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a small farm: up to three kinds, a leader, a job, a past, promises, days nobody moves."""
    now = datetime(2026, 5, 6, draw(st.sampled_from([0, 7, 15])), tzinfo=ZONE)
    today = now.date()
    inch = st.sampled_from([4.0, 5.5, 7.0, 8.5, 10.0])
    acre = st.sampled_from([0.3, 0.8, 2.0, 4.0])
    names = st.sampled_from([str(n + 1) for n in range(COUNT)])
    past, shut, promises = [], [], []
    for _ in range(draw(st.integers(0, 3))):
        left = now - timedelta(hours=draw(st.integers(24 * 3, 24 * 45)))
        mob = draw(st.sampled_from(["ewes", "heifers", "goats"]))
        past.append(Stay(mob, draw(names), When.at(left - timedelta(days=2)), When.at(left)))
    for name in draw(st.sets(names, max_size=2)):
        until = draw(st.one_of(st.none(), st.integers(0, 12)))
        day = None if until is None else today + timedelta(days=until)
        shut.append(ShutState(name, "Limb down", When.at(now), until_day=day))
    for n in range(draw(st.integers(0, 3))):
        first = today + timedelta(days=draw(st.integers(0, 15)))
        kind = draw(st.sampled_from(["hay", "contract", "away"]))
        where = () if kind == "away" else (draw(names),)
        last = first + timedelta(days=draw(st.integers(1, 6)))
        promises.append(Promise(f"p{n}", kind, "Promise", first, last, where))
    jobs = []
    for mob in draw(st.sets(st.sampled_from(["ewes", "goats"]), max_size=1)):
        first = today + timedelta(days=draw(st.integers(-2, 8)))
        last = first + timedelta(days=draw(st.integers(1, 12)))
        jobs.append(Job("brush", "Brush", "brush", draw(names), mob, from_day=first, to_day=last))
    if draw(st.booleans()):
        first, last = (today + timedelta(days=draw(d)) for d in (st.integers(-9, 6), st.integers(7, 30)))
        promises.append(Promise("grass", "grazing", "On grass", first, last))
    weekdays = tuple(draw(st.sets(st.integers(1, 7), max_size=2)))
    rules = Rules(worms_hard=draw(st.booleans()), no_move_weekdays=weekdays)
    return {
        "acres": tuple(draw(acre) for _ in range(COUNT)),
        "tall_in": tuple(draw(inch) for _ in range(COUNT)),
        "mobs": draw(st.integers(1, 3)),
        "follows": draw(st.booleans()),
        "due_d": draw(st.one_of(st.none(), st.integers(1, 20))),
        "jobs": tuple(jobs),
        "been_h": draw(st.integers(0, 100)),
        "days": 18,
        "members": 3,
        "growth": draw(st.sampled_from(["0 lb/ac/d", "15 lb/ac/d", "45 lb/ac/d"])),
        "rules": rules,
        "past": tuple(past),
        "shut": tuple(shut),
        "promises": tuple(promises),
        "now": now,
    }


@settings(max_examples=60)
@given(farms())
def test_no_hard_limit_is_broken_and_a_mob_is_in_one_place(case: dict[str, Any]) -> None:
    scene = grazed(**case)
    assert broken(scene, plan(scene, iterations=400)) == []


@settings(max_examples=40)
@given(farms())
def test_a_plan_is_never_worse_than_what_practitioners_do(case: dict[str, Any]) -> None:
    scene = grazed(**case)
    season = plan(scene, iterations=200)
    yardstick = yardstick_of(scene, faces(scene))
    for simple in (*rule_plans(yardstick, yardstick.whole), all_yard(yardstick)):
        verdict = judge(yardstick, simple)
        if verdict.kept:
            assert number(season.total) <= verdict.mean_usd + 1e-6


@settings(max_examples=40)
@given(farms())
def test_the_season_costs_what_plain_arithmetic_says(case: dict[str, Any]) -> None:
    scene = grazed(**case)
    found = propose(yardstick_of(scene, faces(scene)), 1, 200)
    for member in range(3):
        assert found.verdict.total_usd[member] == pytest.approx(
            plain_cost(scene, found.plan, member), abs=1e-6
        )


@settings(max_examples=25)
@given(farms())
def test_planning_again_breaks_nothing_and_costs_no_more(
    case: dict[str, Any],
) -> None:
    scene = grazed(**case)
    season = plan(scene, iterations=200)
    again = plan(scene, season, iterations=200)
    assert broken(scene, again) == []
    assert number(again.total) <= number(season.total) + 1e-6
