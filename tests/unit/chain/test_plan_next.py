"""Today tells where the plan in force sends a mob, before where the limits alone would, and offers it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from browseline.chain import look
from browseline.chain.season_page import season_page
from tests.unit.cli_farm import FARM, NOW, SmallFarm, small_farm
from tests.web_farm import Served


def planned(folder: Path, *, to: str = "8", at: str = "2026-05-07 12:00") -> SmallFarm:
    """Return a farm where two paddocks are as high and a move of the ewes to one is planned."""
    farm = small_farm(folder)
    for paddock, inches in (("4", 9), ("6", 7), ("8", 8)):
        assert farm.run("walk", paddock, f"{inches} in").code == 0
    assert farm.run("move", "ewes", to, "--at", at, "--planned").code == 0
    return farm


def test_today_tells_the_plan_and_what_the_limits_alone_say(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    told = " ".join(farm.run("today").all.split())
    assert "By your plan: Top, Thu 12:00. By the limits alone: Cherry (9 in" in told
    assert "Next:" not in told
    assert farm.run("undo").code == 0
    told = " ".join(farm.run("today").all.split())
    assert "By your plan" not in told
    assert "Next: Cherry (9 in" in told


def test_the_page_offers_the_planned_move_when_it_is_near(tmp_path: Path) -> None:
    near = planned(tmp_path / "near")
    page = Served(near.folder).here().get("/today").text
    assert "By your plan: Top, Thu 12:00." in page
    assert "/enter/move?mob=ewes&amp;to=8" in page
    assert "/enter/move?mob=ewes&amp;to=4" not in page
    far = planned(tmp_path / "far", at="2026-05-12 12:00")
    page = Served(far.folder).here().get("/today").text
    assert "By your plan: Top, Tue 12:00." in page
    assert "/enter/move?mob=ewes&amp;to=4" in page


def test_a_planned_place_that_is_shut_then_says_so_and_is_not_offered(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    assert farm.run("shut", "8", "--because", "gate broken").code == 0
    page = Served(farm.folder).here().get("/today").text
    assert "That place is shut then (Shut): plan the season again." in page
    assert "/enter/move?mob=ewes&amp;to=8" not in page


def test_the_yard_is_told_by_its_name_and_never_offered(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="yard")
    page = Served(farm.folder).here().get("/today").text
    assert "By your plan: Yard, Thu 12:00." in page
    assert "to=yard" not in page


def test_a_planned_stay_where_they_stand_is_no_move(tmp_path: Path) -> None:
    """A plan kept just after a move begins with the ground on which the mob stands."""
    farm = planned(tmp_path / "farm", to="6", at="2026-05-06 07:30")
    assert "By your plan" not in farm.run("today").all
    assert farm.run("move", "ewes", "8", "--at", "2026-05-08 12:00", "--planned").code == 0
    assert "By your plan: Top, Fri 12:00." in farm.run("today").all


def test_a_move_that_is_due_is_told_as_due_now(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", at="2026-05-06 07:30")
    assert "By your plan: Top, now." in farm.run("today").all


def test_a_planned_move_on_days_away_says_so_and_is_not_offered(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    free = farm.run("promise", "away", "9-10 May")
    assert "no move is planned on them" in " ".join(free.all.split())
    kept = farm.run("promise", "away", "7-8 May")
    assert "but one planned move falls on them. Plan the season again" in " ".join(kept.all.split())
    page = Served(farm.folder).here().get("/today").text
    assert "By your plan: Top, Thu 12:00. Nobody can move animals that day: plan the season again." in page
    assert "/enter/move?mob=ewes&amp;to=8" not in page


def test_shut_ground_tells_the_planned_stays_that_it_bars(tmp_path: Path) -> None:
    """Top from the 7th, Cherry from the 10th: a stay that began before counts until they leave."""
    farm = planned(tmp_path / "farm")
    assert farm.run("move", "ewes", "4", "--at", "2026-05-10 12:00", "--planned").code == 0
    one = "One planned stay has days on this ground while it is shut. Plan the season again"
    for words, told in (
        (("hay", "8-9 May", "8"), one),
        (("shut", "10-12 May", "8"), "browseline season tells what changes."),
        (("grazing", "8-9 May", "8"), "browseline season tells what changes."),
        (("lease", "1-7 May", "8"), one),
        (("hay", "9-11 May", "4", "8"), "2 planned stays have days on this ground while it is shut"),
    ):
        said = " ".join(farm.run("promise", *words).all.split())
        assert told in said, words
        assert ("planned stay" in said) == ("planned stay" in told), words


def test_one_sentence_tells_where_plan_and_limits_agree(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="4")
    told = " ".join(farm.run("today").all.split())
    assert "By your plan: Cherry (9 in), Thu 12:00." in told
    assert "By the limits alone" not in told
    assert "By the limits alone" not in Served(farm.folder).here().get("/today").text


def test_a_planned_move_let_pass_is_told_until_it_is_made(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="4", at="2026-05-05 12:00")
    assert farm.run("move", "ewes", "8", "--at", "2026-05-08 12:00", "--planned").code == 0
    missed = "By your plan: Cherry (9 in) since Tue 12:00; that move is not entered."
    assert missed in " ".join(farm.run("today").all.split())
    assert "/enter/move?mob=ewes&amp;to=4" in Served(farm.folder).here().get("/today").text
    assert farm.run("move", "ewes", "4").code == 0
    told = " ".join(farm.run("today").all.split())
    assert "not entered" not in told
    assert "By your plan: Top (8 in), Fri 12:00." in told


def test_a_planned_move_that_another_took_the_place_of_is_not_missed(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="8", at="2026-05-05 12:00")
    assert farm.run("move", "ewes", "4", "--at", "2026-05-05 15:00").code == 0
    assert "By your plan" not in farm.run("today").all


def test_a_plan_of_long_ago_is_not_missed(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="8", at="2026-04-20 12:00")
    assert "By your plan" not in farm.run("today").all


def test_the_phone_carries_the_plan(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    here = Served(farm.folder).here()
    carried = here.get("/pocket/table", headers={"accept": "application/json"}).json()
    assert carried["mobs"][0]["plan"] == "By your plan: Top, Thu 12:00."
    assert carried["mobs"][0]["plan_same"] is False
    agreed = Served(planned(tmp_path / "agreed", to="4").folder).here()
    carried = agreed.get("/pocket/table", headers={"accept": "application/json"}).json()
    assert carried["mobs"][0]["plan"] == "By your plan: Cherry (9 in), Thu 12:00."
    assert carried["mobs"][0]["plan_same"] is True


STEERS = """
[[mobs]]
id = "steers"
name = "Steers"
at = "8"
since = "2026-05-04 07:00"
{more}
[[mobs.lines]]
kind = "cattle"
class = "steer"
head = 6
weight = "700 lb"
intake = "16 lb/d"
"""


def two_mobs(folder: Path, more: str = "", *moves: tuple[str, str]) -> SmallFarm:
    """Return a farm with steers in Top, where the ewes are to go on Thursday, and moves of the steers."""
    farm = small_farm(folder, f"{FARM}\n{STEERS.format(more=more)}")
    for paddock, inches in (("4", 9), ("6", 7), ("7", 8), ("8", 8)):
        assert farm.run("walk", paddock, f"{inches} in").code == 0
    for mob, to, at in (("ewes", "8", "2026-05-07 12:00"), *(("steers", *move) for move in moves)):
        assert farm.run("move", mob, to, "--at", at, "--planned").code == 0
    return farm


STILL = "Steers would still be there"


def papers(farm: SmallFarm, folder: Path) -> str:
    assert farm.run("papers", "relief", "--out", str(folder)).code == 0
    return next(folder.glob("relief*.txt")).read_text("utf-8")


def test_nobody_is_ordered_into_ground_that_another_mob_has_not_left(tmp_path: Path) -> None:
    """Steers go an hour later, or not at all: the ewes' move is left out, and says why."""
    noon, later = "2026-05-07 12:00", "2026-05-07 13:00"
    free = two_mobs(tmp_path / "free", "", ("4", noon))
    assert STILL not in free.run("today").all
    assert "Ewes 6 Gate > 8 Top" in papers(free, tmp_path / "free papers")
    for name, moves in (("later", [("4", later)]), ("never", [])):
        farm = two_mobs(tmp_path / name, "", *moves)
        assert f"{STILL}: plan the season again." in " ".join(farm.run("today").all.split()), name
        sheet = papers(farm, tmp_path / f"{name} papers")
        assert STILL in sheet, name
        assert "Ewes 6 Gate > 8 Top" not in sheet, name
    shut = two_mobs(tmp_path / "shut", "", ("4", noon))
    assert shut.run("promise", "shut", "7-20 May", "4").code == 0
    assert STILL in papers(shut, tmp_path / "shut papers"), "the steers' own move cannot be made"


