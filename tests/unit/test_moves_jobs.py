"""Jobs with targets: a mob stays at or comes back to its job until what was seen ends it, or harm does."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import Job, Rules
from browseline.limits import Scene, faces, ready
from browseline.limits._jobs import met, newest_reading, open_job
from browseline.moves import judge, plan, yardstick_of
from browseline.moves.rules import all_yard
from browseline.record.state import GroundLook, LeafLook, ShutState, Stay
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
    # four days are the worms' longest stay: it ends the job only where the farm made it hard
    for been_h, hard, asked in ((24, True, True), (5 * 24, True, False), (5 * 24, False, True)):
        scene = working(here, been_h=been_h, rules=Rules(worms_hard=hard))
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


# ---------------------------------------------------------------- a job's own stay and rest, and its end


def at_work(looks: tuple[LeafLook, ...] = (), days: int = 14, been_h: float = 24.0, **job: object) -> Scene:
    """Return goats that work where they stand since yesterday, worms left out by typing long days."""
    began = (NOW - timedelta(days=2)).date()
    target = parse("20 %", "share")
    task = Job("b", "Brambles", "brush", "3", "goats", target, began, **job)  # type: ignore[arg-type]
    rules = Rules(worm_stay=parse("60 d", "time"), worm_rest=parse("1 d", "time"))
    return grazed(
        ACRES, TALL, mobs=3, days=days, head=20, jobs=(task,), leaf=looks, been_h=been_h, rules=rules
    )


def stays_at(scene: Scene, place: str = "3") -> list[tuple[float, float]]:
    """Return first and last day of the goats' planned stays in a paddock, days from now."""
    found = [s.stay for s in plan(scene, iterations=3000).of("goats") if s.stay.place == place]
    return [((s.begin.start - NOW) / DAY, (left_at(s) - NOW) / DAY) for s in found]


def test_the_stay_that_was_typed_for_a_job_binds_the_plan() -> None:
    free = stays_at(at_work())
    assert free[0][1] > 3
    bound = stays_at(at_work(stay=parse("3 d", "time")))
    assert all(last - first <= 3 + 1e-6 for first, last in bound)
    assert bound[0][1] <= 2 + 1e-6  # a day of the three was over


def test_the_rest_that_was_typed_for_a_job_binds_the_plan() -> None:
    """Back after three days where six are typed is three days short, at the price of a day off grass."""
    for rest, short in ((None, 0), (parse("6 d", "time"), 3)):
        scene = at_work(stay=parse("3 d", "time"), rest=rest)
        yardstick = yardstick_of(scene, faces(scene))
        tried = all_yard(yardstick)
        tried[GOATS, [0, 1, 5, 6]] = 2
        amount, usd = judge(yardstick, tried).part("rest")
        assert amount == pytest.approx(short)
        assert usd == pytest.approx(30 * short)
    planned = stays_at(at_work(stay=parse("3 d", "time"), rest=parse("6 d", "time")))
    assert all(after[0] - before[1] >= 6 - 1e-6 for before, after in pairwise(planned))


def test_a_rest_of_the_past_counts_and_is_told_with_its_date() -> None:
    ended = NOW - timedelta(days=2)
    past = (Stay("goats", "5", When.at(ended - DAY), When.at(ended)),)
    task = Job("b", "Brambles", "brush", "5", "goats", parse("20 %", "share"), rest=parse("9 d", "time"))
    scene = grazed(ACRES, TALL, mobs=3, jobs=(task,), past=past)
    bars = yardstick_of(scene, faces(scene)).bars
    assert bars.fit_from_d[:, GOATS, 4].max() == pytest.approx(33)  # worms: 35 less 2
    (said,) = [r for r in ready(scene, "goats", "5") if r.limit == "job"]
    assert "Brambles: not before 13 May (9 d of rest, as you typed)" in said.because


def test_a_plan_asks_for_a_job_no_longer_than_it_is_foreseen_to_take() -> None:
    """80 % left after a day's work is 20 % a day: three days more to 20 %; then no day off it costs."""
    look = (LeafLook("3", When.at(NOW), parse("80 %", "share")),)
    scene = at_work(look, days=10)
    yardstick = yardstick_of(scene, faces(scene))
    assert yardstick.bars.work_d[GOATS] == 3
    assert np.isinf(yardstick_of(at_work(), faces(at_work())).bars.work_d[GOATS])
    tried = all_yard(yardstick)
    tried[GOATS, 0:3] = 2
    assert judge(yardstick, tried).part("job")[0] == pytest.approx(0)
    tried[GOATS, 0:2] = yardstick.yard
    assert judge(yardstick, tried).part("job")[0] == pytest.approx(9)


@pytest.mark.parametrize(("left", "most"), [("80 %", 4), ("20 %", 1)])
def test_a_stay_ends_when_the_job_is_done_or_foreseen_to_be(left: str, most: float) -> None:
    """A day was over: 80 % left is three days more to 20 %, and 20 % left is done. Then leaf is harmed."""
    scene = at_work((LeafLook("3", When.at(NOW), parse(left, "share")),))
    yardstick = yardstick_of(scene, faces(scene))
    own = yardstick.names["stay"].index("job")
    assert yardstick.bars.longest_d[own, GOATS, 2] == most
    assert np.isinf(yardstick.bars.longest_d[own, :GOATS]).all()
    ends = [last for _, last in stays_at(scene)]
    assert ends[:1] == pytest.approx([3] if left == "80 %" else []), "who is done does not come back"


def test_the_plan_says_when_the_job_is_foreseen_done_or_that_it_is_not_known() -> None:
    look = (LeafLook("3", When.at(NOW), parse("80 %", "share")),)
    for looks, words in (
        (look, "Foreseen 9 May, by one pace seen"),
        ((), "nobody has looked since it began"),
    ):
        (first, *_) = [s for s in plan(at_work(looks), iterations=1000).of("goats") if s.stay.place == "3"]
        assert words in first.reason
