from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from browseline.errors import BadInput, BrokenRecord
from browseline.record.files import add_versions
from browseline.record.fold import fold
from browseline.record.join import Copy, join, read_copy
from browseline.record.store import FILE, Record
from browseline.record.table import (
    csv_events,
    events_csv,
    from_csv,
    from_lines,
    lines_versions,
    to_csv,
    to_lines,
    versions_lines,
)
from tests.unit.record_events import events, quern_bank

NOW = datetime(2026, 5, 10, 12, tzinfo=UTC)
FARM = 'name = "Quern Bank"\n\n[[paddock]]\nid = "1"\narea = "3 ac"\n\n[[paddock]]\nid = "2"\narea = "2 ac"\n'

HEAD = "id;device;observed;kind;subject;value\n"
MINE = 'x;A;2026-05-03T08:00-04:00;moved;ewes;{"to": "8"}\n'
THEIRS = 'y;B;2026-05-03T08:20-04:00;moved;ewes;{"to": "9"}\n'


def change(folder: Path, old: str, new: str, when: datetime) -> None:
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    os.utime(path, (when.timestamp(), when.timestamp()))


@pytest.fixture
def copies(tmp_path: Path) -> tuple[Path, Path]:
    """Two copies of one farm, each with an entry of its own."""
    mine, theirs = tmp_path / "mine", tmp_path / "theirs"
    mine.mkdir()
    (mine / "farm.toml").write_text(FARM, encoding="utf-8")
    with Record.open(mine, "A") as record:
        record.keep_files(NOW)
    shutil.copytree(mine, theirs)
    for folder, device, row in ((mine, "A", MINE), (theirs, "B", THEIRS)):
        with Record.open(folder, device) as record:
            record.append(events(HEAD + row))
    return mine, theirs


def held(folder: Path) -> tuple[list[str], str]:
    with Record.open(folder) as record:
        return sorted(event.id for event in record.events()), (folder / "farm.toml").read_text(
            encoding="utf-8"
        )


