"""Limits that contradict each other: found by their form, told with their numbers and every way out."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from browseline.chain import Picture, today
from browseline.chain.clashes import clashes
from browseline.events import When
from browseline.farm.records import HayLot, Job, Planting, Rules
from browseline.limits import Clash, Scene, bites
from browseline.limits._clash import apart, job_against, no_way, too_long
from browseline.record.state import LeafLook, ShutState, Stay
from browseline.units import factor, parse
from tests.moves_farms import DAY, grazed, with_mob, with_rules
from tests.small_farm import NOW, some

LB = factor("lb", "kg")
EWES = "ewes"


def told(scene: Scene, mob: str = EWES) -> dict[str, Clash]:
    """Return the clashes of a mob by their key."""
    standing = next(m for m in scene.mobs if m.id == mob)
    return {clash.key: clash for clash in clashes(scene, standing)}


def ways(clash: Clash) -> dict[str, str]:
    return {way.key: way.says for way in clash.ways}


def been(*places: str, days_ago: float = 14.0, mob: str = EWES) -> tuple[Stay, ...]:
    """Return stays of three days that ended so many days ago."""
    end = NOW - timedelta(days=days_ago)
    return tuple(Stay(mob, p, When.at(end - 3 * DAY), When.at(end)) for p in places)


# ---------------------------------------------------------------- grass wants back, worms do not


def spring(**more: object) -> Scene:
    """Return three paddocks that grow 275 x 4 in / 14 d, grazed 14 days ago: grass is back, worms are not."""
    growth = f"{275 * 4 / 14:.4f} lb/ac/d"
    given = {"past": been("2", "3"), "growth": growth, "days": 40} | more
    return grazed((3.0, 3.0, 3.0), (6.0, 8.5, 8.5), **given)  # type: ignore[arg-type]


def test_grass_wants_them_back_after_14_days_and_worms_after_35() -> None:
    """JOB section 1: in May grass wants stock back in about 14 d, worms want at least 35 d."""
    scene = spring()
    (found,) = apart(scene, scene.mobs[0])
    assert (found.wants, found.holds, found.paddocks) == ("grass", "worms", ("2", "3"))
    assert some(found.wants_d) == pytest.approx(14, abs=0.6)
    assert found.holds_d == 35
    assert found.days == pytest.approx((21, 21))
    clash = told(scene)["apart"]
    assert "Grass: about 14 d of rest" in clash.says
    assert clash.says.endswith("Worms: 35 d of rest, so not before 27 May.")
    assert set(ways(clash)) == {"cut", "shorter_rest"}
    assert "21 d short for Worms, up to $630 in the plan [G]" in ways(clash)["shorter_rest"]


def test_it_is_no_clash_where_worms_are_content_or_the_grass_is_not_back() -> None:
    assert "apart" not in told(spring(past=been("2", "3", days_ago=36)))
    assert "apart" not in told(with_rules(spring(), worm_rest=parse("14 d", "time")))
    assert "apart" not in told(grazed((3.0, 3.0), (6.0, 4.0), past=been("2"), days=40))


def test_what_may_be_cut_is_what_stands_above_the_height_to_leave() -> None:
    """2 x 3 ac x 4.5 in x 275 lb/ac/in = 7,425 lb, worked by hand."""
    (cut,) = [w for w in told(spring())["apart"].ways if w.key == "cut"]
    assert some(cut.figures[0].value) / LB == pytest.approx(7425, rel=0.01)
    assert re.search(r"about 7,4\d\d lb", cut.says)


def test_a_mob_that_every_limit_lets_in_is_a_way_out_and_one_that_shares_the_worms_is_not() -> None:
    four = {"past": been("4"), "growth": "78 lb/ac/d", "days": 40, "mobs": 3}
    scene = grazed((3.0, 3.0, 3.0, 3.0), (6.0, 8.0, 8.0, 8.5), **four)  # type: ignore[arg-type]
    others = [w.says for w in told(scene)["apart"].ways if w.key == "other_mob"]
    assert others == ["Put Heifers on 4: every limit lets them in now."]


def test_a_hard_rest_is_never_offered_short() -> None:
    hard = told(with_rules(spring(), worms_hard=True))
    assert "shorter_rest" not in ways(hard["apart"])
    assert "shorter_rest" in ways(told(spring())["apart"])


# ---------------------------------------------------------------- rest makes stays too long


def eight(rest: str = "45 d", count: int = 8, **more: object) -> Scene:
    given = {"rules": Rules(rest=parse(rest, "time")), "head": 60} | more
    return grazed((2.0,) * count, (7.0,) * count, **given)  # type: ignore[arg-type]


def test_45_days_of_rest_over_8_paddocks_passes_the_4_day_limit() -> None:
    """JOB section 1: with 8 paddocks that is about 6-day stays, past the 4-day worm limit."""
    scene = eight()
    found = some(too_long(scene, scene.mobs[0]))
    assert (found.rests, found.stays) == ("grass", "worms")
    assert found.stay_d == pytest.approx(45 / 7)
    assert found.rest_left_d == 4 * 7
    clash = told(scene)["too_long"]
    assert "stays of 6.4 d; Worms allows 4 d" in clash.says
    assert clash.limits == ("grass", "worms")


def test_its_ways_out_carry_their_numbers() -> None:
    """45 / 4 + 1 = 12.25: 13 parts; 4 x 7 = 28 d of rest, 17 short; 17 d x 60 x 4.4 lb = 4,488 lb of hay."""
    hay = (HayLot("barn", parse("10 bales", "count"), parse("800 lb", "mass"), parse("88 %", "share"), None,
                  parse("15 %", "share")),)  # fmt: skip
    scene = eight()
    scene = replace(scene, farm=replace(scene.farm, hay=hay), memo={})
    found = ways(told(scene)["too_long"])
    assert "into 13 parts with a net, 1.2 ac each" in found["split"]
    assert "rest 28 d: 17 d short for Grass" in found["shorter_rest"]
    assert "for 17 d of each round: 4,488 lb as eaten" in found["hay"]
    assert "8 bales" in found["hay"]  # 4,488 lb over 598.4 lb a bale
    assert "Stay 6.4 d: 2.4 d past it each time (Worms)" in found["longer_stay"]


def test_rest_left_and_rest_short_add_up_to_the_rest_asked_for() -> None:
    """Two groups, 8 paddocks: 4 x (8 / 2 - 1) = 12 d; of 9, 4 x 3.5 = 14 d; of 7, 4 x 2.5 = 10 d."""
    for count, rest in ((8, "44.4 d"), (9, "40.5 d"), (7, "50.3 d")):
        text = ways(told(eight(rest, count, mobs=2))["too_long"])["shorter_rest"]
        found = re.search(r"rest ([\d.]+) d: ([\d.]+) d short", text)
        assert found is not None
        left, short = map(float, found.groups())
        assert left + short == pytest.approx(float(rest.split()[0]))
        assert left == 4 * (count / 2 - 1)


@pytest.mark.parametrize(("rest", "count", "clash"), [("45 d", 13, False), ("45 d", 12, False),
                                                      ("45 d", 11, True), ("28 d", 8, True)])  # fmt: skip
def test_paddocks_enough_are_no_clash(rest: str, count: int, clash: bool) -> None:
    """Worms' own 35 d over 8 paddocks are 5-day stays: a clash too, of one limit with itself."""
    assert ("too_long" in told(eight(rest, count))) is clash