def test_mobs_that_run_together_change_places_or_are_gone_are_in_nobodys_way(tmp_path: Path) -> None:
    friends = two_mobs(tmp_path / "friends", 'runs_with = ["ewes"]')
    assert STILL not in friends.run("today").all
    swapped = two_mobs(tmp_path / "swapped", "", ("6", "2026-05-07 12:00"))
    assert STILL not in swapped.run("today").all
    sold = two_mobs(tmp_path / "sold")
    assert STILL in sold.run("today").all
    assert sold.run("sold", "steers", "6 steers", "--planned", "--at", "2026-05-07 09:00").code == 0
    assert STILL not in sold.run("today").all


def test_no_move_is_ordered_after_a_mob_is_sold(tmp_path: Path) -> None:
    farm = two_mobs(tmp_path / "farm", "", ("4", "2026-05-07 12:00"), ("7", "2026-05-08 12:00"))
    assert "Steers 4 Cherry > 7" in papers(farm, tmp_path / "before")
    assert farm.run("sold", "steers", "6 steers", "--planned", "--at", "2026-05-08 09:00").code == 0
    sheet = papers(farm, tmp_path / "after")
    assert "Steers 8 Top > 4" in sheet
    assert "Steers 4 Cherry > 7" not in sheet
    assert "they are not here any more then" in sheet
    assert farm.run("papers", "calendar", "--out", str(tmp_path / "after")).code == 0
    calendar = next((tmp_path / "after").glob("*.ics")).read_text("utf-8").replace("\n ", "")
    assert "SUMMARY:Move Steers: 4 Cherry to 7 Hazel" not in calendar
    assert farm.run("move", "steers", "4", "--at", "2026-05-07 12:00", now="2026-05-07T12:10-04:00").code == 0
    today = farm.run("today", now="2026-05-08T08:00-04:00").all
    assert "They are not here any more then" in " ".join(today.split())


