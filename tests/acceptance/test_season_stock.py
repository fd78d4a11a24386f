"""The season on real farm folders: who shares ground, follows, works or is kept apart, and days off."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations
from pathlib import Path
from typing import Any

from tests.acceptance.stock_farms import (
    FarmFolder,
    Stay,
    ewes,
    farm,
    goats,
    heifers,
    hens,
    mob,
    of,
    on,
    pigs,
)
from tests.web_farm import PAGE, Served

OFF = ("yard", "away")
TODAY = date(2026, 5, 20)


def shared(stays: list[Stay]) -> list[str]:
    """Return who stands on one paddock with whom on which day."""
    every = [(s.mob, s.place, day) for s in stays if s.place not in OFF for day in s.days()]
    return [f"{a[0]} and {b[0]} in {a[1]} on {a[2]}" for a, b in combinations(every, 2)
            if a[0] != b[0] and a[1:] == b[1:] and a[2] > TODAY]  # fmt: skip


def one(stays: list[Stay], who: str, place: str) -> Stay:
    """Return the first stay of a mob in a place."""
    return next(s for s in of(stays, who) if s.place == place)


# ---------------------------------------------------------------- two mobs on one paddock


def two(folder: Path, **more: Any) -> FarmFolder:
    """Return a farm where only 1 and 2 stand at the height to start, and 2 is by far the better."""
    tall = {"1": 9.0, "2": 12.0, "3": 6.0, "4": 6.0}
    mobs = [mob("ewes", "1", ewes(20), **more), mob("heifers", "1", heifers(6))]
    return farm(folder, mobs, count=4, heights_in=tall)


def test_mobs_that_do_not_run_together_are_never_planned_on_one_paddock(tmp_path: Path) -> None:
    stays = two(tmp_path).season()
    assert shared(stays) == []
    assert {s.place for s in stays if s.begin == TODAY and s.mob == "ewes"} | {
        s.place for s in stays if s.begin == TODAY and s.mob == "heifers"
    }, "they stand together today and part at once"


def test_mobs_that_run_together_may_share_the_best_ground_and_pay_once_for_what_it_lacks(
    tmp_path: Path,
) -> None:
    stays = two(tmp_path, runs_with=["heifers"]).season()
    assert shared(stays), "the one paddock that is ready takes both"


# ---------------------------------------------------------------- leader and follower


def behind(folder: Path) -> FarmFolder:
    follows = {"follows": "heifers", "follows_after": "3 d", "follows_within": "6 d"}
    return farm(folder, [mob("heifers", "1", heifers(20)), mob("hens", "8", hens(), **follows)])


def test_poultry_go_on_some_days_behind_cattle_and_do_not_stay_where_they_are(tmp_path: Path) -> None:
    home = behind(tmp_path)
    stays = home.season(days=30)
    left = {s.place: s.end for s in of(stays, "heifers")}
    came = [s for s in of(stays, "hens") if s.begin > TODAY and s.place not in OFF]
    assert len(came) >= 3
    for stay in came:
        assert timedelta(days=3) <= stay.begin - left[stay.place] <= timedelta(days=6), stay
        assert "Comes behind Heifers" in stay.says
    assert {s.place for s in came} == {p for p, day in left.items() if (TODAY + timedelta(days=23)) >= day}
    assert "What Hens eat in a day is not known" not in str(home.seen["clashes"])


def test_cattle_go_before_sheep_and_make_room_for_them(tmp_path: Path) -> None:
    home = farm(tmp_path, [mob("heifers", "1", heifers(20)), mob("ewes", "2", ewes(), follows="heifers")])
    stays = home.season()
    left = [(s.place, s.end) for s in of(stays, "heifers")]
    for stay in (s for s in of(stays, "ewes") if s.begin > TODAY and s.place not in OFF):
        gaps = [stay.begin - day for place, day in left if place == stay.place and day <= stay.begin]
        assert min(gaps) <= timedelta(days=4), stay
    assert any("Ewes come behind on" in s.says for s in of(stays, "heifers"))


# ---------------------------------------------------------------- jobs with a target


def turning(folder: Path, *bare: tuple[str, str], target: str = "30 %") -> FarmFolder:
    job = {"id": "turn", "name": "Turn the corner", "kind": "turn", "paddock": "8", "mob": "pigs",
           "target": target, "from": date(2026, 5, 18)}  # fmt: skip
    mobs = [mob("heifers", "1", heifers()), mob("pigs", "8", pigs())]
    home = farm(folder, mobs, own={"8": {"area": "1 ac"}}, jobs=[job])
    for when, share in bare:
        home.run("look", "ground", "8", "--bare", share, "--at", when)
    return home


def test_s19_pigs_stay_until_the_ground_is_turned_and_no_longer(tmp_path: Path) -> None:
    """10 % a day after two looks: 20 % are bare by now, the target of 30 % is a day away."""
    home = turning(tmp_path, ("2026-05-19 08:00", "10 %"), ("2026-05-20 06:30", "20 %"))
    stay = one(home.season(days=14), "pigs", "8")
    assert stay.says.startswith("Job Turn the corner: until 30 % of the ground is bare")
    assert stay.end <= TODAY + timedelta(days=2)
    done = turning(tmp_path / "done", ("2026-05-19 08:00", "15 %"), ("2026-05-20 06:30", "35 %"))
    assert not any("Turn the corner" in s.says for s in done.season(days=14))
    assert "Turn the corner done" in done.run("today")


def test_s19_harm_ends_the_job_before_its_target_and_the_season_says_so(tmp_path: Path) -> None:
    """Over a third is bare: the pigs leave, though the target is 60 %."""
    home = turning(tmp_path, ("2026-05-19 08:00", "15 %"), ("2026-05-20 06:30", "40 %"), target="60 %")
    stays = home.season(days=14)
    assert not on(stays, "pigs", "8") or max(on(stays, "pigs", "8")) < TODAY
    said = [clash for clash in home.seen["clashes"] if clash["code"] == "job_left"]
    assert len(said) == 1
    assert "Pigs leave Turn the corner before it is done: the limit Ground" in said[0]["says"]


def brush(folder: Path, rules: dict[str, Any] | None = None, since: str = "2026-05-14 08:00") -> FarmFolder:
    job = {"id": "brush", "name": "Clear the brush", "kind": "brush", "paddock": "8", "mob": "goats",
           "target": "15 %", "from": date(2026, 5, 14)}  # fmt: skip
    apart = ["1", "2", "3", "4", "5", "6", "7"]
    home = farm(folder, [mob("ewes", "1", ewes(30)), mob("goats", "8", goats(), since, keep_out=apart)],
                jobs=[job], rules=rules or {})  # fmt: skip
    home.run("look", "ground", "8", "--leaf", "80 %", "--at", "2026-05-17 08:00")
    home.run("look", "ground", "8", "--leaf", "55 %", "--at", "2026-05-20 06:00")
    return home


def test_s19_goats_go_by_the_leaf_that_is_left_and_the_worms_price_is_told_behind_it(tmp_path: Path) -> None:
    """20 points in the first three days, 25 in the next three: 40 more take 4.8 to 6 d, past the worms' 4."""
    home = brush(tmp_path)
    stay = one(home.season(days=14), "goats", "8")
    assert stay.says.startswith("Job Clear the brush: until 15 % of the leaf is left")
    assert "Foreseen 25 May" in stay.says
    assert stay.end >= date(2026, 5, 25), "six days in, worms alone do not end the job"
    past = (stay.end - TODAY).days
    assert f"{past} d past the 4 d of Worms: ${30 * past}." in stay.says
    assert "Next: stays in P8. Clear the brush" in home.run("today")


