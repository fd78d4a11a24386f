"""Try it: copies of a real farm folder, edits as typed, and the live folder untouched to the byte."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import pytest

from browseline.errors import BadInput
from browseline.record.store import FILE, Record
from browseline.trials.copies import copy_farm
from browseline.trials.edits import keys_of_way, setting
from browseline.trials.try_page import try_
from tests.acceptance.cases import EWE, at, farm_folder, mob, walked

NOW = at("2026-05-06 07:00")


@pytest.fixture
def live(tmp_path: Path) -> Path:
    folder = tmp_path / "live"
    ewe = EWE | {"intake": "4.4 lb/d"}
    farm_folder(folder, as_of=date(2026, 4, 20), mobs=[mob(ewe, place="1", since="2026-05-05 06:00")])
    with Record.open(folder, device="phone") as record:
        record.append(walked("2026-05-05 07:00", [8, 6, 6, 6]))
    return folder


def hashes(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


EDITS = (
    *(f"mobs.ewes.lines.0.head={n}" for n in range(61, 69)),
    "paddocks.2.deeded=5 ac", "rules.worm_stay=3 d", "walk 3 \"9 in\"", "walk 4 7in",
    "move ewes 2", "count ewes 66", "note farm \"a try\"", "shut 4 --because \"limb down\"",
    "open 4", "mobs.ewes.name=Big ewes", "hay=[]", "rain 0.4in",
)  # fmt: skip


def test_twenty_edits_leave_every_byte_of_the_farm(live: Path) -> None:
    """S2: record and its log among the files, while somebody else holds the record open."""
    assert len(EDITS) == 20
    with Record.open(live, device="phone") as held:
        held.append(walked("2026-05-05 08:00", {5: 6}))
        before = hashes(live)
        assert FILE in before
        assert f"{FILE}-wal" in before
        page = try_(live, EDITS, NOW)
        assert hashes(live) == before
    assert page.rows
    assert page.edits == EDITS


def test_an_entry_in_the_log_alone_is_in_the_copy(live: Path, tmp_path: Path) -> None:
    with Record.open(live, device="phone") as held:
        held.append(walked("2026-05-05 08:00", {6: 6}))
        copy = copy_farm(live, tmp_path / "copy")
        with Record.open(copy) as other:
            assert {e.id for e in other.events()} == {e.id for e in held.events()}


def test_more_head_eat_more_a_day_and_the_difference_is_that_of_the_two(live: Path) -> None:
    """10 of 60 ewes at 4.4 lb/d are 44 lb/d, 19.96 kg/d."""
    page = try_(live, ["mobs.ewes.lines.0.head=70"], NOW)
    row = next(row for row in page.rows if "44 lb/d" in row[3])
    assert "264 lb/d" in row[1]
    assert "308 lb/d" in row[2]
    assert row[3].startswith("+44 lb/d")


def test_no_edit_changes_nothing(live: Path) -> None:
    page = try_(live, [], NOW)
    assert page.rows == ()
    assert page.same == 0 or page.same > 2


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("nothing said", "trials.no_edit"), ("=3", "trials.no_way"), ("a..b=3", "trials.no_way"),
        ("a.=3", "trials.no_way"), ("photo x.jpg", "trials.files"), ("x" * 500, "trials.long"),
        ("mobs.nobody.name=x", ""), ("paddocks.1.deeded=0 ac", "farm.impossible"), ("move ewes nowhere", ""),
    ],
)  # fmt: skip
def test_what_cannot_be_tried_is_told(live: Path, line: str, code: str) -> None:
    before = hashes(live)
    with pytest.raises(BadInput) as wrong:
        try_(live, [line], NOW)
    assert not code or wrong.value.findings[0].code == code
    assert hashes(live) == before


def test_the_way_to_a_value() -> None:
    assert setting("a.b=20 ft") == (("a", "b"), "20 ft")
    assert setting('tables."x.y".z = 3') == (("tables", "x.y", "z"), 3)
    assert setting("a.b=") == (("a", "b"), None)
    assert setting("a.b=[1, 2]") == (("a", "b"), [1, 2])
    assert setting("from=2026-05-06") == (("from",), date(2026, 5, 6))
    assert keys_of_way("plantings.old locust.spacing") == ("plantings", "old locust", "spacing")