def test_mobs_that_rest_from_each_other_share_the_paddocks_and_those_that_follow_do_not() -> None:
    apart_ = grazed((2.0,) * 14, (7.0,) * 14, mobs=3, rules=Rules(rest=parse("14 d", "time")))
    goats = told(apart_, "goats")["too_long"]
    assert "shared by 2 groups" in goats.says  # ewes and goats share worms, heifers do not
    assert "one group needs 10 paddocks, there are 14" in ways(goats)["together"]
    theirs = (replace(m, owner="the neighbour") if m.id == "goats" else m for m in apart_.mobs)
    lent = replace(apart_, mobs=tuple(theirs), memo={})
    assert "together" not in ways(told(lent, "goats")["too_long"])  # what is lent joins nobody's
    behind = with_mob(apart_, "ewes", follows="goats")
    assert "too_long" not in told(behind, "goats")


# ---------------------------------------------------------------- nowhere to go


def cornered(**more: object) -> Scene:
    """Return a mob four days in its paddock; 2 is shut, 3 was grazed by it 14 days ago."""
    shut = (ShutState("2", "cherry limb down", When.at(NOW)),)
    given = {"shut": shut, "past": been("3"), "been_h": 95.0, "head": 60} | more
    return grazed((3.0, 3.0, 3.0), (6.0, 9.0, 9.0), **given)  # type: ignore[arg-type]


