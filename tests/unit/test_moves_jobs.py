"""Jobs with targets: a mob stays at or comes back to its job until what was seen ends it, or harm does."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Job, Rules
from browseline.limits import Scene, faces
from browseline.limits._jobs import met, newest_reading, open_job
from browseline.moves import judge, plan, yardstick_of
from browseline.moves.rules import all_yard
from browseline.record.state import GroundLook, LeafLook, ShutState
from browseline.units import parse
from tests.moves_farms import DAY, broken, grazed, left_at
from tests.small_farm import NOW

ACRES, TALL = (3.0, 2.0, 2.5, 4.0, 3.0), (9.0, 8.0, 10.0, 9.0, 9.0)
GOATS = 2
BRUSH = Job("brush", "Brambles", "brush", "5", "goats", parse("30 %", "share"), NOW.date())


def leaf(left: str, days: float = 0.0) -> tuple[LeafLook, ...]:
    return (LeafLook("5", When.at(NOW + timedelta(days=days)), parse(left, "share")),)


def working(*jobs: Job, days: int = 14, **more: object) -> Scene:
    return grazed(ACRES, TALL, mobs=3, days=days, head=20, jobs=jobs, **more)  # type: ignore[arg-type]


def days_at(scene: Scene, mob: str, place: str) -> float:
    season = plan(scene, iterations=3000)
    assert broken(scene, season) == []
    return sum((left_at(s.stay) - max(s.stay.begin.start, NOW)) / DAY for s in season.of(mob)
               if s.stay.place == place)  # fmt: skip


def test_goats_go_to_their_brush_and_the_plan_says_until_what() -> None:
    with_job = working(BRUSH)
    assert days_at(with_job, "goats", "5") > days_at(working(), "goats", "5")
    told = [s.reason for s in plan(with_job, iterations=3000).of("goats") if s.stay.place == "5"]
    assert told
    assert all("Job Brambles: until 30 % of the leaf is left by a look" in reason for reason in told)


def test_a_day_off_an_open_job_costs_what_an_arrival_does() -> None:
    yardstick = yardstick_of(found := working(BRUSH, days=10), faces(found))
    tried = all_yard(yardstick)
    assert judge(yardstick, tried).part("job")[0] == pytest.approx(10)
    tried[GOATS, 2:5] = 4
    amount, usd = judge(yardstick, tried).part("job")
    assert amount == pytest.approx(7)
    assert usd == pytest.approx(7 * 8)


@pytest.mark.parametrize(("left", "open_"), [("60 %", True), ("30 %", False), ("20 %", False)])
def test_what_was_seen_of_the_leaf_ends_the_job(left: str, open_: bool) -> None:
    scene = working(BRUSH, leaf=leaf(left))
    assert (open_job(scene, "goats", NOW.date()) is not None) is open_
    assert bool(np.any(yardstick_of(scene, faces(scene)).bars.job >= 0)) is open_


def test_only_a_look_since_the_job_began_counts_and_the_newest() -> None:
    early = working(BRUSH, leaf=leaf("10 %", -3))
    assert newest_reading(early, BRUSH) is None
    both = working(BRUSH, leaf=(*leaf("20 %"), *leaf("50 %", 1)))
    assert not met(BRUSH, newest_reading(both, BRUSH))


def test_bare_ground_rises_to_its_target_and_grass_falls_to_it() -> None:
    turn = Job("turn", "Turn", "turn", "5", "goats", parse("60 %", "share"))
    look = GroundLook("5", When.at(NOW), parse("70 %", "share"))
    assert met(turn, newest_reading(working(turn, ground=(look,)), turn))
    for target, done in (("9 in", True), ("7 in", False)):
        mow = Job("mow", "Mow", "keep_down", "5", "goats", parse(target, "length"))
        assert met(mow, newest_reading(working(mow), mow)) is done


@pytest.mark.parametrize(("first", "last", "days"), [(0, 4, 4), (3, 6, 3), (-4, 0, 0)])
def test_a_job_runs_from_its_first_day_to_its_last(first: int, last: int, days: int) -> None:
    today = NOW.date()
    job = Job("b", "B", "brush", "5", "goats", from_day=today + timedelta(days=first),
              to_day=today + timedelta(days=last))  # fmt: skip
    scene = working(job, days=10)
    assert int(np.sum(yardstick_of(scene, faces(scene)).bars.job == 4)) == days


def test_a_job_with_neither_target_nor_last_day_asks_for_nothing() -> None:
    scene = working(Job("b", "B", "brush", "5", "goats"))
    assert not np.any(yardstick_of(scene, faces(scene)).bars.job >= 0)


def test_harm_where_it_works_ends_the_job_sooner() -> None:
    here = Job("b", "B", "brush", "3", "goats", parse("30 %", "share"))
    for been_h, asked in ((24, True), (5 * 24, False)):  # four days are the worms' longest stay
        scene = working(here, been_h=been_h)
        assert bool(np.any(yardstick_of(scene, faces(scene)).bars.job[GOATS] == 2)) is asked


def test_a_job_never_holds_a_mob_past_a_hard_stay_or_in_a_shut_paddock() -> None:
    here = Job("b", "B", "brush", "3", "goats", parse("30 %", "share"))
    hard = working(here, rules=Rules(worms_hard=True))
    season = plan(hard, iterations=2000)
    assert broken(hard, season) == []
    first = season.of("goats")[0].stay
    assert first.place == "3"
    assert left_at(first) <= NOW + 4 * DAY
    shut = working(here, shut=(ShutState("3", "Limb down", When.at(NOW)),))
    assert days_at(shut, "goats", "3") == 0
    assert not np.any(yardstick_of(shut, faces(shut)).bars.job >= 0)
