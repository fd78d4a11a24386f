"""A forgotten week from paper, a spreadsheet of heights: checked whole, kept as one, undone as one."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from browseline.chain.desk.batch import Row, rows_of
from browseline.events import Counted, Moved, Noted, Undone, Walked
from browseline.farm.read import read
from browseline.record.corrections import resolve
from browseline.record.fold import fold
from browseline.record.state import State
from browseline.units import parse
from tests.small_farm import some
from tests.unit.cli_farm import NOW, SmallFarm, small_farm

WEEK = """# the week of the flood, from the notebook
2026-05-04 18:00 move ewes 8
Tue 7:00 walk 6 4.5 in

yesterday 18:30 count ewes 59 ewes, 96 lambs
2026-05-05 note the far gate doesn't shut
about 6 this morning move ewes 7
"""


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    return small_farm(tmp_path / "farm")


def put(farm: SmallFarm, name: str, text: str) -> str:
    path = farm.folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def state(farm: SmallFarm) -> State:
    return fold(some(read(farm.folder).farm), farm.events(), datetime.fromisoformat(NOW))


def standing(farm: SmallFarm) -> int:
    return len(resolve(farm.events()).standing)


def test_the_rows_of_a_file() -> None:
    assert rows_of('\n# no\nMon 7:00 walk 6 "4.5 in"\n3 May note don\'t\nmove ewes 8\nsoon\n') == [
        Row(3, "Mon 7:00", ("walk", "6", "4.5 in")),
        Row(4, "3 May", ("note", "don't")),
        Row(5, "", ("move", "ewes", "8")),
        Row(6, "soon", ()),
    ]


def test_a_week_is_shown_first_and_kept_on_yes(farm: SmallFarm) -> None:
    path = put(farm, "week.txt", WEEK)
    first = farm.run("note", "--from", path)
    assert (first.code, farm.events()) == (1, ())
    assert "week.txt: 5 new entries, 0 in the record already." in first.out
    assert "Nothing is kept yet" in first.all
    done = farm.run("note", "--from", path, "--yes")
    assert (done.code, done.err) == (0, "")
    assert "Kept: 5 entries as one batch" in done.out
    bodies = [type(event.body) for event in farm.events()]
    assert bodies == [Moved, Walked, Counted, Noted, Moved]
    assert farm.last().observed.end - farm.last().observed.start == timedelta(hours=1)
    assert state(farm).mobs[0].place == "7"


def test_the_same_week_again_adds_nothing(farm: SmallFarm) -> None:
    path = put(farm, "week.txt", WEEK)
    farm.run("note", "--from", path, "--yes")
    again = farm.run("note", "--from", path, "--yes")
    assert "0 new entries, 5 in the record already" in again.out
    assert len(farm.events()) == 5


def test_every_bad_line_is_named_at_once(farm: SmallFarm) -> None:
    lines = (
        "2026-05-32 07:00 move ewes 8", "2026-05-05 walk 6 tall", "2026-05-05 walk 6 5 in", "move ewes 8",
        "2026-05-05 hurry", "2026-05-05 walk 99 5 in", "2026-05-07 walk 6 5 in", "2026-05-05 walk 6 --of 5",
        "2026-05-05 walk 7 5 in --at today", "2026-05-05 photo 6 gate.jpg", "2026-05-05 note --help",
        "2026-05-05 note --from week.txt",
    )  # fmt: skip
    done = farm.run("note", "--from", put(farm, "week.txt", "\n".join(lines)), "--yes")
    named = [n for n in range(1, len(lines) + 1) if f"week.txt:{n}  " in done.err]
    assert named == [1, 2, 4, 5, 6, 7, 8, 9, 10, 11, 12]
    assert (done.code, [event.subject for event in farm.events()]) == (1, ["6"])


def test_a_line_is_read_with_those_above_it(farm: SmallFarm) -> None:
    text = "Mon 8:00 split ewes 20 lambs into hoggs\nMon 9:00 move hoggs 8\nTue 9:00 shut 4 because limb\n"
    text += "Tue 12:00 move ewes 4\n"
    done = farm.run("note", "--from", put(farm, "week.txt", text), "--yes")
    assert "week.txt:4  " in done.err
    assert "limb" in done.err
    assert [(m.id, m.place) for m in state(farm).mobs if m.ended is None] == [("ewes", "6"), ("hoggs", "8")]


def test_undo_takes_the_batch_back_and_then_what_was_before_it(farm: SmallFarm) -> None:
    farm.run("walk", "7", "6 in")
    before = state(farm)
    farm.run("note", "--from", put(farm, "week.txt", WEEK), "--yes")
    assert standing(farm) == 6
    done = farm.run("undo")
    assert (done.code, "the batch of 5 entries" in done.all) == (0, True)
    assert state(farm) == before
    assert [event.subject for event in resolve(farm.events()).standing] == ["7"]
    assert farm.run("undo").code == 0
    assert standing(farm) == 0


def test_one_entry_of_a_batch_can_be_taken_back_alone(farm: SmallFarm) -> None:
    farm.run("note", "--from", put(farm, "week.txt", WEEK), "--yes")
    farm.run("undo", farm.last().id)
    assert standing(farm) == 4
    farm.run("undo")
    assert standing(farm) == 0


def test_an_improbable_height_is_questioned_by_its_line(farm: SmallFarm) -> None:
    text = "2026-05-04 walk 6 7 in\n2026-05-05 walk 6 20 in\n"
    path = put(farm, "week.txt", text)
    done = farm.run("note", "--from", path)
    assert "week.txt:2  " in done.err
    assert "20 cm?" in done.err
    assert farm.run("note", "--from", path, "--yes").code == 0
    assert len(farm.events()) == 2


# ------------------------------------------------------------------ S10: a spreadsheet in

BAD = {
    17: "2026-02-30",
    42: "31/12/2025",
    99: "soon",
    120: "2026-13-01",
    200: "",
    233: "2027-01-01",
    300: "n/a",
}


def heights(rows: int = 300) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("Date", "Paddock", "Height"))
    begins = date(2026, 5, 5) - timedelta(days=rows // 4)
    for n in range(rows):
        row = n + 2
        day = (begins + timedelta(days=n // 4)).isoformat()
        writer.writerow((BAD.get(row, day), ("4", "6", "7", "8")[n % 4], f"{4 + n // 4 % 5 / 10:.1f} in"))
    return out.getvalue()


def test_s10_a_spreadsheet_of_300_rows_with_7_bad_dates(farm: SmallFarm) -> None:
    farm.run("walk", "6", "5 in")
    before, shown = state(farm), json.loads(farm.run("today", "--json").out)
    path = put(farm, "heights.csv", heights())
    first = farm.run("walk", "--from", path)
    assert "heights.csv: 293 new entries" in first.out
    assert sum(line.startswith("heights.csv:") for line in first.err.splitlines()) == len(BAD) == 7
    assert all(f"heights.csv:{row}  " in first.err for row in BAD)
    assert len(farm.events()) == 1
    kept = farm.run("walk", "--from", path, "--yes")
    assert (kept.code, len(farm.events())) == (1, 294)
    assert {e.observed.start.date() for e in farm.events()[1:]} == {
        date.fromisoformat(r["Date"])
        for n, r in enumerate(csv.DictReader(io.StringIO(heights())), 2)
        if n not in BAD
    }
    assert farm.run("undo").code == 0
    assert sum(isinstance(e.body, Undone) for e in farm.events()) == 293
    assert state(farm) == before
    assert json.loads(farm.run("today", "--json").out) == shown


def test_heights_go_out_and_in_again(farm: SmallFarm, tmp_path: Path) -> None:
    farm.run("walk", "6", "4.5 in", "good", "--at", "today 7:00", "--readings", "30")
    farm.run("walk", "7", "11 cm", "--at", "since last night", "--who", "helper")
    farm.run("walk", "8", "6", "--at", "yesterday")
    farm.run("move", "ewes", "8")
    out = tmp_path / "heights.csv"
    assert "3 heights written" in farm.run("walk", "--out", str(out)).out
    rows = list(csv.reader(io.StringIO(out.read_text(encoding="utf-8"))))
    assert rows[0][:3] == ["date", "paddock", "height"]
    assert rows[1][:3] == ["2026-05-05", "8", "6 in"]
    assert farm.run("walk", "--from", str(out)).out.startswith("heights.csv: 0 new entries, 3 in the record")
    other = small_farm(tmp_path / "other")
    assert other.run("walk", "--from", str(out), "--yes").code == 0
    assert {(e.observed, e.subject, e.who, e.body) for e in other.events()} == {
        (e.observed, e.subject, e.who, e.body) for e in farm.events() if isinstance(e.body, Walked)
    }


def test_a_spreadsheet_with_semicolons_and_a_byte_order_mark(farm: SmallFarm) -> None:
    path = farm.folder / "h.csv"
    path.write_bytes("\ufeffdate;time;paddock;height\r\n2026-05-05;07:00;6;4.5\r\n;;;\r\n".encode())
    assert farm.run("walk", "--from", str(path), "--yes").code == 0
    assert farm.last().body == Walked(parse("4.5 in", "length"))


@pytest.mark.parametrize(
    "head", ["date,paddock", "date,paddock,height,colour", "date,date,paddock,height", ""]
)
def test_columns_that_do_not_fit(farm: SmallFarm, head: str) -> None:
    done = farm.run("walk", "--from", put(farm, "h.csv", head + "\n"))
    assert (done.code, "columns do not fit" in done.all) == (1, True)


@pytest.mark.parametrize(
    "words", [("walk", "6", "--from"), ("note", "hello", "--from"), ("walk", "--out", "x", "--from")]
)
def test_a_file_stands_alone(farm: SmallFarm, words: tuple[str, ...]) -> None:
    done = farm.run(*words, put(farm, "h.csv", "date,paddock,height\n"))
    assert (done.code, "A file stands alone" in done.all) == (1, True)


def test_a_file_that_is_not_there_or_no_text(farm: SmallFarm) -> None:
    assert "no file" in farm.run("note", "--from", "nowhere.txt").all.casefold()
    (farm.folder / "b").write_bytes(b"\xff\xfe\x00")
    assert "not plain text" in farm.run("note", "--from", str(farm.folder / "b")).all
    assert "cannot be written" in farm.run("walk", "--out", str(farm.folder / "none" / "h.csv")).all
