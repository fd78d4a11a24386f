"""Where next without a plan: behind a leader, on a job until target or harm, else the best that is ready."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from browseline.chain.next_place import NextPlace, next_place
from browseline.events import When
from browseline.farm.records import Job, Rules
from browseline.limits import Scene, bites
from browseline.limits._jobs import Foreseen, foreseen
from browseline.record.state import GroundLook, HeadLine, LeafLook, Stay
from browseline.sward import share_eaten
from browseline.units import factor, parse
from tests.moves_farms import DAY, grazed, number, span, with_mob
from tests.small_farm import NOW, some

ACRES, TALL = (3.0, 3.0, 3.0, 3.0, 3.0), (9.0, 9.0, 9.0, 12.0, 9.0)


def where(scene: Scene, mob: str, *, works: bool = True) -> NextPlace | None:
    return next_place(scene, next(m for m in scene.mobs if m.id == mob), works=works)


def left(mob: str, place: str, days_ago: float) -> Stay:
    end = NOW - timedelta(days=days_ago)
    return Stay(mob, place, When.at(end - 3 * DAY), When.at(end))


# ---------------------------------------------------------------- behind a leader


def behind(*past: Stay, **more: object) -> Scene:
    return grazed(ACRES, TALL, mobs=2, follows=True, past=past, **more)  # type: ignore[arg-type]


def test_a_follower_comes_where_its_leader_has_just_been_not_where_most_grass_stands() -> None:
    found = some(where(behind(left("heifers", "3", 1)), "ewes"))
    assert (found.paddock, found.ready) == ("3", True)
    assert found.because == "behind Heifers, gone from there 5 May"
    alone = with_mob(behind(left("heifers", "3", 1)), "ewes", follows=None)
    assert some(where(alone, "ewes")).paddock == "4"


def test_where_its_leader_left_too_long_ago_it_waits_for_where_that_one_stands() -> None:
    found = some(where(behind(left("heifers", "3", 9)), "ewes"))
    assert (found.paddock, found.ready) == ("2", False)
    assert found.because.startswith("behind Heifers, who must leave it by")
    leaves = next(b for b in bites(behind(), "heifers", "2") if b.moment is not None)
    assert found.ready_from == some(leaves.moment).likely


def test_the_days_that_the_farm_sets_hold() -> None:
    def sets(past_d: float, **days: str) -> str:
        said = {key: parse(text, "time") for key, text in days.items()}
        scene = with_mob(behind(left("heifers", "3", past_d)), "ewes", follows="heifers", **said)
        return some(where(scene, "ewes")).paddock

    assert sets(9, follows_within="10 d") == "3"
    assert sets(1, follows_after="2 d") == "2"


def test_the_leader_itself_goes_where_it_would_alone() -> None:
    assert some(where(behind(), "heifers")).paddock == "4"


def test_a_paddock_in_which_a_mob_stands_that_may_share_it_is_not_called_empty() -> None:
    """Heifers stand in 2 where they were a week ago too; the ewes may run with them."""
    scene = grazed(ACRES, (9.0, 12.0, 9.0, 9.0, 9.0), mobs=2, past=(left("heifers", "2", 30),))
    assert some(where(scene, "ewes")).paddock != "2"
    friends = with_mob(with_mob(scene, "heifers", runs_with=("ewes",)), "ewes", runs_with=("heifers",))
    found = some(where(friends, "ewes"))
    assert (found.paddock, found.because) == ("2", "shared with Heifers, there now")


# ---------------------------------------------------------------- jobs

BEGUN = (NOW - timedelta(days=2)).date()


def job(kind: str = "brush", target: str = "20 %", dimension: str = "share", paddock: str = "3",
        **more: object) -> Job:  # fmt: skip
    return Job("j", "The job", kind, paddock, "goats", parse(target, dimension), BEGUN, **more)  # type: ignore[arg-type]


def leaf(share: str, days_ago: float) -> LeafLook:
    return LeafLook("3", When.at(NOW - timedelta(days=days_ago)), parse(share, "share"))


HARD = Rules(worms_hard=True)


def working(task: Job | None, *looks: LeafLook, been_h: float = 48.0, **seen: object) -> Scene:
    jobs = (task,) if task is not None else ()
    return grazed(ACRES, TALL, mobs=3, been_h=been_h, jobs=jobs, leaf=looks, **seen)  # type: ignore[arg-type]


def test_a_mob_on_a_job_is_not_sent_away_before_its_target() -> None:
    found = some(where(working(job(), leaf("80 %", 0)), "goats"))
    assert (found.paddock, found.stays) == ("3", True)
    assert "The job, until 20 % of the leaf is left by a look. Foreseen" in found.because
    assert some(where(working(None), "goats")).paddock == "4"


@pytest.mark.parametrize(
    "scene",
    [lambda: working(job(), leaf("15 %", 0)), lambda: working(job(), been_h=97.0, rules=HARD),
     lambda: working(job(to_day=NOW.date())), lambda: working(job(stay=parse("2 d", "time")))],
    ids=["target met", "worms' days are up by a hard rule", "last day over", "its own longest stay is up"],
)  # fmt: skip
def test_target_harm_its_last_day_and_its_own_stay_end_it(scene: object) -> None:
    found = where(scene(), "goats")  # type: ignore[operator]
    assert found is None or not found.stays


def test_worm_days_alone_end_no_job_unless_the_farm_made_them_hard() -> None:
    assert some(where(working(job(), been_h=97.0), "goats")).stays


def test_a_job_that_waits_draws_its_mob_and_one_that_is_not_fit_does_not() -> None:
    assert some(where(working(job(paddock="5")), "goats")).paddock == "5"
    assert some(where(working(job(paddock="5")), "goats")).because == "its job there: The job"
    rests = grazed(ACRES, TALL, mobs=3, jobs=(job(paddock="5"),), past=(left("ewes", "5", 3),))
    assert some(where(rests, "goats")).paddock == "4"


def test_the_place_after_its_work_can_be_asked_for() -> None:
    assert some(where(working(job()), "goats", works=False)).paddock == "4"


# ---------------------------------------------------------------- foreseen to its end


def ahead(scene: Scene, task: Job) -> Foreseen:
    return foreseen(scene, task, next(m for m in scene.mobs if m.id == "goats"))


def test_two_looks_tell_the_pace_and_its_range_by_hand() -> None:
    """All leaf 2 d ago, 90 % 1 d ago, 70 % now: 15 % a day on the whole, 10 % and 20 % the two days.

    50 points are left to 20 %: 3.3 d, at the quicker pace 2.5 d, at the slower 5 d.
    """
    task = job()
    found = ahead(working(task, leaf("90 %", 1), leaf("70 %", 0)), task)
    assert found.why == "pace"
    assert span(found.days) == pytest.approx((2.5, 10 / 3, 5.0), rel=1e-6)


def test_one_look_gives_a_day_and_no_range() -> None:
    task = job()
    found = ahead(working(task, leaf("80 %", 0)), task)
    assert (found.why, some(found.days).low) == ("once", None)
    assert number(found.days) == pytest.approx(6.0)


def test_nobody_has_looked_is_said_and_asked() -> None:
    task = job()
    scene = working(task)
    assert ahead(scene, task).days is None
    (asked,) = [b for b in bites(scene, "goats", "3") if b.limit == "job"]
    assert (asked.hardness, asked.moment) == ("question", None)
    assert "When is not known: nobody has looked since it began." in asked.because


def test_days_worked_since_the_look_count_and_more_head_are_sooner() -> None:
    task = job()
    earlier = working(task, leaf("80 %", 1))  # 20 % in one day; one more day worked since
    assert number(ahead(earlier, task).days) == pytest.approx(60 / 20 - 1)
    many = working(task, leaf("80 %", 0))
    doubled = tuple(replace(m, lines=tuple(replace(x, head=2 * x.head) for x in m.lines)) for m in many.mobs)
    heads = tuple((NOW - timedelta(days=3), m.id, m.lines) for m in many.mobs)
    now = replace(many, mobs=doubled, state=replace(many.state, mobs=doubled, heads=heads), memo={})
    assert number(ahead(now, task).days) == pytest.approx(number(ahead(many, task).days) / 2)


def test_bare_ground_rises_to_its_target() -> None:
    task = job("turn", "60 %")
    look = GroundLook("3", When.at(NOW), parse("20 %", "share"))
    found = ahead(working(task, ground=(look,)), task)
    assert number(found.days) == pytest.approx((60 - 20) / 10)


def test_looks_that_show_no_pace_are_said_so() -> None:
    task = job()
    assert ahead(working(task, leaf("100 %", 0)), task).why == "no_pace"


@pytest.mark.parametrize("kind", ["keep_down", "feed_rows"])
def test_grass_kept_down_is_foreseen_by_what_they_eat(kind: str) -> None:
    """What stands above the target, times the share eaten of a stay so long, over 12 x 3 lb a day."""
    task = job(kind, "8.5 in", "length")
    scene = working(task, growth="0 lb/ac/d")
    low, likely, high = span(ahead(scene, task).days)
    assert low <= likely <= high
    i, herbage, pounds = scene.herbage.index("3"), scene.herbage, factor("lb", "kg")
    middle = float(np.quantile(herbage.mass_kg_ha[:, i], 0.5, method="closest_observation"))
    above = middle - 8.5 * 2.54 * number(herbage.numbers[i].mass_per_height)
    eaten = above * herbage.land.area_ha[i] * number(share_eaten(herbage.numbers[i], likely + 2))
    assert likely == pytest.approx(eaten / (36 * pounds), rel=1e-3)
    grows = ahead(working(task, growth="60 lb/ac/d"), task)
    assert grows.why == "keeps_up"


def test_a_foreseen_day_that_has_passed_asks_for_a_look_and_is_no_harm() -> None:
    task = job()
    scene = working(task, leaf("40 %", 0.9))
    (asked,) = [b for b in bites(scene, "goats", "3") if b.limit == "job"]
    assert asked.hardness == "question"
    assert "may be so now" in asked.because
    assert some(where(scene, "goats")).stays


def test_heads_of_the_past_count_for_the_pace() -> None:
    line = HeadLine("goat", "doe dry", 24, parse("130 lb", "mass"), parse("3 lb/d", "intake"))
    task = job()
    scene = working(task, leaf("80 %", 0))
    heads = ((NOW - timedelta(days=3), "goats", (line,)),)
    then = replace(scene, state=replace(scene.state, heads=heads), memo={})
    assert number(ahead(then, task).days) == pytest.approx(2 * number(ahead(scene, task).days))