def test_nowhere_fit_is_told_with_every_place_and_why() -> None:
    clash = told(cornered())["nowhere"]
    assert set(clash.limits) >= {"worms", "shut"}
    assert "None of the 2 other paddocks is fit by then" in clash.says
    assert "Closed (Shut): 2." in clash.says
    assert "Not ready before 27 May (Worms): 3." in clash.says


def test_its_ways_out_are_hay_the_place_that_is_fit_first_and_staying_on() -> None:
    found = ways(told(cornered())["nowhere"])
    assert "3 is fit first, on 27 May: 21 d sooner goes against Worms" in found["soonest"]
    assert "Feed hay for 21 d in one open place without trees: 5,544 lb as eaten." in found["hay"]
    assert "Stay on:" in found["stay"]
    assert "2 may only be used once the reason is gone (Shut)" in found["closed"]


def test_head_fewer_that_the_grass_would_last_for() -> None:
    """By hand: what stands above 4 in lasts 21 d for above / 21 / 4.4 lb a head; the rest must go."""
    for head in (60, 150):
        scene = with_rules(
            cornered(been_h=1.0, growth="0 lb/ac/d", head=head), worm_stay=parse("90 d", "time")
        )
        clash = told(scene)["nowhere"]
        (way,) = [w for w in clash.ways if w.key == "fewer"]
        above = next(f for f in clash.figures if f.name == "grass_above")
        kept = math.floor(some(above.value) / LB / 21 / 4.4)
        assert some(way.figures[0].value) == head - kept
        assert f"With {head - kept} fewer ewes in milk the grass here lasts until 27 May" in way.says


@pytest.mark.parametrize("change", ["open", "rested", "unread", "alone"])
def test_a_place_that_is_fit_or_not_walked_is_no_corner(change: str) -> None:
    scene = {
        "open": lambda: cornered(shut=()),
        "rested": lambda: cornered(past=been("3", days_ago=36)),
        "unread": lambda: replace(s := cornered(), herbage=replace(
            s.herbage, read=s.herbage.read & [True, True, False]), memo={}),
        "alone": lambda: grazed((3.0,), (6.0,), been_h=95.0),
    }[change]()  # fmt: skip
    assert no_way(scene, scene.mobs[0]) == ()


def test_a_follower_is_cornered_where_its_leader_has_not_been() -> None:
    scene = grazed((3.0,) * 4, (6.0, 12.0, 9.0, 9.0), mobs=2, been_h=95.0, follows=True)
    scene = with_mob(scene, "ewes", follows="heifers", follows_after=parse("2 d", "time"))
    state = [(p.paddock, p.state) for w in no_way(scene, scene.mobs[0]) for p in w.others]
    assert ("3", "behind") in state
    assert ("4", "behind") in state


# ---------------------------------------------------------------- shade that is shut


