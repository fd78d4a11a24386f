"""A mob that must be out by now, a planned move let pass, plants that were found: on every page and paper."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from icalendar import Calendar

from browseline.chain import look
from browseline.chain.season_page import season_page
from browseline.papers.season_view import season_view
from tests.unit.cli_farm import FARM, NOW, SmallFarm, small_farm
from tests.web_farm import Served

LATE = "2026-05-07T14:00-04:00"


def planned(folder: Path, text: str = FARM, *, to: str = "8") -> SmallFarm:
    """Return a farm whose ewes are to go to a paddock on Thursday noon and on to Cherry on Monday."""
    farm = small_farm(folder, text)
    for paddock, inches in (("4", 9), ("6", 7), ("7", 8), ("8", 9)):
        assert farm.run("walk", paddock, f"{inches} in").code == 0
    for place, day in ((to, "07"), ("4", "11")):
        assert farm.run("move", "ewes", place, "--at", f"2026-05-{day} 12:00", "--planned").code == 0
    return farm


def sheet(farm: SmallFarm, now: str = NOW) -> str:
    """Return the text of the relief sheet of a week."""
    return farm.run("papers", "relief", "--days", "7", "--text", now=now).all


# ---------------------------------------------------------------- a planned move that was let pass


def test_a_move_let_pass_stays_the_first_order_of_sheet_calendar_and_season(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    assert "MOVE Thu 7 May 12:00 Ewes 6 Gate > 8 Top (due since then, not entered)" in sheet(farm, LATE)
    assert "MOVE Mon 11 May 12:00 Ewes 8 Top > 4 Cherry" in sheet(farm, LATE)
    page = season_page(look(farm.folder, datetime.fromisoformat(LATE)))
    assert page.next_days[0].says == "Due since Thu 12:00, not entered: Ewes go from Gate to Top."
    assert page.next_days[1].says == "Mon 12:00: Ewes go from Top to Cherry."
    assert [stay.name for stay in page.mobs[0].stays][:2] == ["Top", "Cherry"]
    ids = {at: uids(farm, at) for at in (NOW, LATE)}
    assert ids[NOW] == ids[LATE]
    assert len(ids[NOW]) == 2


def uids(farm: SmallFarm, now: str) -> dict[str, str]:
    """Return what each move of the calendar says, by its mark."""
    assert farm.run("papers", "calendar", now=now).code == 0
    (path,) = (farm.folder / "papers").glob(f"calendar {now[:10]}.ics")
    found = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    return {str(e["uid"]): str(e["summary"]) for e in found if str(e["uid"]).startswith("move-")}


def test_a_plan_kept_again_takes_a_move_let_pass_in_its_stead(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    assert farm.run("season", "--days", "15", "--iterations", "200", "--keep", now=LATE).code == 0
    assert "not entered" not in farm.run("today", now=LATE).all.split("By the limits")[0]


# ---------------------------------------------------------------- out by now


def test_plants_that_were_found_shut_the_ground_until_a_look_finds_it_clear(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm", to="6")
    said = farm.run("look", "plants", "6", "--clear", "no").all
    assert "Gate is shut from now on." in said
    assert "Ewes are in Gate: take them out now." in said
    assert "One planned stay is on Gate while it is shut." in said
    told = farm.run("today").all
    assert "Ewes: in Gate, which is shut: poisonous plants found." in told
    assert "Take them out now, and keep them out until the reason is gone." in told
    first = [line for line in sheet(farm).split("MOVE ") if "Ewes 6 Gate >" in line]
    assert first[0].startswith("Wed 6 May by 7:30 Ewes 6 Gate >")
    assert "out now, wait for no other move: Shut; ring the owner" in first[0]
    assert farm.run("look", "plants", "6", "--clear", "yes", now=LATE).code == 0
    told = farm.run("today", now=LATE).all
    assert "which is shut" not in told
    assert "Take them out now" not in told


def test_who_must_be_out_by_now_waits_for_no_planned_move_and_heads_the_page(tmp_path: Path) -> None:
    """The rams' softer limit has passed for longer than the ewes stand in ground that was shut."""
    farm = planned(tmp_path / "farm", FARM + RAMS)
    assert farm.run("shut", "6", "--because", "limb down").code == 0
    told = farm.run("today").all
    assert "By your plan: Top, Thu 12:00. Do not wait for it: Shut, now." in told
    page = Served(farm.folder).here().get("/today").text
    assert page.index("Ewes") < page.index("Rams")
    assert "/enter/move?mob=ewes&amp;to=8" not in page.split("Elsewhere")[0]
    season = season_page(look(farm.folder, datetime.fromisoformat(NOW)))
    assert season.sentences[0].startswith("Ewes must be out of Gate now, before any planned move: ")