def test_m15_two_phones_end_alike_and_what_clashes_is_listed(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    change(mine, '"3 ac"', '"3.2 ac"', NOW - timedelta(hours=5))
    change(theirs, '"3 ac"', '"3.4 ac"', NOW - timedelta(hours=4))
    change(theirs, '"2 ac"', '"2.1 ac"', NOW - timedelta(hours=4))
    before = {path.name: path.read_bytes() for path in theirs.iterdir() if path.suffix == ".toml"}
    here = join(mine, theirs, NOW)
    assert before == {path.name: path.read_bytes() for path in theirs.iterdir() if path.suffix == ".toml"}
    there = join(theirs, mine, NOW)
    assert held(mine) == held(theirs)
    assert held(mine) == (["x", "y"], FARM.replace('"3 ac"', '"3.4 ac"').replace('"2 ac"', '"2.1 ac"'))
    assert (here.new_events, here.files, there.new_events, there.files) == (1, ("farm.toml",), 1, ())
    assert here.clashes == there.clashes
    (clash,) = here.clashes
    assert (clash.standing, clash.standing_by, clash.other, clash.other_by) == (
        'area = "3.4 ac"\n', "B", 'area = "3.2 ac"\n', "A",
    )  # fmt: skip
    with Record.open(mine) as record:
        state = fold(quern_bank(), record.events(), NOW)
    assert state.mobs[0].place == "9"
    assert [d.code for d in state.disagreements] == ["two_places"]


def test_joining_again_changes_nothing(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    change(theirs, '"2 ac"', '"2.1 ac"', NOW)
    join(mine, theirs, NOW)
    before = held(mine)
    again = join(mine, theirs, NOW + timedelta(days=1))
    assert (again.new_events, again.files, held(mine)) == (0, (), before)


def test_a_joined_copy_keeps_its_own_device(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    join(mine, theirs, NOW)
    with Record.open(mine) as record:
        assert record.device == "A"


def test_work_goes_on_after_a_join_and_saw_both(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    change(mine, '"3 ac"', '"3.2 ac"', NOW - timedelta(hours=5))
    change(theirs, '"3 ac"', '"3.4 ac"', NOW - timedelta(hours=4))
    assert len(join(mine, theirs, NOW).clashes) == 1
    change(
        mine, '"3.4 ac"', '"3.3 ac"', NOW - timedelta(hours=9)
    )  # a clock that is slow: it saw both all the same
    assert join(mine, theirs, NOW).clashes == ()
    join(theirs, mine, NOW)
    assert held(mine) == held(theirs)
    assert '"3.3 ac"' in held(mine)[1]


def test_a_join_that_was_cut_off_is_finished_by_the_next_work(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    change(theirs, '"2 ac"', '"2.1 ac"', NOW)
    copy = read_copy(theirs, NOW)
    with Record.open(mine) as record:
        record.take_in(copy.raws, copy.versions)  # and then the battery died
    change(mine, '"3 ac"', '"3.2 ac"', NOW)  # and somebody edited the file before the next work
    with Record.open(mine) as record:
        assert record.keep_files(NOW) == ("farm.toml",)
        assert record.keep_files(NOW) == ()
    assert held(mine)[1] == FARM.replace('"3 ac"', '"3.2 ac"').replace('"2 ac"', '"2.1 ac"')


def test_a_file_written_by_a_cut_off_join_is_no_new_version(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    change(theirs, '"2 ac"', '"2.1 ac"', NOW)
    copy = read_copy(theirs, NOW)
    with Record.open(mine) as record:
        record.take_in(copy.raws, copy.versions)
        change(mine, '"2 ac"', '"2.1 ac"', NOW)  # the very content that the join would have written
        assert record.keep_files(NOW) == ()
        assert len(record.versions("farm.toml")) == 2


def test_a_file_that_the_other_took_away_is_taken_away(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    (theirs / "farm.toml").unlink()
    assert join(mine, theirs, NOW).files == ("farm.toml",)
    assert not (mine / "farm.toml").exists()


def test_a_copy_that_never_saw_the_record_joins_too(tmp_path: Path) -> None:
    mine, theirs = tmp_path / "mine", tmp_path / "theirs"
    for folder, area, hour in ((mine, "3.2 ac", 5), (theirs, "3.4 ac", 4)):
        folder.mkdir()
        (folder / "farm.toml").write_text(FARM, encoding="utf-8")
        change(folder, "3 ac", area, NOW - timedelta(hours=hour))
        with Record.open(folder, folder.name):
            pass
    here, there = join(mine, theirs, NOW), join(theirs, mine, NOW)
    assert held(mine) == held(theirs)
    assert here.clashes == there.clashes
    assert [c.key for c in here.clashes] == ["area"]


def test_a_clock_that_is_two_days_off_is_asked_about_and_changes_nothing(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    late = 'z;B;2026-05-12T12:00+00:00;moved;ewes;{"to": "1"}\n'
    with Record.open(theirs) as record:
        record.append(events(HEAD + late))
    joined = join(mine, theirs, NOW)
    (question,) = joined.questions
    assert (question.code, question.subject, dict(question.facts)["hours"]) == ("clock", "B", "48")
    assert join(mine, theirs, NOW, NOW - timedelta(days=2)).questions[0].subject == "B"
    assert held(mine)[0] == ["x", "y", "z"]


def test_a_record_that_is_written_to_while_it_is_read(copies: tuple[Path, Path]) -> None:
    mine, theirs = copies
    with Record.open(theirs) as record, record.writing():
        record.append(events(HEAD + 'w;B;2026-05-04T08:00-04:00;moved;ewes;{"to": "2"}\n'))
        assert join(mine, theirs, NOW).new_events == 1  # what is confirmed, and only that
    assert join(mine, theirs, NOW).new_events == 1


def test_folders_that_hold_no_copy(tmp_path: Path, copies: tuple[Path, Path]) -> None:
    mine, _ = copies
    with pytest.raises(BadInput, match="There is no record here"):
        join(mine, tmp_path / "nowhere", NOW)
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / FILE).write_bytes(b"no database")
    with pytest.raises(BrokenRecord, match="cannot be used"):
        join(mine, broken, NOW)
    assert held(mine)[0] == ["x"]


def test_a_record_without_a_device_can_be_read(copies: tuple[Path, Path]) -> None:
    _, theirs = copies
    with Record.open(theirs) as record:
        record.add("DELETE FROM device", [()])
        assert read_copy(theirs, NOW).device == ""


# ---------------------------------------------------------------- packs


def test_an_unpacked_pack_joins_like_the_folder_it_came_from(
    copies: tuple[Path, Path], tmp_path: Path
) -> None:
    mine, theirs = copies
    change(mine, '"3 ac"', '"3.2 ac"', NOW - timedelta(hours=5))
    change(theirs, '"2 ac"', '"2.1 ac"', NOW - timedelta(hours=4))
    pack = tmp_path / "pack"
    pack.mkdir()
    with Record.open(theirs) as record:
        record.keep_files(NOW)
        (pack / "events.jsonl").write_bytes(to_lines(record.rows()).encode())
        (pack / "versions.jsonl").write_bytes(versions_lines(record.versions()).encode())
    joined = join(mine, pack, NOW)
    join(theirs, mine, NOW)
    assert (joined.new_events, joined.clashes) == (1, ())
    assert held(mine) == held(theirs)


def test_a_pack_without_history_never_takes_newer_changes_back(
    copies: tuple[Path, Path], tmp_path: Path
) -> None:
    mine, theirs = copies
    pack = tmp_path / "pack"
    pack.mkdir()
    shutil.copy(theirs / "farm.toml", pack)
    (pack / "weather.csv").write_text("date,rain_mm\n2026-05-01,3\n", encoding="utf-8")
    with Record.open(theirs) as record:
        (pack / "events.csv").write_bytes(to_csv(record.rows()).encode())
    change(mine, '"3 ac"', '"3.2 ac"', NOW)
    assert (join(mine, pack, NOW).files, '"3.2 ac"' in held(mine)[1]) == (("weather.csv",), True)
    change(pack, '"2 ac"', '"2.1 ac"', NOW + timedelta(days=1))
    assert [clash.key for clash in join(mine, pack, NOW).clashes] == ["area", "area"]


def test_events_that_cannot_be_kept_are_named_and_the_rest_comes_in(copies: tuple[Path, Path]) -> None:
    mine, _ = copies
    good = from_csv(events_csv(events(HEAD + THEIRS)))[0]
    joined = join(mine, Copy(({**good, "observed": "soon"}, good, {"kind": "moved"})), NOW)
    assert [str(found).splitlines()[0] for found in joined.findings] == [
        "1  An entry (moved) of the other copy cannot be read: envelope.",
        "3  An entry (moved) of the other copy cannot be read: observed.",
    ]
    assert (joined.new_events, held(mine)[0]) == (1, ["x", "y"])


# ---------------------------------------------------------------- tables

TABLE = """id,device,who,observed,recorded,kind,version,subject,part,planned,supersedes,reason,value\r
a,A,owner,2026-05-03T08:00:00-04:00,2026-05-03T08:01:00-04:00,moved,1,ewes,,yes,,,"{""to"":""8""}"\r
b,A,relief,2026-05-03T21:00:00-04:00/2026-05-04T06:30:00-04:00,2026-05-04T07:00:00-04:00,noted,1,'=1+1,a,,,'-said,"{""text"":""=cmd()""}"\r
"""


def test_events_are_a_table_that_a_spreadsheet_does_not_run() -> None:
    first, second = csv_events(TABLE)
    assert (first.planned, first.subject, second.subject, second.reason) == (True, "ewes", "=1+1", "-said")
    assert second.body.value() == {"text": "=cmd()"}
    assert events_csv([first, second]) == TABLE
    assert from_csv("\ufeff" + TABLE) == from_csv(TABLE)
    assert from_lines(to_lines(from_csv(TABLE)) + "\n") == from_csv(TABLE)


@pytest.mark.parametrize("text", ["", "a,b\n", "\n\n", TABLE.replace("kind,", "sort,")])
def test_a_table_without_its_columns_is_named(text: str) -> None:
    with pytest.raises(BadInput, match=r"lacks the columns: .*kind"):
        from_csv(text)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (",1,ewes", ",one,ewes"),
        (",yes,", ",maybe,"),
        ('"{""to"":""8""}"', "8"),
        ('"{""to"":""8""}"', "{"),
        (",ewes,", ",ewes,,,"),
    ],
)
def test_a_row_that_is_no_event_is_named(old: str, new: str) -> None:
    with pytest.raises(BadInput, match=r"^events\.csv:2  This line is no entry"):
        from_csv(TABLE.replace(old, new, 1))


@pytest.mark.parametrize("line", ["no json", "[1]", "[" * 100_000])
def test_a_line_that_is_no_object_is_named(line: str) -> None:
    with pytest.raises(BadInput, match=r"^events\.jsonl:2  This line"):
        from_lines(f"{{}}\n{line}\n")


def test_versions_of_the_text_files_out_and_in(tmp_path: Path, copies: tuple[Path, Path]) -> None:
    mine, _ = copies
    (mine / "weather.csv").write_bytes(b"\xff\xfe odd bytes")
    with Record.open(mine) as record:
        record.keep_files(NOW)
        (mine / "weather.csv").unlink()
        record.keep_files(NOW)
        given = record.versions()
    text = versions_lines(given)
    assert tuple(lines_versions(text)) == given
    other = tmp_path / "other"
    other.mkdir()
    with Record.open(other) as record:
        add_versions(record, lines_versions(text))
        assert record.versions() == given
    for wrong in (
        text.replace('"id":"', '"id":"0', 1),
        text.replace('"seen"', '"saw"', 1),
        text.replace("base64", "rot13"),
    ):
        with pytest.raises(BadInput, match=r"versions\.jsonl:\d  This line"):
            lines_versions(wrong)
