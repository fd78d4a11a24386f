"""``season`` on the command line: costs by part, and what each rule is worth."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from browseline.chain import look
from browseline.chain.in_force import judged_plan
from browseline.chain.season_page import NextMove, _many_at_once, _next_days, season_page
from browseline.cli.season import put_season
from browseline.events import Cut
from browseline.figures import Figure
from browseline.moves.form import PlannedCut, Season
from browseline.papers.season import season_sheet
from browseline.record.fold import planned
from browseline.words import say
from tests.unit.cli_farm import FARM, SmallFarm, small_farm
from tests.web_farm import Served

LATE = "2026-05-06T12:00-04:00"
QUICK = ("--days", "15", "--iterations", "100")


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    made = small_farm(tmp_path / "farm")
    for paddock, inches in (("4", 9), ("6", 7), ("7", 8), ("8", 9)):
        made.run("walk", paddock, f"{inches} in")
    return made


def test_costs_stand_part_by_part_before_the_whole(farm: SmallFarm) -> None:
    shown = farm.run("season", *QUICK)
    assert shown.code == 0
    told = " ".join(shown.all.split())
    assert ", $" in told.split("In all")[0]
    assert "These prices are guesses until you type your own under [prices]" in told
    assert told.index("In all") < told.index("These prices")


def test_what_if_begins_from_a_plan_made_now_and_keeps_nothing(farm: SmallFarm) -> None:
    told = " ".join(farm.run("season", *QUICK, "--what-if").all.split())
    for words in (
        "Never move animals on a Sunday",
        "One more paddock",
        "Ewes: ",
        "Luck alone moves the plan by",
    ):
        assert words in told
    assert "No plan is in force" in " ".join(farm.run("why", "what-if").all.split())


def test_what_if_says_what_it_is_held_against_and_keeps_a_plan_where_asked(farm: SmallFarm) -> None:
    made = " ".join(farm.run("season", "--days", "15", "--iterations", "0", "--keep").all.split())
    told = " ".join(farm.run("season", *QUICK, "--what-if").all.split())
    own = re.search(r"It is your plan, which costs (\S+), changed in small steps", told)
    assert own is not None
    assert f"In all {own[1]} " in made
    before = [event.id for event in planned(farm.events())]
    kept = " ".join(farm.run("season", *QUICK, "--what-if", "--keep").all.split())
    assert told in kept
    assert "Kept as the plan in force" in kept
    assert [event.id for event in planned(farm.events())] != before


def test_what_if_as_json_carries_every_difference_with_its_key(farm: SmallFarm) -> None:
    made = json.loads(farm.run("season", *QUICK, "--what-if", "--json").out)
    assert made["schema"] == "browseline/what-if/1"
    worth = [figure for figure in made["figures"] if figure["name"] == "plan_worth"]
    assert len(worth) >= 3
    assert all(figure["key"].startswith("what-if.") for figure in worth)
    assert all(figure["unit"] == "USD" for figure in worth)


MAKES_HAY = """
[rules]
hay_pass = "60 USD/ac"
hay_field_loss = "20 %"
hay_days = "4 d"
"""
"""What a farm types that makes hay. The bales of its lot have no dry share, so hay is told by weight."""


def flushed(folder: Path, rules: str) -> SmallFarm:
    """Return a farm in a spring flush that few head cannot keep up with."""
    made = small_farm(folder, FARM.replace("head = 60", "head = 6").replace("head = 96", "head = 9") + rules)
    for paddock in "4678":
        made.run("walk", paddock, "9 in")
    assert made.run("forecast", "80 lb/ac/d", "--until", "2026-07-30").code == 0
    return made


def test_a_cut_that_pays_is_told_in_one_sentence_with_its_key(tmp_path: Path) -> None:
    farm = flushed(tmp_path / "farm", MAKES_HAY)
    words = ("season", "--days", "40", "--iterations", "100")
    told = " ".join(farm.run(*words).all.split())
    assert "saves about" in told
    assert "Hay made, dry, after what is lost in the field" in told
    page = json.loads(farm.run(*words, "--json").out)
    assert len(page["cuts"]) >= 1
    for cut in page["cuts"]:
        near = [line["why"] for line in page["next_days"]]
        assert (cut["says"] in near) is (cut["day"] < "2026-05-13")
        assert (cut["says"] in page["notes"]) is (cut["day"] >= "2026-05-13")
        assert cut["saved"]["name"] == "plan_cut_saves"
        assert cut["saved"]["key"].startswith("season.")
        assert cut["made"]["value"] > 0


def test_a_farm_that_does_not_say_how_it_makes_hay_hears_what_to_type(tmp_path: Path) -> None:
    rules = '[rules]\nworm_stay = "60 d"\nworm_rest = "1 d"\nregrazed_after = "60 d"\n'
    told = flushed(tmp_path / "farm", rules).run("season", "--days", "40", "--iterations", "100").all
    assert "No hay cut is proposed" in " ".join(told.split())
    assert "(hay_pass)" in told
    assert "What if they are cut" not in told
    assert "saves about" not in told


LAST_OF_MAY = "2026-05-31T07:30-04:00"


def test_cuts_of_the_next_week_stand_among_its_moves_on_page_and_paper(tmp_path: Path) -> None:
    farm = flushed(tmp_path / "farm", MAKES_HAY)
    farm.run("season", "--days", "40", "--iterations", "100", "--keep")
    picture = look(farm.folder, datetime.fromisoformat(LAST_OF_MAY), horizon_d=45)
    page = season_page(picture)
    words = "Cut Hazel about 6 Jun:"
    assert [line.why.startswith(words) for line in page.next_days if not line.says].count(True) == 1
    web = Served(farm.folder, now=LAST_OF_MAY).here().get("/season", headers={"accept": "text/html"}).text
    first_week = re.sub("<[^>]+>", "", web.split('id="moves"')[1].split("</section>")[0])
    sheet = season_sheet(picture, judged_plan(picture), page)
    assert first_week.count(words) == re.sub("<[^>]+>", "", web).count(words) == 1
    assert [words in line for line in sheet.moves].count(True) == 1
    assert not any(words in line for line in sheet.cuts)
    assert any("Cut Top about 7 Jun" in line for line in sheet.cuts)


def test_moves_and_cuts_of_the_next_week_stand_in_order_of_day(
    farm: SmallFarm, capsys: pytest.CaptureFixture[str]
) -> None:
    now = datetime.fromisoformat(LATE)
    picture = look(farm.folder, now, horizon_d=15)
    none = Figure("plan_hay_made", 1.0, "kg")
    days = [(now + timedelta(days=d)).date() for d in (0, 3, 7)]
    cuts = tuple(PlannedCut("4", day, day, f"Cut on {day}.", none, none, none) for day in days)
    moves = tuple(NextMove("ewes", now + timedelta(days=d), "6", f"Move {d}.", "So.") for d in (0, 2, 3, 4))
    nothing = Figure("plan_total", None, "USD")
    season = Season(now, (), (), nothing, nothing, (), now, now, 1, 0, cuts=cuts)
    lines = _next_days(picture, moves, season)
    told = [line.says or line.why for line in lines]
    assert told == ["Move 0.", f"Cut on {days[0]}.", "Move 2.", "Move 3.", f"Cut on {days[1]}.", "Move 4."]
    page = replace(season_page(picture), next_days=lines)
    put_season(page)
    out = capsys.readouterr().out
    order = [out.index(words) for words in ("NEXT 7 DAYS", *told)]
    assert order == sorted(order)


def test_winter_grass_and_promised_hay_are_told_as_kept_and_not_as_open(tmp_path: Path) -> None:
    kept = promised("stockpile", "Winter grass", "2026-05-26", "2026-11-01", 'paddocks = ["7"]')
    kept += promised("hay", "Hay for the barn", "2026-05-01", "2026-05-12", 'paddocks = ["8"]')
    farm = flushed(tmp_path / "farm", f'[rules]\nworm_stay = "60 d"\nregrazed_after = "60 d"\n{kept}')
    told = " ".join(farm.run("season", "--days", "30", "--iterations", "0").all.split())
    winter = "Not grazed in this plan, since it is kept for winter from 26 May (Winter grass): Hazel."
    hay = "Not grazed in this plan, and shut for promised hay until 11 May (Hay for the barn): Top."
    assert winter in told
    assert hay in told
    for end in ("is never grazed in this plan. No hay cut is proposed", "though open"):
        found = re.findall(rf"[^.]*{end}[^.]*\.", told)
        assert not any("Hazel" in words or "Top" in words for words in found)


def test_cuts_that_were_kept_are_planned_entries_and_the_page_tells_those(tmp_path: Path) -> None:
    farm = flushed(tmp_path / "farm", MAKES_HAY)
    words = ("season", "--days", "40", "--iterations", "100")
    made = json.loads(farm.run(*words, "--keep", "--json").out)
    days = {(cut["paddock"], cut["day"]) for cut in made["cuts"]}
    written = [e for e in farm.events() if isinstance(e.body, Cut)]
    assert {(e.subject, e.observed.start.date().isoformat()) for e in written} == days
    assert all(e.planned for e in written)
    again = json.loads(farm.run(*words, "--keep", "--json").out)
    stand = [e for e in planned(farm.events()) if isinstance(e.body, Cut)]
    now = {(cut["paddock"], cut["day"]) for cut in again["cuts"]}
    assert {(e.subject, e.observed.start.date().isoformat()) for e in stand} == now


def test_a_plan_of_many_days_is_told_and_made_again_over_all_of_them(tmp_path: Path) -> None:
    farm = flushed(tmp_path / "farm", MAKES_HAY)
    made = json.loads(farm.run("season", "--days", "80", "--iterations", "100", "--keep", "--json").out)
    later = datetime.fromisoformat("2026-05-06T07:40-04:00")
    picture = look(farm.folder, later)
    told = season_page(picture)
    assert made["last"] == told.last.isoformat() == "2026-07-24"
    assert [(cut.paddock, cut.day.isoformat()) for cut in told.cuts] == [
        (cut["paddock"], cut["day"]) for cut in made["cuts"]
    ]
    assert max(cut["day"] for cut in made["cuts"]) > "2026-06-20"
    assert not any("is dropped" in note for note in told.notes)
    stays = [(stay["place"], stay["begin"][:10]) for mob in made["mobs"] for stay in mob["stays"]]
    assert [(s.place, s.begin.date().isoformat()) for mob in told.mobs for s in mob.stays] == stays
    assert told.total is not None
    assert told.total.value == pytest.approx(made["total"]["value"], rel=0.05)
    sheet = season_sheet(picture, judged_plan(picture), told)
    assert [bead.short for string in sheet.strings for bead in string.beads][-1] == stays[-1][0]
    again = json.loads(farm.run("season", "--iterations", "0", "--json", now="2026-05-13T07:30-04:00").out)
    assert again["last"] == made["last"]


def promised(kind: str, what: str, first: str, end: str, rest: str = "") -> str:
    """Return a promise as it is typed."""
    return f'[[promises]]\nkind = "{kind}"\nwhat = "{what}"\nfrom = {first}\nto = {end}\n{rest}\n'


LEASE = promised("lease", "Lease of the top", "2022-01-01", "2031-01-01", 'paddocks = ["8"]')
AWAY = promised("away", "Away", "2026-05-10", "2026-05-12")


def test_a_promise_over_a_new_year_is_told_with_its_years(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm", f"{FARM}\n{LEASE}{AWAY}")
    told = farm.run("promise").all
    assert "Lease of the top (Top), 1 Jan 2022 to 31 Dec 2030." in told
    assert "Away, 10 May to 11 May." in told
    assert farm.run("move", "ewes", "8", "--at", "2026-05-07 12:00", "--planned").code == 0
    page = Served(farm.folder).here().get("/season", headers={"accept": "application/json"}).json()
    assert [one["days"] for one in page["sheet"]["promises"][:2]] == [
        "1 Jan 2022 to 31 Dec 2030",
        "10 May to 11 May",
    ]


def price_farm(farm: SmallFarm, prices: str) -> None:
    """Type prices of the plan into the farm."""
    text, _ = FARM.split("[prices]\n")
    (farm.folder / "farm.toml").write_text(f"{text}[prices]\n{prices}", encoding="utf-8")


def test_prices_may_be_typed_as_the_page_prints_them_and_change_nothing(farm: SmallFarm) -> None:
    told = " ".join(farm.run("season", *QUICK).all.split())
    printed = re.findall(r"(\$[\d.]+(?:/\w+)+) \((\w+)\)", told.split("These prices are guesses")[1])
    assert {"walk": "$9.66/mi", "left_short": "$0.068/lb", "hay": "$0.14/lb"}.items() <= {
        name: text for text, name in printed
    }.items()
    price_farm(farm, "".join(f'{name} = "{text}"\n' for text, name in printed))
    again = " ".join(farm.run("season", *QUICK).all.split())
    assert "These prices are guesses" not in again
    own = again.split("Your own prices:")[1]
    assert [name for text, name in printed if f"{text} ({name})" not in own] == []


def test_a_bare_price_is_told_with_what_it_is_taken_to_be_by(farm: SmallFarm) -> None:
    price_farm(farm, 'left_short = "$0.20"\nwalk = "$5/mi"\n')
    told = " ".join(farm.run("season", *QUICK).all.split()).split("Your own prices:")[1]
    assert "$0.20/kg (left_short)" in told
    assert "$5/mi (walk)" in told
    made = json.loads(farm.run("season", *QUICK, "--json").out)
    walk = next(price for price in made["prices"] if price["about"] == "walk")
    assert walk["value"] == pytest.approx(5 / 1.609344)


TWICE = promised("away", "Away again", "2026-05-12", "2026-05-14") + promised(
    "away", "Away", "2026-05-08", "2026-05-10"
)


def test_days_away_are_told_in_order_and_by_their_last_day(farm: SmallFarm) -> None:
    (farm.folder / "farm.toml").write_text(f"{FARM}\n{TWICE}", encoding="utf-8")
    told = " ".join(farm.run("season", *QUICK, "--what-if").all.split())
    assert "on the days away, 8 May to 9 May and 12 May to 13 May" in told


def test_who_must_be_out_before_the_next_move_is_told_the_limit_that_is_never_broken(farm: SmallFarm) -> None:
    farm.run("promise", "shut", "7 May to 30 May", "4", "6", "7", "8", "--what", "Test", now=LATE)
    told = " ".join(farm.run("season", *QUICK, now=LATE).all.split())
    moves = told.split("NEXT 7 DAYS")[1].split("!")[0]
    assert "Now: Ewes go from Gate to Yard. Test, 7 May to 30 May." in moves
    assert moves.count("Test, 7 May to 30 May.") == moves.count("Now: ")


def test_one_planned_move_is_told_as_one() -> None:
    assert "1 planned move." in say("cli.season.kept", count=1)
    assert "0 planned moves." in say("cli.season.kept", count=0)


def test_prices_in_another_currency_are_told_as_left_out_beside_the_costs(tmp_path: Path) -> None:
    mine = FARM.replace('hay = "$60"', 'hay = "60 EUR"\nmove = "5 EUR"\nyard_day = "20 USD"')
    farm = small_farm(tmp_path / "farm", mine)
    farm.run("walk", "6", "7 in")
    told = farm.run("season", "--days", "5", "--iterations", "0").all
    words = "Left out here, since this plan reckons in USD: hay 60 EUR and move 5 EUR."
    assert words in told
    assert "yard_day 20 USD" not in told


def test_more_moves_on_the_first_day_than_hands_make_are_told(farm: SmallFarm) -> None:
    now = datetime.fromisoformat(LATE)
    picture = look(farm.folder, now, horizon_d=15)
    moves = tuple(NextMove(name, now, "6", "Now.", "So.") for name in ("ewes", "rams", "hens"))
    (told,) = _many_at_once(picture, moves)
    assert "6 May, 3 moves instead of 2 (moves_a_day)" in told
    assert [*_many_at_once(picture, moves[:2])] == []
