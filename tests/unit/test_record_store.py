# ruff: noqa: E501 - events stand in full view, one a row
from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import pytest

from browseline.errors import BadInput, BrokenRecord
from browseline.events import KINDS, UPCASTERS, BadEvent, Body, Event, Unknown, When
from browseline.record import medium, rows, schema
from browseline.record.corrections import resolve
from browseline.record.database import Database
from browseline.record.store import FILE, Record
from browseline.record.table import csv_events, events_csv
from tests.unit.record_events import events

TABLE = """id;observed;kind;subject;value
a;2026-05-03T08:00-04:00;moved;ewes;{"to": "8"}
b;2026-05-03T21:00-04:00/2026-05-04T06:30-04:00;moved;ewes;{"to": "9"}
c;2026-05-04T08:00-04:00;walked;8;{"height": "4 1/2 in", "density": "good"}"""


def test_what_is_appended_comes_back_as_it_was(tmp_path: Path) -> None:
    given = events(TABLE)
    with Record.open(tmp_path) as record:
        assert record.append(given) == 3
        assert record.findings == ()
    with Record.open(tmp_path) as record:
        assert list(record.events()) == given
        assert record.event("b") == given[1]
        assert record.event("z") is None
        record.check()


def test_a_commit_is_synced_to_the_disk(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        assert record.all("PRAGMA journal_mode") == [("wal",)]
        assert record.all("PRAGMA synchronous") == [(2,)]  # FULL
        assert record.all("PRAGMA busy_timeout") == [(medium.BUSY_MS,)]
        assert record.all("PRAGMA user_version") == [(schema.VERSION,)]


def test_the_same_event_again_is_nothing_and_another_content_is_kept_beside_it(tmp_path: Path) -> None:
    given = events(TABLE)
    other = replace(given[0], subject="lambs", recorded=datetime.fromisoformat("2026-06-01T00:00+00:00"))
    with Record.open(tmp_path) as record:
        record.append(given)
        assert record.append(given) == 0
        assert record.append([other]) == 1
        assert record.event("a") == other
        assert [d.code for d in resolve(record.events()).disagreements] == ["same_id"]
        assert len(record.events()) == 4


def test_a_batch_is_all_or_nothing(tmp_path: Path) -> None:
    given = events(TABLE)
    with Record.open(tmp_path) as record:
        with pytest.raises(ValueError, match="no offset"):
            record.append([given[0], replace(given[1], recorded=datetime(2026, 5, 3, 8))])  # noqa: DTZ001
        with pytest.raises(ValueError, match="no year of a farm"):
            record.append([replace(given[0], recorded=datetime.fromisoformat("0026-05-03T08:00+00:00"))])
        with pytest.raises(BrokenRecord, match="no such table: nowhere"):
            append_and_fail(record, given)
        assert record.events() == ()


def append_and_fail(record: Record, given: list[Event]) -> None:
    with record.writing():
        record.append(given)
        record.all("SELECT * FROM nowhere")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET reason = 'x'",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event SELECT * FROM event",
        "UPDATE content SET bytes = ''",
        "DELETE FROM content",
        "DELETE FROM file_version",
        "UPDATE file_seen SET at = ''",
    ],
)
def test_nothing_is_rewritten(tmp_path: Path, statement: str) -> None:
    (tmp_path / "farm.toml").write_text('name = "F"\n')
    with Record.open(tmp_path) as record:
        record.append(events(TABLE))
        record.keep_files(datetime.fromisoformat("2026-05-03T08:00+00:00"))
        with pytest.raises(BrokenRecord, match="append-only"):
            record.add(statement, [()])
        assert len(record.events()) == 3


# ---------------------------------------------------------------- devices