def heat_wave(shut_for_harvest: bool = True, cover: tuple[str, ...] = ("3",)) -> Scene:
    """Return a July of the test climate, ten degrees warmer; shade stands in 3, nuts drop on 25 September."""
    drop = date(2026, 9, 25) if shut_for_harvest else None
    now = NOW.replace(month=7, day=8)
    scene = grazed((3.0, 3.0, 3.0), (9.0, 9.0, 9.0), weather=True, now=now, members=21, days=30)
    paddocks = tuple(replace(p, cover=parse("40 %", "share")) if p.id in cover else p
                     for p in scene.farm.paddocks)  # fmt: skip
    rows = (Planting("w", "Walnut", "walnut_persian", "3", 2010, 50, first_drop=drop,
                     leader=parse("20 ft", "length")),)  # fmt: skip
    hot = replace(
        some(scene.weather), tmax_c=some(scene.weather).tmax_c + 10, tmin_c=some(scene.weather).tmin_c + 10
    )
    return replace(scene, farm=replace(scene.farm, paddocks=paddocks, plantings=rows), weather=hot, memo={})


def test_shade_only_in_rows_shut_for_harvest_is_told_and_not_offered() -> None:
    """p8: the best shade in a heat wave is in nut rows shut 120 d before harvest."""
    scene = heat_wave()
    clash = told(scene)["shut_in"]
    assert clash.limits[0] == "heat"
    assert "harvest" in clash.limits
    assert "lies only in 3" in clash.says
    assert "Closed (Harvest): 3." in clash.says
    found = ways(clash)
    assert "Shade, water, and moves early or late" in found["here"]
    assert re.search(r"drink up to [\d.]+ gal/d", found["here"])
    assert "3 may only be used once the reason is gone (Harvest)" in found["closed"]
    assert "A day late moves the harvest a day" in found["closed"]


@pytest.mark.parametrize("scene", [
    lambda: heat_wave(shut_for_harvest=False), lambda: heat_wave(cover=()),
    lambda: heat_wave(cover=("2", "3")), lambda: heat_wave(cover=("1", "3")),
])  # fmt: skip
def test_shade_that_is_open_or_known_nowhere_is_no_clash(scene: object) -> None:
    found = scene()  # type: ignore[operator]
    assert "shut_in" not in told(found)


def test_dry_ground_that_alone_has_shade_is_a_clash_of_water_and_heat() -> None:
    scene = heat_wave(shut_for_harvest=False)
    paddocks = tuple(replace(p, water="none" if p.id == "3" else "trough") for p in scene.farm.paddocks)
    scene = replace(scene, farm=replace(scene.farm, paddocks=paddocks), memo={})
    clash = told(scene)["shut_in"]
    assert {"heat", "water"} <= set(clash.limits)
    assert "Closed (Water): 3." in clash.says


# ---------------------------------------------------------------- a job against the others


def brush(left: str, days_ago: float = 0.0, **job: object) -> Scene:
    """Return goats that came two days ago to brush of which so much leaf is left by a look."""
    begun = (NOW - timedelta(days=2)).date()
    task = Job("brush", "Brambles", "brush", "3", "goats", parse("20 %", "share"), begun, **job)  # type: ignore[arg-type]
    look = LeafLook("3", When.at(NOW - timedelta(days=days_ago)), parse(left, "share"))
    return grazed((3.0,) * 5, (9.0,) * 5, mobs=3, been_h=48.0, jobs=(task,), leaf=(look,))


def test_a_job_that_needs_longer_than_the_worms_allow() -> None:
    """10 % of the leaf in 2 days leaves 70 % for 14 days; worms want them out after 4, in 2 days."""
    scene = brush("90 %")
    goats = next(m for m in scene.mobs if m.id == "goats")
    (found,) = job_against(scene, goats)
    assert (found.what, found.limit) == ("work", "worms")
    assert found.asked_d == pytest.approx(14, rel=0.01)
    assert found.allowed_d == pytest.approx(2, rel=0.01)
    clash = told(scene, "goats")["job_work"]
    assert "Brambles needs about 14 d more of Goats; Worms wants them out by" in clash.says
    assert "come back 3 times more, 4 d at the most, each after 35 d of rest" in ways(clash)["passes"]
    assert "With 84 head in place of 12" in ways(clash)["more_head"]
    assert "12 d against Worms" in ways(clash)["past"]