RAMS = """
[[mobs]]
id = "rams"
name = "Rams"
at = "7"
since = "2026-04-20 07:00"

[[mobs.lines]]
kind = "sheep"
class = "ram"
head = 2
"""


def test_ground_that_a_mob_is_kept_out_of_for_good_is_never_ordered(tmp_path: Path) -> None:
    text = FARM.replace('since = "2026-05-04 07:00"\n', 'since = "2026-05-04 07:00"\nkeep_out = ["8"]\n')
    told = sheet(planned(tmp_path / "farm", text))
    assert "MOVE Thu 7 May 12:00" not in told
    assert "Thu 12:00, Ewes to Top (that place is shut then, Shut)" in told


def test_shutting_ground_tells_the_planned_stays_on_it(tmp_path: Path) -> None:
    farm = planned(tmp_path / "farm")
    said = farm.run("shut", "8", "--because", "fence down", "--until", "7 May").all
    assert "planned stay" not in said
    said = farm.run("shut", "8", "--because", "fence down", "--until", "mended").all
    assert "One planned stay is on Top while it is shut. Plan the season again" in said


def test_a_move_on_a_day_half_a_year_back_is_asked_about(tmp_path: Path) -> None:
    """Typed on 6 May: the last 25 Jun lies 315 days back, the last 1 May five."""
    farm = planned(tmp_path / "farm")
    said = farm.run("move", "ewes", "4", "--at", "25 Jun", typed="n\n").all
    assert "That would be 25 Jun 2025, 31" in said
    assert "If the coming one is meant, type it again with --planned" in said
    assert all(event.observed.start.year == 2026 for event in farm.events())
    assert farm.run("move", "ewes", "4", "--at", "25 Jun", "--planned").code == 0
    assert "That would be" not in farm.run("walk", "7", "8 in", "--at", "1 May").all


# ---------------------------------------------------------------- a mob that is to come


def test_a_mob_that_is_to_come_stands_in_plan_sheet_and_calendar(tmp_path: Path) -> None:
    """Lent from the 9th to the 20th: its planned stays end with its days here, under its own name."""
    farm = small_farm(tmp_path / "farm")
    for paddock, inches in (("4", 9), ("6", 7), ("7", 8), ("8", 9)):
        assert farm.run("walk", paddock, f"{inches} in").code == 0
    lent = ("borrow", "10", "steers", "until", "20 May", "--planned", "--at", "9 May", "--weight", "700 lb")
    assert farm.run(*lent, "--intake", "16 lb").code == 0
    assert "Sat 9 May 12:00 Steers away > ____" in " ".join(sheet(farm).split()), "before any plan is kept"
    assert farm.run("season", "--days", "30", "--iterations", "300", "--keep").code == 0
    page = season_page(look(farm.folder, datetime.fromisoformat(NOW)))
    assert page.sentences[0] == "The plan in force, and what it costs from now on."
    (steers,) = [mob.stays for mob in page.mobs if mob.name == "Steers"]
    assert any(stay.name in ("Cherry", "Gate", "Hazel", "Top", "Yard") for stay in steers)
    view = season_view(look(farm.folder, datetime.fromisoformat(NOW)))
    (string,) = [one for one in view.sheet.strings if one.mob == "Steers"]
    assert string.heads == "10 steers"
    assert string.beads[0].begin.date() >= date(2026, 5, 9)
    assert string.beads[-1].end.date() <= date(2026, 5, 20)
    assert len(view.drawn.strings) == len(view.sheet.strings)
    assert any("Steers away >" in line for line in sheet(farm).split("MOVE "))
    assert any(said.startswith("Move Steers: away to ") for said in uids(farm, NOW).values())
