"""P14 as a paper: the plan for a planner's office, to the pound, with blanks as blanks and gaps as gaps."""

from __future__ import annotations

import io
import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from pypdf import PdfReader
from typer.testing import CliRunner

from browseline.chain import Picture, look
from browseline.chain.keys import figures_of
from browseline.chain.why import open_figure
from browseline.cli.demo import copy_example, example
from browseline.cli.group import app
from browseline.papers.planner_form import ORDER, PlannerPlan
from browseline.papers.planner_print import planner_data, planner_of, planner_text
from browseline.papers.sheets import pdf
from tests.acceptance.test_p14_balance import kept, year
from tests.loose import loose

THREE_SEASONS = (date(2024, 1, 1), date(2027, 1, 1))
THEN, LATER = "2026-04-25T06:00-04:00", "2026-06-01T06:00-04:00"


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    return kept(tmp_path_factory.mktemp("review"))


@pytest.fixture(scope="module")
def plan(picture: Picture) -> PlannerPlan:
    return planner_of(picture, None, THREE_SEASONS)


def cells(plan: PlannerPlan, key: str) -> list[tuple[str, ...]]:
    return [tuple(str(cell) for cell in row) for row in plan.section(key).rows]


def test_sections_come_in_the_order_of_a_review(plan: PlannerPlan) -> None:
    assert tuple(one.key for one in plan.sections) == ORDER
    assert all(one.lines or one.rows for one in plan.sections)


def test_p14_the_balance_is_that_of_the_case_to_the_pound(tmp_path: Path) -> None:
    """34 ac × 4,800 lb × 45 % against 36,744 + 20,736 + 1,358 lb (SCENARIOS P14)."""
    made = planner_of(year(tmp_path), None)
    told = "\n".join(made.section("balance").lines)
    assert "Spare: 14,602 lb (20 % of the supply)." in told
    assert "Supply: 73,440 lb" in told
    assert "Need: 58,838 lb" in told
    assert {row[1]: row[3] for row in cells(made, "animals")}["lambs"] == "20,736 lb"
    supplies = [float(row[5].removesuffix(" lb").replace(",", "")) for row in cells(made, "land")]
    assert sum(supplies) == pytest.approx(73_440, abs=6)
    assert "the oak strip along 11 and 12" in told


def test_p14_the_out_date_is_missing_twice_and_nothing_fills_it(plan: PlannerPlan) -> None:
    missing = [row for row in cells(plan, "records") if row[3] == "out date not recorded"]
    assert [row[0] for row in missing] == ["goats 2024", "goats 2025"]
    assert all(row[4] == "head not recorded" or "not recorded" in row[4] for row in missing)


def test_s7_what_is_not_supplied_is_a_blank_and_is_listed_on_page_1(plan: PlannerPlan) -> None:
    assert "water flow of each paddock" in plan.blanks
    assert {row[3] for row in cells(plan, "water")} == {"____ (not supplied)"}
    first = PdfReader(io.BytesIO(pdf("planner-1", planner_data(plan)))).pages[0].extract_text()
    for blank in plan.blanks:
        assert re.sub(r"\s", "", blank) in re.sub(r"\s", "", first), blank
    text = planner_text(plan)
    assert text.count("(not supplied)") >= len(plan.blanks)
    assert "compliant" not in text
    assert "confirm with the office" in text


def test_a_blank_is_gone_once_it_is_supplied(tmp_path: Path, plan: PlannerPlan) -> None:
    assert "who owns the land, and until when it is held" in plan.blanks
    days = {"from": date(2020, 1, 1), "to": date(2031, 1, 1)}
    made = with_lease(year(tmp_path), {"id": "far", "kind": "lease", "what": "far field"} | days)
    assert "who owns the land, and until when it is held" not in made.blanks
    assert "Lease: far field, the whole farm, 1 Jan 2020 to 31 Dec 2030." in made.section("purpose").lines


def with_lease(before: Picture, lease: dict[str, Any]) -> PlannerPlan:
    """Return the plan of a farm after a lease was typed."""
    path = before.folder / "farm.toml"
    held = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    held["promises"].append(lease)
    path.write_text(tomlkit.dumps(held), encoding="utf-8")
    return planner_of(look(before.folder, before.now), None)


def test_contingency_and_monitoring_are_there(plan: PlannerPlan) -> None:
    assert "____ (not supplied): when stock is sold or moved in a drought, and where to" in (
        plan.section("contingency").lines
    )
    rows = {row[0]: row[1:] for row in cells(plan, "monitoring")}
    assert rows["1"] == ("4.0 in", "24 Apr 2026", "owner")
    assert rows["2"] == ("____ (not supplied)", "", "")


def test_every_number_of_the_plan_opens(picture: Picture, plan: PlannerPlan) -> None:
    lines = loose(picture, plan)
    names = re.compile(r": '(?:1[0-2]|[1-9]|20\d\d)' in ")
    assert [line for line in lines if not names.search(line)] == []
    for key, figure in figures_of(plan).items():
        opened = open_figure(picture, key, figure)
        assert opened.formula or opened.cited or opened.typed, key


def test_the_paper_is_kept_and_prints_again_the_same(tmp_path: Path) -> None:
    folder = kept(tmp_path / "farm").folder
    ran(folder, THEN, "papers", "planner", "--from", "2024-01-01")
    first = {path.suffix: path.read_bytes() for path in (folder / "papers").iterdir()}
    assert set(first) == {".pdf", ".txt", ".json"}
    path = folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("4800 lb/ac", "4000 lb/ac"), encoding="utf-8")
    said = json.loads(ran(folder, LATER, "papers", "planner", "--again", "2026-04-25", "--json"))
    again = {Path(one).suffix: Path(one).read_bytes() for one in said["paths"]}
    assert (again[".txt"], again[".json"]) == (first[".txt"], first[".json"])
    ran(folder, LATER, "papers", "planner", "--out", str(tmp_path / "new"))
    (new,) = (tmp_path / "new").glob("*.txt")
    assert b"73,440" in first[".txt"]
    assert b"73,440" not in new.read_bytes()
    assert b"61,200 lb" in new.read_bytes()
    assert "34 ac" in ran(folder, LATER, "why", "planner.area_together")


def ran(folder: Path, now: str, *words: str) -> str:
    done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", now])
    assert done.exit_code == 0, done.output
    return done.output


def test_rows_that_are_only_planned_stand_as_they_lie_on_the_map(tmp_path: Path) -> None:
    """24 ft is typed; an alley of four passes of 12 ft with 4 ft clear on both sides is 56 ft."""
    now = copy_example(example(), tmp_path / "farm")
    made = planner_of(look(tmp_path / "farm", now), None)
    (row,) = [row for row in cells(made, "trees") if row[0] == "Top persimmons"]
    assert row[3] == "84 places on the map"
    assert row[4] == f"24 ft in the row, {4 * 12 + 2 * 4} ft between rows"
    assert not any("persimmons" in blank for blank in made.blanks)


def test_the_map_tells_north_scale_and_acres_and_no_place_on_earth(tmp_path: Path) -> None:
    now = copy_example(example(), tmp_path / "farm")
    made = planner_of(look(tmp_path / "farm", now), None)
    assert "North" in made.drawing
    assert "500 ft" in made.drawing
    assert "1.8 ac" in made.drawing
    place = look(tmp_path / "farm", now).farm.place
    assert place is not None
    for degrees in (place.latitude_deg, place.longitude_deg):
        assert f"{degrees:.2f}" not in planner_text(made) + made.drawing