def test_a_copy_takes_an_id_of_its_own_and_keeps_it(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    with Record.open(here) as record:
        mine = record.device
    with Record.open(here) as record:
        assert record.device == mine
    shutil.copytree(here, there)
    with Record.open(there) as record:
        theirs = record.device
    with Record.open(there) as record:
        assert record.device == theirs != mine


def test_a_device_may_be_named(tmp_path: Path) -> None:
    with Record.open(tmp_path, "kitchen") as record:
        assert record.device == "kitchen"
    with Record.open(tmp_path, "kitchen") as record:
        assert record.device == "kitchen"
    with Record.open(tmp_path, "yard") as record:
        assert record.device == "yard"
    with Record.open(tmp_path) as record:
        assert record.device == "yard"


# ---------------------------------------------------------------- folders and files that are wrong


def test_where_a_write_ahead_log_cannot_work_the_folder_is_named(tmp_path: Path) -> None:
    # SQLite's own layer without shared memory refuses the log, as such a folder does.
    with Record.open(tmp_path, vfs="unix-dotfile") as record:
        (found,) = record.findings
        assert (found.level, found.code, found.where) == ("note", "record.no_wal", str(tmp_path))
        assert "the older journal (delete) is used" in found.what
        assert record.all("PRAGMA synchronous") == [(3,)]  # EXTRA
        assert record.append(events(TABLE)) == 3
    with Record.open(tmp_path, vfs="unix-dotfile") as record:
        assert len(record.events()) == 3


def test_a_log_that_cannot_be_opened_any_more_is_refused_and_nothing_changes(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append(events(TABLE))
    before = (tmp_path / FILE).read_bytes()
    with pytest.raises(BrokenRecord, match=r"record\.db"):
        Record.open(tmp_path, vfs="unix-dotfile")
    assert (tmp_path / FILE).read_bytes() == before


MOUNTS = """/dev/sda1 / ext4 rw 0 0
server:/farm /srv/f/shared nfs4 rw 0 0
tmpfs /srv/f/shared/here tmpfs rw 0 0
//nas/farm /mnt/my\\040farm cifs rw 0 0
odd"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/srv/f/farm", "ext4"), ("/srv/f/shared", "nfs4"), ("/srv/f/shared/farm", "nfs4"),
        ("/srv/f/shared/here/x", "tmpfs"), ("/mnt/my farm", "cifs"), ("/srv/f/shared-not", "ext4"),
    ],
)  # fmt: skip
def test_the_file_system_of_a_folder(folder: str, kind: str) -> None:
    assert medium.file_system(Path(folder), MOUNTS) == kind
    assert medium.file_system(Path(folder), "") == ""


def test_on_a_shared_file_system_no_log_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(medium, "SHARED", medium.SHARED | {medium.file_system(tmp_path)})
    with Record.open(tmp_path) as record:
        assert [found.code for found in record.findings] == ["record.no_wal"]
        assert record.all("PRAGMA journal_mode") == [("delete",)]


def test_a_damaged_record_is_told_and_left_alone(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append(
            replace(event, id=f"{event.id}{n}", reason="r" * 400)
            for n in range(50)
            for event in events(TABLE)
        )
    path = tmp_path / FILE
    content = bytearray(path.read_bytes())
    content[8192:12288] = b"\xff" * 4096
    path.write_bytes(content)
    with pytest.raises(BrokenRecord, match=r"(?s)record\.db cannot be used: .*Nothing was changed"):
        Record.open(tmp_path)
    assert path.read_bytes() == bytes(content)


def test_damage_that_only_the_full_check_sees(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append(events(TABLE))
    raw = sqlite3.connect(tmp_path / FILE)
    raw.executescript(
        "DROP TRIGGER event_no_delete; PRAGMA writable_schema=ON;"
        "UPDATE sqlite_master SET sql = replace(sql, 'reason TEXT NOT NULL', 'reason TEXT NOT NULL CHECK (reason <> '''')') WHERE name = 'event';"
    )
    raw.close()
    with pytest.raises(BrokenRecord, match="CHECK constraint failed"):
        Record.open(tmp_path)


def test_a_full_check_finds_a_missing_row_of_an_index(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append(events(TABLE))
        ((page,),) = record.all("SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_event_1'")
    path = tmp_path / FILE
    content = bytearray(path.read_bytes())
    start = (page - 1) * 4096
    assert content[start] == 10  # a leaf of an index
    content[start + 3 : start + 5] = (2).to_bytes(2, "big")  # three cells become two
    path.write_bytes(content)
    with pytest.raises(BrokenRecord, match="cannot be used"), Record.open(tmp_path) as record:
        record.check()


@pytest.mark.parametrize(
    "content", [b"not a database at all, only words", b"SQLite format 3\x00" + b"x" * 200]
)
def test_a_file_that_is_no_database_is_told(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE).write_bytes(content)
    with pytest.raises(BrokenRecord, match="cannot be used"):
        Record.open(tmp_path)


def test_a_database_of_something_else_is_not_touched(tmp_path: Path) -> None:
    other = sqlite3.connect(tmp_path / FILE)
    other.execute("CREATE TABLE songs (name TEXT)")
    other.close()
    with pytest.raises(BrokenRecord, match="is not a record of this program"):
        Record.open(tmp_path)


def test_a_record_of_a_newer_program_is_not_touched(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.add(f"PRAGMA user_version={schema.VERSION + 1}", [()])
    with pytest.raises(BadInput, match="A newer version of the program wrote this record"):
        Record.open(tmp_path)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BrokenRecord, match="cannot be used"):
        Record.open(tmp_path / "nowhere")


def test_tables_that_cannot_be_made_leave_nothing_behind(tmp_path: Path) -> None:
    path = tmp_path / FILE
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("CREATE TABLE event (id)")
    with pytest.raises(sqlite3.OperationalError, match="already exists"):
        schema.create(connection)
    assert connection.execute("SELECT name FROM sqlite_master").fetchall() == [("event",)]
    connection.close()


def test_two_programs_may_make_the_tables_at_once(tmp_path: Path) -> None:
    first, second = Database(tmp_path), Database(tmp_path)
    with first.writing():
        assert second.all("SELECT count(*) FROM event") == [(0,)]
    first.close()
    second.close()


@pytest.mark.parametrize("shared", [True, False])
def test_several_writers_take_turns(tmp_path: Path, shared: bool) -> None:
    first = events(TABLE)[0]
    with Record.open(tmp_path) as record, ThreadPoolExecutor(4) as pool:

        def write(writer: int) -> None:
            own = record if shared else Record.open(tmp_path)
            for number in range(20):
                own.append([replace(first, id=f"{writer}-{number}")])
            if not shared:
                own.close()

        list(pool.map(write, range(4)))
        assert len({event.id for event in record.events()}) == 80
        record.check()


# ---------------------------------------------------------------- old versions and unknown kinds


@pytest.fixture
def shorn() -> Iterator[type[Body]]:
    """A kind in its second version: the first gave the fleeces' weight in grams as a number."""

    @dataclass(frozen=True)
    class Shorn(Body, kind="shorn_in_a_test", about="mob", version=2):
        fleece: str
        head: int = 0

    UPCASTERS["shorn_in_a_test", 1] = lambda old: {
        "fleece": f"{old['fleece_g'] / 1000:g} kg",
        "head": old["head"],
    }
    yield Shorn
    del KINDS["shorn_in_a_test"], UPCASTERS["shorn_in_a_test", 1]


OLD = {
    "id": "o", "device": "A", "who": "owner", "observed": "2026-06-01T08:00:00+00:00",
    "recorded": "2026-06-01T08:00:00+00:00", "kind": "shorn_in_a_test", "version": 1, "subject": "ewes", "part": "",
    "planned": False, "supersedes": "", "reason": "", "value": {"fleece_g": 2500, "head": 60},
}  # fmt: skip


def test_an_old_version_is_read_in_its_new_form_and_never_rewritten(
    tmp_path: Path, shorn: type[Body]
) -> None:
    with Record.open(tmp_path) as record:
        record.append_rows([OLD])
        (event,) = record.events()
        assert event.body == shorn(fleece="2.5 kg", head=60)  # type: ignore[call-arg]
        assert record.rows() == [OLD]
        again = csv_events(events_csv([event]))
        record.append(again)  # the new form of it, read in from a table: the same thing said
        assert resolve(record.events()).disagreements == ()
        assert len(resolve(record.events()).standing) == 1


def test_a_kind_that_is_not_known_is_kept_and_passed_on(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append_rows(
            [OLD, {**OLD, "id": "p", "kind": "moved", "version": 7, "value": {"towards": ["8", 1.5]}}]
        )
        first, second = record.events()
        assert first.body == Unknown("shorn_in_a_test", 1, '{"fleece_g": 2500, "head": 60}')
        assert second.body == Unknown("moved", 7, '{"towards": ["8", 1.5]}')
        assert [rows.raw_of(event) for event in (first, second)] == record.rows()
        assert record.append([first, second]) == 0


def test_a_body_that_cannot_be_read_never_stops_the_rest(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        record.append_rows(
            [
                {**OLD, "kind": "walked", "value": {"height": "ankle"}},
                {**OLD, "id": "q", "kind": "moved", "value": {"to": "8"}},
            ]
        )
        first, second = record.events()
        assert first.body == Unknown("walked", 1, '{"height": "ankle"}')
        assert second.kind == "moved"
        assert rows.raw_of(first) == record.rows()[0]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"observed": "yesterday"}, "envelope"), ({"recorded": "2026-06-01T08:00:00"}, "recorded"),
        ({"observed": "2026-06-01T08:00:00"}, "envelope"), ({"id": ""}, "id"), ({"kind": ""}, "kind"),
        ({"version": "two"}, "envelope"), ({"value": [1]}, "envelope"), ({"value": None}, "envelope"),
        ({"value": [["a", "b"]]}, "value"), ({"version": 0}, "version"), ({"version": 1 << 70}, "version"),
        ({"recorded": "0001-01-01T00:00:00+05:00"}, "envelope"), ({"value": {"x": float("nan")}}, "envelope"),
    ],
)  # fmt: skip
def test_an_envelope_that_cannot_be_read_is_refused(change: dict[str, object], field: str) -> None:
    with pytest.raises(BadEvent) as caught:
        rows.checked({**OLD, **change})
    assert caught.value.field == field
    assert rows.checked(OLD) == OLD


def test_an_event_made_now_is_kept_with_its_offset(tmp_path: Path) -> None:
    instant = datetime.fromisoformat("2026-11-01T01:30:00-04:00")
    event = Event("n", "A", "owner", When.at(instant), instant, "farm", Unknown("x", 1, "{}"))
    with Record.open(tmp_path) as record:
        record.append([event])
        assert record.rows()[0]["observed"] == "2026-11-01T01:30:00-04:00"