def lines_of(farm: SmallFarm, now: str = NOW) -> str:
    """Return the firm days of Season, a line each."""
    found = season_page(look(farm.folder, datetime.fromisoformat(now)))
    return "\n".join(" ".join((one.says, one.why)) for one in found.next_days)


def test_ground_shut_until_a_later_day_bars_a_move_and_an_open_end_is_told(
    tmp_path: Path,
) -> None:
    """Whoever was to leave for it stays, so that nobody is ordered onto where it stands."""
    noon = "2026-05-07 12:00"
    dated = two_mobs(tmp_path / "dated", "", ("4", noon))
    assert dated.run("shut", "4", "--because", "gate broken", "--until-day", "20 May").code == 0
    sheet = papers(dated, tmp_path / "dated papers")
    assert STILL in sheet
    assert "8 Top > 4" not in sheet
    assert "MOVE" not in lines_of(dated)
    assert "go from" not in lines_of(dated)
    open_end = two_mobs(tmp_path / "open", "", ("4", noon))
    assert open_end.run("shut", "4", "--because", "gate broken", "--until", "mended").code == 0
    assert "It is SHUT: do not go in before it is opened." in lines_of(open_end)
    assert open_end.run("papers", "calendar", "--out", str(tmp_path)).code == 0
    calendar = next(tmp_path.glob("*.ics")).read_text("utf-8").replace("\n ", "")
    assert "to 4 Cherry (SHUT: do not go in before it is opened)" in calendar


def test_season_tells_the_moves_after_one_that_is_left_out_as_the_sheet_does(tmp_path: Path) -> None:
    """Steers stay in Top: the ewes do not go there on Thursday, and from Gate to Hazel on Saturday."""
    farm = two_mobs(tmp_path / "farm")
    assert farm.run("move", "ewes", "7", "--at", "2026-05-09 12:00", "--planned").code == 0
    assert "Ewes 6 Gate > 7" in papers(farm, tmp_path / "papers")
    assert "Sat 12:00: Ewes go from Gate to Hazel." in lines_of(farm)


def test_season_tells_an_overdue_move_from_where_the_mob_stands(tmp_path: Path) -> None:
    """That evening the gate of Cherry is still shut, and what stands in the plan is broken."""
    farm = two_mobs(tmp_path / "farm", "", ("4", "2026-05-07 12:00"), ("7", "2026-05-12 12:00"))
    assert farm.run("shut", "4", "--because", "gate broken", "--until", "mended").code == 0
    told = lines_of(farm, "2026-05-07T18:00-04:00")
    assert "not entered: Steers go from Top to Cherry. It is SHUT" in told
    assert "Steers go from Cherry to Hazel." in told


def test_a_plan_that_a_sale_on_a_day_away_breaks_says_so(tmp_path: Path) -> None:
    """Nobody brings them in on the day: that is told, not only that some rule is broken."""
    farm = two_mobs(tmp_path / "farm", "", ("4", "2026-05-07 12:00"))
    assert farm.run("promise", "away", "8-10 May").code == 0
    assert farm.run("sold", "steers", "6 steers", "--planned", "--at", "2026-05-09").code == 0
    page = season_page(look(farm.folder, datetime.fromisoformat(NOW)))
    told = [clash.says for clash in page.clashes]
    assert (
        "Steers go from the grass on 9 May, when nobody can move animals: they have to be brought in before."
        in told
    )


def test_a_planned_sale_is_told_before_its_day_wherever_the_herd_is_planned(tmp_path: Path) -> None:
    """Whoever counts on the sheet, and whoever reads the plan, knows by it that fewer will stand there."""
    farm = two_mobs(tmp_path / "farm")
    assert farm.run("sold", "steers", "2 steers", "--planned", "--at", "2026-05-08 09:00").code == 0
    told = "Planned for 8 May: 2 steers of Steers are sold."
    assert told in season_page(look(farm.folder, datetime.fromisoformat(NOW))).sentences
    assert told in papers(farm, tmp_path / "sheet")
    paper = farm.run("papers", "season", "--text", "--out", str(tmp_path / "season")).all
    assert told in " ".join(paper.split())
    assert farm.run("sold", "steers", "2 steers", "--at", "2026-05-06 06:30", "--yes").code == 0
    assert "Planned for" not in farm.run("season").all