def test_a_worm_rule_that_the_farm_made_hard_ends_the_job(tmp_path: Path) -> None:
    stays = brush(tmp_path, {"worms_hard": True}).season(days=14)
    assert on(stays, "goats", "8") == [
        day for day in on(stays, "goats", "8") if day < TODAY + timedelta(days=1)
    ]


# ---------------------------------------------------------------- sheep in place of a mower


NUTS = {"id": "nuts", "name": "Walnuts", "species": "walnut_english", "paddock": "3", "planted": 2005,
        "trees": 60, "spacing": "20 ft", "alley": "40 ft", "leader": "20 ft",
        "first_drop": date(2026, 9, 25)}  # fmt: skip
MOW = {"id": "mow", "name": "Mow under the walnuts", "kind": "keep_down", "paddock": "3", "mob": "ewes",
       "target": "5 in", "from": date(2026, 5, 25)}  # fmt: skip


def test_sheep_mow_under_the_nuts_and_are_out_before_the_harvest_shuts_them(tmp_path: Path) -> None:
    """120 days before 25 September is 28 May."""
    mobs = [mob("heifers", "1", heifers()), mob("ewes", "2", ewes())]
    stays = farm(tmp_path, mobs, plantings=[NUTS], jobs=[MOW]).season()
    days = on(stays, "ewes", "3")
    assert days
    assert max(days) < date(2026, 9, 25) - timedelta(days=120)
    assert not [day for s in stays if s.place == "3" for day in s.days() if day >= date(2026, 5, 28)]
    stay = one(stays, "ewes", "3")
    assert stay.says.startswith("Job Mow under the walnuts: until the grass stands at 5 in")
    assert "Harvest: shut from 28 May." in stay.says