@pytest.mark.parametrize(
    ("days", "words"),
    [(200, "come back 3 times more, 4 d at the most, each after 35 d of rest."),
     (90, "come back 2 times more, 4 d at the most, each after 35 d of rest: no more fit before 4 Aug"),
     (45, "come back once more, 4 d at the most, after 35 d of rest: no more fits before 20 Jun"),
     (13, "after 35 d of rest no stay of 4 d fits before 19 May. Type a later day")],
)  # fmt: skip
def test_a_job_comes_back_no_more_often_than_its_days_allow(days: int, words: str) -> None:
    ends = (NOW + timedelta(days=days)).date()
    found = ways(told(brush("90 %", to_day=ends), "goats")["job_work"])
    assert words in found["passes"]


def test_a_lent_mob_comes_back_to_its_job_no_more_often_than_it_is_here() -> None:
    scene = brush("90 %")
    mobs = tuple(replace(m, due=(NOW + timedelta(days=21)).date()) for m in scene.mobs)
    lent = replace(scene, mobs=mobs, state=replace(scene.state, mobs=mobs), memo={})
    assert "no stay of 4 d fits before 27 May" in ways(told(lent, "goats")["job_work"])["passes"]


def test_a_job_that_is_done_before_is_no_clash_and_one_not_looked_at_is_not_guessed() -> None:
    assert "job_work" not in told(brush("30 %"), "goats")
    unseen = brush("90 %")
    unseen = replace(unseen, state=replace(unseen.state, leaf=()), memo={})
    assert not any(key.startswith("job") for key in told(unseen, "goats"))


def test_a_stay_or_a_rest_that_was_typed_past_what_a_limit_allows() -> None:
    scene = brush("30 %", stay=parse("10 d", "time"), rest=parse("20 d", "time"))
    found = told(scene, "goats")
    assert "asks for stays of 10 d, as you typed; Worms allows 4 d" in found["job_stay"].says
    assert "asks for 20 d of rest between stays, as you typed; Worms asks for 35 d" in found["job_rest"].says
    assert "6 d against Worms each time, $180" in ways(found["job_stay"])["past"]
    agreed = brush("30 %", stay=parse("4 d", "time"), rest=parse("40 d", "time"))
    assert not any(key.startswith("job") for key in told(agreed, "goats"))


def test_water_that_can_be_filled_stands_against_no_job() -> None:
    """A trough that runs dry tomorrow is filled: it sends goats that need 14 days away from nothing."""
    scene = with_rules(brush("90 %"), worm_stay=parse("90 d", "time"), worm_rest=parse("1 d", "time"))
    paddocks = tuple(
        replace(p, water="trough", trough=parse("80 gal", "volume")) for p in scene.farm.paddocks
    )
    drink = parse("2 gal/d", "water use")
    mobs = tuple(replace(m, lines=tuple(replace(x, water=drink) for x in m.lines)) for m in scene.mobs)
    state = replace(scene.state, mobs=mobs)
    scene = replace(scene, farm=replace(scene.farm, paddocks=paddocks), mobs=mobs, state=state, memo={})
    goats = next(m for m in scene.mobs if m.id == "goats")
    first = next(b for b in bites(scene, "goats", "3") if b.moment is not None)
    assert first.limit == "water"
    assert all(found.limit != "water" for found in job_against(scene, goats))


def test_two_mobs_that_must_leave_with_one_place_for_both() -> None:
    """4 is the one place that is fit: the ewes get it, and the goats are told that they have none."""
    scene = grazed((3.0,) * 4, (6.0, 9.0, 9.0, 9.0), mobs=3, been_h=95.0, shut=())
    goats = next(m for m in scene.mobs if m.id == "goats")
    assert no_way(scene, goats, ()) == ()
    (way,) = no_way(scene, goats, ("4",))
    assert ("4", "taken") in [(p.paddock, p.state) for p in way.others]
    page = today(Picture(Path("small"), scene.now, scene.farm, (), scene.state, None, scene, ()))
    sent = {part.id: part.next.paddock for part in page.mobs if part.next is not None}
    assert sent["ewes"] == "4"
    assert "nowhere" in {c.key for part in page.mobs if part.id == "goats" for c in part.clashes}
