"""Limits that contradict each other, on Today as text and as JSON, from real folders."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.events import Event, Looked, Moved, Shut
from browseline.record.store import Record
from browseline.units import factor
from tests.acceptance.cases import entry, grows, quantity, walked

MILK = {"kind": "sheep", "class": "ewes", "head": 60, "weight": "150 lb", "intake": "4.4 lb/d"}
SWARD = {"kind": "mixed_cool", "mass_per_height": "275 lb/ac/in", "leave_at": "4 in", "start_at": "8 in",
         "share_eaten": "70 %"}  # fmt: skip
HOT = {"unit": "C", "tmax": [30] * 4 + [36] * 5 + [30] * 3, "tmin": [20] * 4 + [26] * 5 + [20] * 3,
       "rain_unit": "mm", "rain": [60] * 12, "wet_days": [8] * 12,
       "wet_day_threshold": "0.25 mm"}  # fmt: skip


def folder_of(
    folder: Path, day: str, *events: Event, paddocks: int = 8, since: str = "", inches: float = 7.0,
    line: dict[str, Any] = MILK, at: str = "1", follows: str = "", name: str = "Ewes",
    second: dict[str, Any] | None = None, **tables: Any,
) -> Path:  # fmt: skip
    """Write a farm of two-acre paddocks with one mob, walked the day before, and nothing else."""
    first = date.fromisoformat(day) - timedelta(days=1)
    came = since or f"{first} 08:00"
    opened = min(date.fromisoformat(came[:10]), *(e.observed.start.date() for e in events), first)
    made: dict[str, Any] = {
        "schema": 1, "name": "Clash Farm", "time_zone": "America/New_York", "units": "acres",
        "as_of": opened - timedelta(days=1), "swards": {"home": SWARD},
        "rules": {"worm_stay": "4 d", "worm_rest": "35 d"} | tables.pop("rules", {}),
        "paddocks": [{"id": str(n), "name": str(n), "deeded": "2 ac", "water": "trough"}
                     | tables.pop(f"paddock_{n}", {}) for n in range(1, paddocks + 1)],
        "mobs": [{"id": "ewes", "name": name, "at": at, "since": came, "lines": [line]}
                 | ({"follows": follows} if follows else {}), *([second] if second else [])],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(tomlkit.dumps(made | tables), encoding="utf-8")
    with Record.open(folder, device="phone") as record:
        record.append([*events, *walked(f"{first} 09:00", [inches] * paddocks)])
    return folder


def said(folder: Path, now: str, *words: str) -> str:
    """Return what the command prints, in one line."""
    done = CliRunner().invoke(app, ["today", "--farm", str(folder), "--now", f"{now}-04:00", *words])
    assert done.exit_code == 0, done.output
    return done.stdout if "--json" in words else " ".join(done.stdout.split())


def clashes(folder: Path, now: str) -> dict[str, Any]:
    """Return the clashes of the first mob as JSON, by key."""
    found = json.loads(said(folder, now, "--json"))["mobs"][0]["clashes"]
    return {clash["key"]: clash | {"ways": {way["key"]: way for way in clash["ways"]}} for clash in found}


# ---------------------------------------------------------------- May: 14 d and 35 d


def may(folder: Path, left: str = "2026-04-29 08:00", **more: Any) -> Path:
    """Return ewes that left 2 a week or more ago, on growth that is back from 4 to 8 in after 14 d."""
    past = [entry("2026-04-25 08:00", "ewes", Moved("2")), entry(left, "ewes", Moved("1"))]
    growth = grows("2026-04-25 08:00", f"{275 * 4 / 14:.3f} lb/ac/d", date(2026, 8, 1))
    return folder_of(folder, "2026-05-13", growth, *past, since="2026-04-24 08:00", at="3", paddocks=3,
                     inches=8.5, **more)  # fmt: skip


def test_in_may_grass_wants_them_back_in_14_days_and_worms_after_35(tmp_path: Path) -> None:
    page = said(may(tmp_path), "2026-05-13T07:00", "--why")
    assert "CLASH Grass: about 14 d of rest, so Ewes would be back now in 2 and 3." in page
    assert "Worms: 35 d of rest, so not before 30 May to 3 Jun." in page
    assert "or: Mow or cut them before they get old" in page
    assert "d short for Worms" in page


def test_the_same_clash_is_in_the_json_and_at_the_limits_it_names(tmp_path: Path) -> None:
    page = json.loads(said(may(tmp_path), "2026-05-13T07:00", "--json"))["mobs"][0]
    (clash,) = [c for c in page["clashes"] if c["key"] == "apart"]
    assert clash["limits"] == ["grass", "worms"]
    assert {w["key"] for w in clash["ways"]} >= {"cut", "shorter_rest"}
    assert all(line["clash"] for line in page["lines"] if line["limit"] in ("grass", "worms"))
    assert [f["value"] for f in clash["figures"]][1] == 35


def test_trap_a_rest_that_both_agree_on_is_no_clash(tmp_path: Path) -> None:
    assert "apart" in clashes(may(tmp_path / "a"), "2026-05-13T07:00")
    assert "apart" not in clashes(may(tmp_path / "b", rules={"worm_rest": "10 d"}), "2026-05-13T07:00")


# ---------------------------------------------------------------- July: 45 d and eight paddocks


def july(folder: Path, paddocks: int = 8, **more: Any) -> Path:
    rules = {"rest": "45 d"} | more.pop("rules", {})
    hay = [{"id": "barn", "bales": "5 bales", "bale_weight": "800 lb", "dry": "88 %", "feeding_loss": "15 %"}]
    return folder_of(folder, "2026-07-08", paddocks=paddocks, rules=rules, hay=hay, **more)


def test_45_days_over_8_paddocks_are_stays_of_six_days_past_the_worms_four(tmp_path: Path) -> None:
    """45 / 7 = 6.4 d; 45 / 4 + 1 = 12.25 paddocks; 4 x 7 = 28 d of rest; 17 d x 264 lb = 4,488 lb."""
    found = clashes(july(tmp_path), "2026-07-08T07:00")["too_long"]
    assert "Grass asks for 45 d of rest. Over 8 open paddocks" in found["says"]
    assert "stays of 6.4 d; Worms allows 4 d" in found["says"]
    told = {key: way["says"] for key, way in found["ways"].items()}
    assert "into 13 parts with a net" in told["split"]
    assert "rest 28 d: 17 d short for Grass" in told["shorter_rest"]
    assert "17 d of each round: 4,488 lb as eaten, 8 bales of 5." in told["hay"]
    assert "Stay 6.4 d: 2.4 d past it each time (Worms)" in told["longer_stay"]
    (hay,) = [f for f in found["ways"]["hay"]["figures"] if f["name"] == "clash_hay"]
    assert hay["value"] / factor("lb", "kg") == pytest.approx(4488)


def test_trap_thirteen_paddocks_are_enough_and_a_hard_rule_offers_no_longer_stay(tmp_path: Path) -> None:
    assert "too_long" not in clashes(july(tmp_path / "a", 13), "2026-07-08T07:00")
    hard = clashes(july(tmp_path / "b", rules={"worms_hard": True}), "2026-07-08T07:00")["too_long"]
    assert "longer_stay" not in hard["ways"]


# ---------------------------------------------------------------- a heat wave, shade in shut rows


def heat(folder: Path, drop: date | None = date(2026, 9, 25), **more: Any) -> Path:
    """Return a farm in a hot July whose only shade, in 3, stands over walnuts that drop on a day."""
    sold = {"first_drop": drop} if drop is not None else {"harvested": False}
    rows = {"id": "walnuts", "name": "Walnuts", "species": "walnut_english", "paddock": "3", "planted": 1996,
            "trees": 40, "leader": "20 ft"} | sold  # fmt: skip
    where = {"latitude": 41.0, "longitude": -45.0, "elevation": "200 m"}
    tables = {"plantings": [rows], "normals": HOT, "place": where, "paddock_3": {"cover": "40 %"}} | more
    ewes = {"kind": "sheep", "class": "ewe lactating twins", "head": 60, "weight": "150 lb"}
    return folder_of(folder, "2026-07-15", paddocks=4, inches=9.0, line=ewes, **tables)


HEAT_NOW = "2026-07-15T07:00"


def test_shade_in_a_heat_wave_lies_only_in_rows_shut_for_harvest(tmp_path: Path) -> None:
    """p8: 25 Sep less 120 d is 28 May, so the shady rows are shut in July."""
    page = said(heat(tmp_path), HEAT_NOW)
    assert "what eases it for Ewes lies only in 3. That ground is not free. Closed (Harvest): 3." in page
    assert "Shade, water, and moves early or late in the day" in page
    assert "In heat they drink up to" in page
    assert "3 may only be used once the reason is gone (Harvest). A day late moves the harvest a day" in page


def test_trap_the_shady_rows_are_never_the_place_to_go(tmp_path: Path) -> None:
    shut, free = (json.loads(said(heat(tmp_path / name, drop), HEAT_NOW, "--json"))["mobs"][0]
                  for name, drop in (("a", date(2026, 9, 25)), ("b", None)))  # fmt: skip
    assert shut["next"]["paddock"] != "3"
    assert not any("Go to 3" in way["says"] or (way["key"] == "soonest" and way["says"].startswith("3 "))
                   for clash in shut["clashes"] for way in clash["ways"])  # fmt: skip
    assert "shut_in" not in {c["key"] for c in free["clashes"]}


def test_water_and_heat_where_the_shade_is_dry(tmp_path: Path) -> None:
    dry = {"paddock_3": {"cover": "40 %", "water": "none"}}
    found = clashes(heat(tmp_path, None, **dry), HEAT_NOW)["shut_in"]
    assert found["limits"][0] == "heat"
    assert "water" in found["limits"]
    assert "Closed (Water): 3." in found["says"]


# ---------------------------------------------------------------- nowhere to go


def cornered(folder: Path, *more: Event, **tables: Any) -> Path:
    """Return ewes on their fourth day in 1; they left 2 on 2 May, and 3 is shut for a cherry limb."""
    past = [entry("2026-04-30 08:00", "ewes", Moved("2")), entry("2026-05-02 08:00", "ewes", Moved("1"))]
    limb = entry("2026-05-05 08:00", "3", Shut("cherry limb down", "cleared"))
    given: dict[str, Any] = {"since": "2026-04-29 08:00", "at": "yard", "paddocks": 3, "inches": 9.0} | tables
    return folder_of(folder, "2026-05-06", *past, limb, *more, **given)


def test_grass_or_worms_say_move_and_every_other_paddock_is_shut_or_not_ready(tmp_path: Path) -> None:
    page = said(cornered(tmp_path), "2026-05-06T07:00")
    assert "Worms: Ewes must be out by Wed 8:00. None of the 2 other paddocks is fit by then." in page
    assert "Closed (Shut): 3." in page
    assert "Not ready before 6 Jun (Worms): 2." in page
    assert "or: 2 is fit first, on 6 Jun: 31 d sooner goes against Worms." in page
    assert "or: Feed hay for 31 d in one open place without trees: 8,184 lb as eaten." in page
    assert "3 may only be used once the reason is gone (Shut)." in page


def test_trap_a_farm_with_one_place_left_says_it_and_no_clash(tmp_path: Path) -> None:
    free = cornered(tmp_path, paddock_1={"name": "Home"}, rules={"worm_rest": "3 d"})
    assert "nowhere" not in clashes(free, "2026-05-06T07:00")
    assert "Next: 2 (" in said(free, "2026-05-06T07:00")


def test_where_hay_may_be_fed_is_ground_marked_for_it_and_none_with_trees(tmp_path: Path) -> None:
    marked = cornered(tmp_path, paddock_2={"sacrifice": True})
    assert "or: Feed hay in 2:" in said(marked, "2026-05-06T07:00")


# ---------------------------------------------------------------- jobs, leaders


def working(folder: Path, *looks: Event, **job: Any) -> Path:
    """Return goats that clear brush in 3 since 4 May 8:00, until 20 % of the leaf is left."""
    goats = {
        "kind": "goat",
        "class": "doe range browsing",
        "head": 20,
        "weight": "110 lb",
        "intake": "3.85 lb/d",
    }
    task = {"id": "clear", "name": "Clear the brush", "kind": "brush", "paddock": "3", "mob": "ewes",
            "target": "20 %", "from": date(2026, 5, 4)} | job  # fmt: skip
    given: dict[str, Any] = {
        "since": "2026-05-04 08:00",
        "line": goats,
        "at": "3",
        "inches": 9.0,
        "name": "Goats",
    }
    return folder_of(folder, "2026-05-06", *looks, jobs=[task], **given)


def looked(when: str, share: str) -> Event:
    return entry(when, "3", Looked("brush", leaf=quantity(share, "share")))


def test_a_job_nobody_has_looked_at_is_asked_about_and_its_mob_stays(tmp_path: Path) -> None:
    page = said(working(tmp_path), "2026-05-06T07:00")
    assert "Job: Clear the brush: until 20 % of the leaf is left by a look. When is not known" in page
    assert "Next: stays in 3. Clear the brush, until 20 % of the leaf is left by a look." in page


def test_looks_foresee_its_end_and_the_worms_stand_against_it(tmp_path: Path) -> None:
    """10 % in the first day and 20 % in the second: 50 points more at 10 to 20 % a day, 2.5 to 5 d."""
    looks = (looked("2026-05-05 08:00", "90 %"), looked("2026-05-06 08:00", "70 %"))
    page = said(working(tmp_path, *looks), "2026-05-06T08:00")
    assert "Job: by Sat 16:00, Clear the brush foreseen done. Likely range: Fri 20:00 - Mon 8:00." in page
    assert "CLASH Clear the brush needs about 3.3 d more of Goats; Worms wants them out by Fri 8:00." in page
    assert "or: With 34 head in place of 20 it would be done by then." in page
    assert "come back once more, 4 d at the most, after 35 d of rest" in page


def test_trap_a_job_whose_target_is_met_holds_nobody(tmp_path: Path) -> None:
    page = said(working(tmp_path, looked("2026-05-06 06:00", "15 %")), "2026-05-06T07:00")
    assert "Job: now, Clear the brush done." in page
    assert "Next: stays" not in page


def test_a_follower_is_sent_behind_its_leader(tmp_path: Path) -> None:
    cows = {
        "kind": "cattle",
        "class": "beef steer growing",
        "head": 10,
        "weight": "700 lb",
        "intake": "18 lb/d",
    }
    lead = {"id": "steers", "name": "Steers", "at": "4", "since": "2026-05-02 08:00", "lines": [cows]}
    moved = entry("2026-05-05 08:00", "steers", Moved("5"))
    folder = folder_of(tmp_path, "2026-05-06", moved, since="2026-05-02 08:00", follows="steers", second=lead)
    assert "Next: 4 (7 in, behind Steers, gone from there 5 May)." in said(folder, "2026-05-06T07:00")