# ---------------------------------------------------------------- a net, and stays that clash with rest


def test_a_net_makes_two_stays_of_one_and_each_part_has_its_own_rest(tmp_path: Path) -> None:
    home = farm(tmp_path, [mob("ewes", "1", ewes())], count=4)
    home.run("net", "4", "a 2 ac, b 2.8 ac")
    for part in ("4/a", "4/b"):
        home.run("walk", part, "11 in")
    stays = home.season()
    assert {s.place for s in stays} >= {"4/a", "4/b"}
    assert not on(stays, "ewes", "4")
    for place in ("4/a", "4/b"):
        assert len([s for s in stays if s.place == place]) == 1, "35 d of rest for each part"
    long = [s for s in stays if " d past the 4 d of Worms: " in s.says]
    assert long, "five paddocks give 35 d of rest only with stays past four days"
    assert all("instead would" in s.says for s in long), "what leaving would cost is told"
    assert "CLASH Worms asks for 35 d of rest." in home.run("today")


# ---------------------------------------------------------------- wet ground


def test_wet_ground_is_shut_and_the_sacrifice_ground_takes_the_mob_where_all_is_wet(tmp_path: Path) -> None:
    wet = {n: {"soil": "clay"} for n in ("2", "3")}
    home = farm(tmp_path, [mob("heifers", "1", heifers(25))], count=4, rain_mm=22,
                own=wet | {"4": {"sacrifice": True}})  # fmt: skip
    stays = home.season()
    assert not [d for p in ("2", "3") for d in on(stays, "heifers", p) if d <= TODAY + timedelta(days=1)]
    assert not on(stays, "heifers", "4"), "sacrifice ground is the yard of the plan"
    every = {n: {"soil": "clay"} for n in ("1", "2", "3")} | {"4": {"sacrifice": True}}
    soaked = farm(tmp_path / "soaked", [mob("heifers", "1", heifers(25))], count=4, rain_mm=22, own=every)
    assert of(soaked.season(), "heifers")[0].place == "yard"


# ---------------------------------------------------------------- days without moves, few hands, promises


def keeper(folder: Path, heights_in: dict[str, float] | None = None, **rules: Any) -> FarmFolder:
    young = {"id": "young", "name": "Young walnuts", "species": "walnut_english", "paddock": "5",
             "planted": 2025, "trees": 60, "spacing": "20 ft", "alley": "40 ft", "leader": "4 ft",
             "guard": "tree tube 4 ft", "harvested": False}  # fmt: skip
    promises = [
        {"id": "out", "kind": "away", "what": "Away", "from": date(2026, 5, 28), "to": date(2026, 6, 2)},
        {"id": "birds", "kind": "contract", "what": "Nesting birds", "from": date(2026, 5, 15),
         "to": date(2026, 6, 20), "paddocks": ["7"], "hard": True},
    ]  # fmt: skip
    mobs = [mob("heifers", "1", heifers()), mob("ewes", "2", ewes(30))]
    return farm(folder, mobs, plantings=[young], heights_in=heights_in,
                promises=promises, rules={"no_move_weekdays": ["Sunday", "Tuesday", "Thursday"],
                                          "moves_a_day": 1} | rules)  # fmt: skip


