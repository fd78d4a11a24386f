"""The season sheet, the calendar, and issued papers that print again as they were."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import icalendar
import pypdf
import pytest

from browseline import papers, tables, words
from browseline.chain import look, picture
from browseline.chain.in_force import judged_plan, keep_plan
from browseline.chain.season_page import season_page
from browseline.cli.demo import copy_example, example
from browseline.events import Event, Forecast, Moved, Undone, When, body_of
from browseline.farm.records import Planting, Promise
from browseline.figures import Figure
from browseline.ledger.ahead import grass_ahead
from browseline.moves import PlannedStay, Season, plan
from browseline.moves.form import Firmness, PlannedCut
from browseline.papers import edition, ics, issue, reprint, season_sheet
from browseline.papers.ahead import FAR_D, ahead_from
from browseline.papers.charts import season_svg
from browseline.papers.season import by_firmness
from browseline.papers.season_print import season_data, season_text
from browseline.record.fold import fold
from browseline.record.state import Stay
from browseline.units import parse
from tests.unit.papers_farm import NOW, at, entries, entry, farm, seen

DROP = date(2026, 9, 25)
DAYS = parse("120 d", "time")
ROWS = tuple(Planting(f"w{n}", "Walnut", "walnut_persian", n, first_drop=DROP, interval=DAYS) for n in "567")
HAY = Promise("h", "hay", "Hay cut", date(2026, 5, 20), date(2026, 6, 16), ("12",))


def planned(*stays: tuple[str, datetime, datetime, Firmness]) -> Season:
    none = Figure("plan", 0.0, "USD")
    told = tuple(
        PlannedStay(
            Stay("ewes", place, When.at(a), When.at(b), planned=True), firm, "worms", "four days are up"
        )
        for place, a, b, firm in stays
    )
    return Season(NOW, told, (), none, none, (), NOW + timedelta(days=7), NOW + timedelta(days=14), 1, 1)


PLAN = planned(
    ("6", at(5, 7), at(9, 6), "firm"),
    ("8", at(9, 6), at(13, 6), "firm"), ("9", at(13, 6), at(18, 6), "likely"),
    ("10", at(18, 6), at(24, 6), "likely"), ("11", at(24, 6), at(30, 6), "outline"),
)  # fmt: skip


def walked_only() -> list[Event]:
    return [e for e in entries() if not e.planned]


# -- the sheet ---------------------------------------------------------------------------------


def test_a_bead_a_stay() -> None:
    events = [*walked_only(), entry(Moved("5"), "ewes", at(6, 18))]
    (string,) = season_sheet(seen(events=events), PLAN).strings
    assert [(b.place, b.state) for b in string.beads] == [
        ("6", "done"), ("5", "done"), ("6", "firm"), ("8", "firm"), ("9", "likely"),
        ("10", "likely"), ("11", "outline"),
    ]  # fmt: skip
    assert [b.days for b in string.beads][3:] == ["4", "5", "6", "6"]
    assert string.beads[3].reason == "four days are up"


def test_the_sheet_says_what_lost_to_each_stay_that_is_not_outline_yet() -> None:
    told = tuple(replace(s, runner_up="7", lost=f"7 costs $3 more than {s.stay.place}.") for s in PLAN.stays)
    plan, now_there = replace(PLAN, stays=told), seen(events=walked_only())
    (string,) = season_data(season_sheet(now_there, plan, season_page(now_there, plan)))["strings"]
    whys = {row[0]: row[-1] for row in string["rows"] if "7 costs" in row[-1] or row[0] == "11"}
    assert set(whys) == {"6", "8", "9", "10", "11"}
    assert "Next best 7 costs $3 more than 9." in whys["9"].replace("\u200b", "")
    assert "7 costs" not in whys["11"]


def test_a_planned_move_in_the_record_comes_before_the_season() -> None:
    (string,) = season_sheet(seen(), PLAN).strings
    assert [(b.place, b.state) for b in string.beads] == [
        ("6", "done"),
        ("6", "firm"),
        ("8", "firm"),
        ("9", "firm"),
    ]
    assert string.beads[-1].ends == "not planned"


def test_a_planned_move_that_cannot_be_made_is_no_bead_and_no_date_but_told() -> None:
    away = Promise("a", "away", "Away", date(2026, 5, 9), date(2026, 5, 11))
    told = seen(farm(promises=(away,)))
    page = season_page(told)
    sheet = season_sheet(told, judged_plan(told), page)
    (string,) = sheet.strings
    assert [(b.place, b.begin.day) for b in string.beads if b.state != "done"] == [("6", 8), ("9", 11)]
    out = next(line for line in sheet.moves if "Ewes to 8" in line)
    assert out.startswith("Plan the season again: browseline season --keep.")
    assert [move.says for move in page.moves] == ["Mon 8:00: Ewes go from 6 to 9."], (
        "as the sheet and the calendar"
    )
    assert (page.moves_say, page.staying) == ("", ())
    assert out in page.sentences
    found, again = events_of(ics(told)), "Plan the season again: browseline season --keep"
    assert [summary for summary in found if summary.startswith("Move")] == ["Move Ewes: 6 to 9"]
    assert "Ewes to 8" in str(found[again]["description"])
    assert again not in events_of(ics(seen()))


def test_the_stay_in_force_says_why_it_ends() -> None:
    """The ewes leave 6 on 9 May at 6:00; the 322 lb above 4 in last 0.9 d from 8 May at 6:00, by 360 lb/d."""
    (string,) = season_sheet(seen()).strings
    assert string.beads[1].state == "firm"
    assert string.beads[1].reason.startswith("Grass: 4.8 in now, leave 4 in: 322 lb to eat at 360 lb/d")
    assert string.beads[0].reason == ""


def test_a_mob_that_the_plan_leaves_in_place_has_a_bead_ahead_and_what_bites_it_first() -> None:
    two = farm()
    line = replace(two.mobs[0].lines[0], head=10)
    more = replace(two.mobs[0], id="rams", name="Rams", at="9", lines=(line,))
    two = replace(two, mobs=(*two.mobs, more))
    rams = next(s for s in season_sheet(seen(two)).strings if s.mob == "Rams")
    assert [(b.place, b.state, b.ends) for b in rams.beads][-1] == ("9", "firm", "not planned")
    assert "bites first" in rams.beads[-1].reason
    unplanned = next(s for s in season_sheet(seen(two, walked_only())).strings if s.mob == "Rams")
    assert [b.state for b in unplanned.beads] == ["done"]


def test_grass_ahead_drops_on_the_shut_day() -> None:
    """P8: the walnut paddocks, 6 of 34 acres, leave the count on 28 May; before and after, a day a day."""
    now_there = seen(farm(plantings=ROWS), walked_only())
    days = {a.day: a.still_d for a in ahead_from(now_there.scene)}
    assert days[now_there.today] == pytest.approx(grass_ahead(now_there.scene).still.value)  # type: ignore[union-attr]
    assert days[date(2026, 5, 9)] == pytest.approx(days[date(2026, 5, 8)] - 1)
    assert days[date(2026, 5, 29)] == pytest.approx(days[date(2026, 5, 28)] - 1)
    # 6 ac x 4 in above the height to leave x 275 lb/ac/in x 0.70, over 60 x 4.4 + 96 x 1.0 lb/d,
    # less what the ewes ate in 6 since the height was read, 46 hours ago
    assert days[date(2026, 5, 27)] - 1 - days[date(2026, 5, 28)] == pytest.approx(
        6 * 4 * 275 * 0.7 / 360 - 46 / 24, rel=1e-3
    )


def test_a_hay_cut_stands_on_the_sheet_as_text_and_as_a_page() -> None:
    kg, usd = Figure("plan_hay_made", 1500.0, "kg"), Figure("plan_cut_saves", 265.0, "USD")
    says = "Cut 9 about 12 Jun: about 5 bales, saves about $265."
    cut = PlannedCut("9", date(2026, 6, 12), date(2026, 6, 16), says, kg, usd, usd)
    sheet = season_sheet(seen(events=walked_only()), replace(PLAN, cuts=(cut,)))
    assert says in season_text(sheet)
    assert says in season_data(sheet)["cuts"]
    assert season_sheet(seen(events=walked_only()), PLAN).cuts == ()


def test_growth_that_keeps_up_leaves_the_scale() -> None:
    grows = entry(Forecast(date(2026, 6, 30), parse("60 lb/ac/d", "herbage growth")), "farm", at(7, 6))
    sheet = season_sheet(seen(events=[*walked_only(), grows]))
    assert {a.growing_d for a in sheet.ahead} == {FAR_D}
    assert "over 120" in season_text(sheet)


def test_past_days_are_measured_from_their_own_entries() -> None:
    now_there = seen(events=walked_only())
    ((day, ahead),) = season_sheet(now_there).measured
    assert day == date(2026, 5, 6)
    # 4 was shut that morning; the evening is 16 hours after the walk
    assert ahead == pytest.approx((34 - 3) * 4 * 275 * 0.7 / 360 - 16 / 24, rel=1e-3)


def test_a_long_stay_is_drawn_as_firm_as_its_days_are_and_named_once() -> None:
    long = planned(("6", at(5, 7), at(9, 6), "firm"), ("8", at(9, 6), at(30, 6), "firm"))
    sheet = season_sheet(seen(events=walked_only()), long)
    (ahead,) = [b for b in sheet.strings[0].beads if b.state != "done" and b.short == "8"]
    pieces = list(by_firmness((ahead,), sheet.now))
    assert [p.state for p in pieces] == ["firm", "likely", "outline"]
    assert [p.begin for p in pieces[1:]] == [at(NOW.day + 7, 0), at(NOW.day + 14, 0)]
    assert (pieces[0].begin, pieces[-1].end) == (ahead.begin, ahead.end)
    assert [bool(p.short) for p in pieces] == [False, False, True]
    done = replace(ahead, state="done")
    assert list(by_firmness((done,), sheet.now)) == [done]


def test_every_bead_of_the_chart_stands_in_the_table() -> None:
    sheet = season_sheet(seen(farm(plantings=ROWS, promises=(HAY,)), walked_only()), PLAN)
    svg, text = season_svg(sheet), season_text(sheet)
    drawn = {t.strip() for t in re.findall(r"<text[^>]*>([^<]*)</text>", svg)}
    assert {"6", "8", "9", "10", "11", "Ewes", "now", "days of grass ahead", "Hay cut (12)"} <= drawn
    for line in ("8  Sat 9 May 6:00  Wed 13 May 6:00  4  firm (7 days)  four days are up",
                 "20 May to 15 Jun  Hay cut (12)",
                 "28 May  Shut: 5, 6 and 7, 120 d before first drop 25 Sep"):  # fmt: skip
        assert line in text
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg))
    assert colours <= {"black", "white", "none", "transparent", "#dddddd", "#bbbbbb", "#000", "#fff"}


@pytest.mark.parametrize("name", ['#image("x")', "*b* $x$", "<script>alert(1)</script>", "datum.x + 1"])
def test_names_are_data_in_chart_and_page(name: str, tmp_path: Path) -> None:
    told = farm()
    told = replace(told, name=name, mobs=(replace(told.mobs[0], name=name),))
    now_there = replace(seen(told), folder=tmp_path)
    paper = issue(now_there, "season", tmp_path / "out", season=PLAN)
    reader = pypdf.PdfReader(paper.paths[0])
    text = " ".join(page.extract_text() for page in reader.pages).replace("\u200b", "")
    assert name in " ".join(text.split())
    assert "<script>" not in season_svg(season_sheet(now_there))


def test_landscape_with_the_chart_on_one_page(tmp_path: Path) -> None:
    mobs = tuple(replace(farm().mobs[0], id=f"m{n}", name=f"Mob {n}", at=str(n + 1)) for n in range(9))
    promises = tuple(replace(HAY, id=str(n), what=f"Promise {n}") for n in range(20))
    now_there = replace(seen(farm(mobs=mobs, promises=promises), walked_only()), folder=tmp_path)
    reader = pypdf.PdfReader(issue(now_there, "season", tmp_path).paths[0])
    first = reader.pages[0]
    assert first.mediabox.width > first.mediabox.height
    assert "Growth as now is not a forecast" in first.extract_text()
    assert "Promise 19" in " ".join(p.extract_text() for p in reader.pages[1:])


# -- the calendar ------------------------------------------------------------------------------


def events_of(content: bytes) -> dict[str, Any]:
    found = icalendar.Calendar.from_ical(content)
    return {str(e["summary"]): e for e in found.walk("VEVENT")}


def test_moves_stand_in_utc_and_shut_dates_warn() -> None:
    found = events_of(ics(seen(farm(plantings=ROWS))))
    move = found["Move Ewes: 6 to 8"]
    assert move["dtstart"].dt == datetime(2026, 5, 9, 12, tzinfo=UTC)  # 8:00 in New York in May
    shut = found["Shut 5: last grazing, 120 d before first drop 25 Sep"]
    assert shut["dtstart"].dt == date(2026, 5, 28)
    assert [a["trigger"].dt for a in shut.walk("VALARM")] == [-timedelta(days=d) for d in (14, 7, 3)]
    assert len(found) == 5


def test_an_event_keeps_its_id_when_the_plan_changes() -> None:
    first = events_of(ics(seen(farm(plantings=ROWS))))
    later = [
        e if not e.planned else replace(e, observed=When.at(e.observed.start + timedelta(days=1)))
        for e in entries()
    ]
    second = events_of(ics(seen(farm(plantings=ROWS), later)))
    assert {s: str(e["uid"]) for s, e in first.items()} == {s: str(e["uid"]) for s, e in second.items()}
    done = [replace(e, planned=False) if e.planned and e.observed.start == at(9, 8) else e for e in entries()]
    told, now = farm(plantings=ROWS), at(9, 9)
    third = events_of(ics(picture(Path("unused"), told, tuple(done), fold(told, done, now), now, 5, 30)))
    assert str(third["Move Ewes: 8 to 9"]["uid"]) == str(first["Move Ewes: 8 to 9"]["uid"])
    assert "Move Ewes: 6 to 8" not in third


def test_a_move_that_no_plan_tells_any_more_is_called_off() -> None:
    """RFC 5545, 3.8.1.11: an event that is off keeps its UID and has the status CANCELLED."""
    told = [replace(e, recorded=min(e.recorded, at(7, 8))) for e in entries()]
    first = events_of(ics(seen(events=told)))
    taken = replace(entry(Undone(), "farm", at(7, 9)), planned=True)

    def without(*gone: datetime) -> dict[str, Any]:
        back = [replace(taken, id=f"{taken.id[:-2]}9{n}", supersedes=e.id)
                for n, e in enumerate(told) if e.planned and e.observed.start in gone]  # fmt: skip
        return events_of(ics(seen(events=[*told, *back])))

    assert not [e for e in first.values() if "status" in e]
    shorter = without(at(11, 8))
    off = shorter["Called off: Ewes to 9"]
    assert (str(off["status"]), str(off["uid"])) == ("CANCELLED", str(first["Move Ewes: 8 to 9"]["uid"]))
    assert off["dtstart"].dt == first["Move Ewes: 8 to 9"]["dtstart"].dt
    assert "status" not in shorter["Move Ewes: 6 to 8"]
    none = without(at(9, 8), at(11, 8))
    assert {str(e["uid"]) for e in none.values() if "status" in e} == {str(off["uid"])}
    (by_limit,) = [e for summary, e in none.items() if summary.startswith("Move Ewes out of 6")]
    assert by_limit["uid"] == first["Move Ewes: 6 to 8"]["uid"]


def test_no_coordinates_in_the_calendar() -> None:
    content = ics(seen()).decode()
    assert "GEO" not in content
    assert "LOCATION" not in content


# -- issued ------------------------------------------------------------------------------------


PACKS = ("lender", "carbon", "brief")
"""They need money, stems or designs; each prints again in the test of its own."""


@pytest.mark.parametrize("kind", [kind for kind in papers.KINDS if kind not in PACKS])
def test_an_issued_paper_prints_again_as_it_was(
    kind: papers.Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now_there = replace(seen(farm(plantings=ROWS)), folder=tmp_path / "farm")
    paper = issue(now_there, kind, tmp_path / "out", season=PLAN)
    again = body_of("issued", 1, json.loads(json.dumps(paper.event.value())))
    monkeypatch.setattr(words, "catalogue", lambda *_: pytest.fail("an old paper asks for no new words"))
    files = reprint(again)  # type: ignore[arg-type]
    assert sorted(files) == sorted(p.suffix[1:] for p in paper.paths)
    for path, kept in zip(paper.paths, paper.kept, strict=True):
        content = path.read_bytes()
        assert content == files[path.suffix[1:]] == kept.read_bytes()
        assert kept.stem == sha256(content).hexdigest()
        assert kept.parent == tmp_path / "farm" / "files"
        assert kept.name in paper.event.file.split()
    assert not [p for p in tmp_path.rglob("*") if p.name.endswith(".new")]


def test_the_issued_event_names_program_and_tables(tmp_path: Path) -> None:
    paper = issue(replace(seen(), folder=tmp_path), "relief", tmp_path)
    assert paper.event.tables == edition()
    assert re.fullmatch(r"\d+\.\d+\.\d+", paper.event.program)
    assert paper.messages == 4
    assert [p.name for p in paper.paths] == ["relief 2026-05-08.pdf", "relief 2026-05-08.txt"]


def test_the_edition_changes_with_any_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = Path(tables.__file__).parent / "data"
    (tmp_path / "data").mkdir()
    for path in data.glob("*.csv"):
        (tmp_path / "data" / path.name).write_bytes(path.read_bytes())
    before = edition()
    monkeypatch.setattr("browseline.papers.issued.resources.files", lambda _: tmp_path)
    edition.cache_clear()
    assert edition() == before
    (tmp_path / "data" / "worms.csv").write_bytes(b"key\n")
    edition.cache_clear()
    assert edition() != before
    monkeypatch.undo()
    edition.cache_clear()
    assert edition() == before


def test_the_paper_tells_of_present_stays_what_the_page_of_the_plan_tells(tmp_path: Path) -> None:
    """One table had said that grass bites first, where the next lines said that no limit is reached."""
    folder = tmp_path / "farm"
    now = copy_example(example(), folder)
    first = look(folder, now)
    keep_plan(first, plan(first.scene, None, 300), "owner")
    seen_now = look(folder, now)
    in_force = judged_plan(seen_now)
    page = season_page(seen_now)
    sheet = season_sheet(seen_now, in_force, page)
    for mob, string in zip(page.mobs, sheet.strings, strict=True):
        ahead = [line for line in string.beads if line.state != "done"]
        assert ahead[0].reason == mob.stays[0].reason
