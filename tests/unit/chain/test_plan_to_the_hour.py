"""A plan made at any minute moves animals at full hours; ground that shuts within a stay is told."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

from browseline.events import Moved
from browseline.record.fold import planned
from tests.unit.cli_farm import SmallFarm, small_farm

AT = "2026-05-06T07:37-04:00"
ZONE = ZoneInfo("America/New_York")


def walked(folder: Path) -> SmallFarm:
    """Return a farm where the ewes' grass is short and all else is ready."""
    farm = small_farm(folder)
    for paddock, inches in (("4", 9), ("6", 5), ("7", 8), ("8", 9)):
        assert farm.run("walk", paddock, f"{inches} in", now=AT).code == 0
    return farm


def test_moves_of_later_days_are_planned_at_a_full_hour(tmp_path: Path) -> None:
    farm = walked(tmp_path / "farm")
    assert farm.run("season", "--days", "20", "--iterations", "300", "--keep", now=AT).code == 0
    moves = [e for e in planned(farm.events()) if isinstance(e.body, Moved)]
    ahead = [event.observed.start.astimezone(ZONE) for event in moves]
    later = [at for at in ahead if at.date().isoformat() > "2026-05-06"]
    assert later
    assert {(at.hour, at.minute, at.second) for at in later} == {(7, 0, 0)}


def test_a_move_onto_ground_that_shuts_before_they_leave_is_not_ordered(tmp_path: Path) -> None:
    """To Top on the 7th, on to Cherry on the 11th; Top is shut from the 9th."""
    farm = walked(tmp_path / "farm")
    for to, day in (("8", 7), ("4", 11)):
        assert farm.run("move", "ewes", to, "--at", f"2026-05-{day:02d} 12:00", "--planned").code == 0
    assert farm.run("promise", "shut", "12-13 May", "8", "--what", "Spray").code == 0
    told = farm.run("today").all
    assert "By your plan: Top, Thu 12:00." in told
    assert "That place is shut" not in told
    assert farm.run("promise", "shut", "9-10 May", "8", "--what", "Spray").code == 0
    told = farm.run("today").all
    assert (
        "That place is shut from 9 May, before they are to leave it (Promise): plan the season again." in told
    )
    sheet = farm.run("papers", "relief", "--days", "7", "--text").all
    assert "MOVE Thu 7 May" not in sheet
    assert (
        "Thu 12:00, Ewes to Top (that place is shut from 9 May, before they are to leave it, Promise)"
        in sheet
    )
    assert "MOVE Mon 11 May 12:00 Ewes 6 Gate > 4" in sheet