def arrivals(stays: list[Stay]) -> list[date]:
    return sorted(s.begin for s in stays if s.begin > TODAY)


def test_no_move_falls_on_days_off_or_away_and_never_more_than_one_a_day(tmp_path: Path) -> None:
    home = keeper(tmp_path)
    stays = home.season(days=30)
    days = arrivals(stays)
    assert len(days) >= 3
    assert not [d for d in days if d.isoweekday() in (2, 4, 7)]
    assert not [d for d in days if date(2026, 5, 28) <= d < date(2026, 6, 2)]
    assert len(days) == len(set(days))
    assert not [s for s in stays if s.place == "7"]
    assert not on(stays, "heifers", "5"), "a tube of 4 ft does not hold cattle"


def test_sheep_may_go_where_young_trees_shut_cattle_out(tmp_path: Path) -> None:
    """5 is the only ground that is ready: the tube holds off sheep, not cattle."""
    short = dict.fromkeys("1234678", 6.0) | {"5": 13.0}
    stays = keeper(tmp_path, short, moves_a_day=2).season(days=14)
    assert on(stays, "ewes", "5")
    assert not on(stays, "heifers", "5")


def test_a_promise_made_after_the_plan_was_kept_moves_the_stays_and_says_so(tmp_path: Path) -> None:
    home = keeper(tmp_path, moves_a_day=2, no_move_weekdays=["Sunday"])
    before = home.season("--keep", days=30)
    due = next(d for d in arrivals(before) if d.isoweekday() != 7)
    away = {"id": "sudden", "kind": "away", "what": "Away", "from": due, "to": due + timedelta(days=1)}
    home.edit(promises=[away])
    again = home.season(days=30)
    assert due not in arrivals(again)
    assert home.seen["changes"]


def test_the_plan_of_a_changed_entry_starts_from_what_is_so_now(tmp_path: Path) -> None:
    """The plan was kept; two days later a limb shut a paddock that it goes to."""
    home = farm(tmp_path, [mob("ewes", "1", ewes())], count=6)
    before = home.season("--keep")
    goes = next(s.place for s in before if s.begin > TODAY + timedelta(days=2) and s.place not in OFF)
    later = "2026-05-21T07:00-04:00"
    home.run("shut", goes, "--because", "limb down", "--until", "cleared", now=later)
    again = home.season(now=later)
    assert not on(again, "ewes", goes)
    assert any("limb down" in text for text in home.seen["changes"])


def test_a_stay_without_a_limit_tells_the_next_day_on_which_it_could_end(tmp_path: Path) -> None:
    stays = keeper(tmp_path).season(days=30)
    tied = [s for s in stays if s.limit == "" and "One day more would cost" in s.says]
    for stay in tied:
        assert (stay.end + timedelta(days=1)).isoweekday() not in (2, 4, 7), stay.says
        assert not date(2026, 5, 27) <= stay.end < date(2026, 6, 1), stay.says


def test_cattle_leave_before_regrowth_is_bitten_again_or_pay(tmp_path: Path) -> None:
    home = farm(tmp_path, [mob("heifers", "1", heifers(8))])
    for stay in of(home.season(), "heifers")[:-1]:
        been = (stay.end - stay.begin).days
        assert been <= 7 or f"{been - 7} d past the 7 d of Grass" in stay.says
    home.edit(rules={"regrazed_after": "60 d"})
    assert max((s.end - s.begin).days for s in of(home.season(), "heifers")) > 7


def test_the_pages_tell_the_kept_plan_and_today_does_not_speak_against_it(tmp_path: Path) -> None:
    home = brush(tmp_path)
    kept = home.season("--keep", days=14)
    browser = Served(tmp_path, now=home.now).here()
    page = " ".join(browser.get("/season", headers=PAGE).text.split())
    assert "Clear the brush" in page
    for stay in of(kept, "goats"):
        assert f"P{stay.place}" in page or stay.place in OFF
    today = browser.get("/today", headers=PAGE)
    assert today.status_code == 200
    assert "stays in P8" in " ".join(today.text.split())
    what_if = home.run("season", "--days", "14", "--iterations", "200", "--what-if")
    assert "One more paddock" in what_if or "Another paddock" in what_if
