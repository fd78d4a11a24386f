"""The phone's table against the limits' own answers, and entries of phones on their way into the record."""

from __future__ import annotations

import copy
import json
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.chain import Picture, look
from browseline.chain.look import picture
from browseline.chain.pocket.ahead import COMING_D
from browseline.chain.pocket.page import TABLE, Pocket, news_of, pocket
from browseline.chain.pocket.received import LONGEST_ENTRY, received, sorted_out
from browseline.chain.pocket.series import Answer, knots
from browseline.chain.pocket.table import LimitTable, limit_table
from browseline.cli.demo import copy_example, example
from browseline.events import KINDS, Event, Moved, Treated, When, new_id, to_json
from browseline.exchange.plain import document
from browseline.farm.read import read as farm_of
from browseline.limits import Bite, bites
from browseline.record.fold import fold
from browseline.record.rows import Raw, raw_of
from browseline.record.store import Record

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("pocket") / "farm"
    copy_example(example(), made)
    return made


@pytest.fixture(scope="module")
def seen(folder: Path) -> Picture:
    return look(folder, NOW)


@pytest.fixture(scope="module")
def table(seen: Picture) -> LimitTable:
    return limit_table(seen)


def moved(now: datetime, mob: str = "heifers", to: str = "2", **more: Any) -> Event:
    event = Event(new_id(now), "p-0123456789abcdef", "owner", When.at(now), now, mob, Moved(to, **more))
    return replace(event)


def _picture(folder: Path, events: tuple[Event, ...], now: datetime) -> Picture:
    farm = farm_of(folder).farm
    assert farm is not None
    return picture(folder, farm, events, fold(farm, events, now), now, 51, 45)


def entry(**changes: Any) -> Raw:
    return raw_of(moved(NOW)) | changes


# ---------------------------------------------------------------- the table


def looked_up(row: tuple[tuple[int, ...], ...], day: float) -> tuple[float, ...]:
    """Look an answer up as a phone does: between two dated knots on a line, else the knot before."""
    at = max(i for i, knot in enumerate(row) if i == 0 or knot[0] <= day)
    here, after = row[at], row[at + 1] if at + 1 < len(row) else ()
    if len(here) == 4 and len(after) == 4:
        share = (day - here[0]) / (after[0] - here[0])
        return tuple(a + share * (b - a) for a, b in zip(here[1:], after[1:], strict=True))
    return here[1:]


ANSWERS = st.one_of(st.just(()), st.just((0,)), st.tuples(*[st.integers(-2000, 40_000)] * 3))


@given(st.lists(ANSWERS, min_size=1, max_size=len(COMING_D)))
def test_no_answer_is_lost_between_the_knots(answers: list[Answer]) -> None:
    days = COMING_D[: len(answers)]
    found = knots(answers, days)
    for day, answer in zip(days, answers, strict=False):
        told = looked_up(found, day)
        assert len(told) == len(answer)
        off = max(30, 0.03 * (answer[0] - 1440 * day)) + 1 if answer else 0
        assert all(abs(a - b) <= off for a, b in zip(told, answer, strict=True))


@given(st.integers(0, 5000), st.integers(0, 1440))
def test_a_line_is_two_knots(start: int, slope: int) -> None:
    line = [(start + slope * day,) * 3 for day in COMING_D]
    assert [knot[0] for knot in knots(line, COMING_D)] == [0, 14]


@pytest.mark.parametrize(("mob", "to"), [("heifers", "2"), ("heifers", "12"), ("ewes", "9"), ("goats", "10")])
@pytest.mark.parametrize("day", [0, 3, 8, 14])
def test_the_table_says_what_the_limits_say_once_the_mob_has_come(
    seen: Picture, table: LimitTable, mob: str, to: str, day: int
) -> None:
    then = NOW + timedelta(days=day)
    events = (*seen.events, moved(then, mob, to, despite_shut="a test"))
    after = _picture(seen.folder, events, then)
    own = bites(after.scene, mob, to)
    m = [one.id for one in seen.scene.mobs].index(mob)
    rows = table.rows[m][seen.scene.paddocks.index(to)]
    told: dict[tuple[str, str], tuple[float, ...]] = {}
    for row in rows:
        answer = looked_up(row.come, day)
        if answer:
            told.setdefault((table.texts[row.short], row.hard), answer)
    assert set(told) == {(bite.short, bite.hardness) for bite in own}
    for bite in own:
        assert_near(bite, told[bite.short, bite.hardness], then)


def assert_near(bite: Bite, answer: tuple[float, ...], then: datetime) -> None:
    assert (bite.moment is None) == (len(answer) == 1), bite.short
    if bite.moment is not None:
        off = abs(NOW + answer[0] * MINUTE - bite.moment.likely)
        wide = bite.moment.latest - bite.moment.earliest
        ahead = max(bite.moment.likely - then, timedelta())
        assert off <= max(timedelta(hours=1), 0.05 * ahead, 0.1 * wide), f"{bite.short}: {off}"


def test_a_mob_that_stands_is_told_what_today_tells(seen: Picture, table: LimitTable) -> None:
    for m, mob in enumerate(seen.scene.mobs):
        assert mob.place is not None
        rows = table.rows[m][seen.scene.paddocks.index(mob.place)]
        here = {table.texts[row.short]: row.here for row in rows if row.here}
        own = {bite.short: bite for bite in bites(seen.scene, mob.id, mob.place)}
        assert set(here) == set(own)
        for short, bite in own.items():
            if bite.moment is not None:
                assert abs(NOW + here[short][0] * MINUTE - bite.moment.likely) <= timedelta(hours=1)


def test_a_lower_height_brings_grass_nearer(seen: Picture, table: LimitTable) -> None:
    m, p = 0, seen.scene.paddocks.index(str(seen.scene.mobs[0].place))
    row = next(row for row in table.rows[m][p] if "down to" in table.texts[row.short])
    likely = [answer[0] if answer else math.inf for answer in row.heights[0]]
    assert likely == sorted(likely)
    assert likely[0] == 0


def test_what_a_phone_carries_is_small(seen: Picture) -> None:
    text = json.dumps(document("x", pocket(seen, "owner", "owner", "0")), ensure_ascii=False)
    assert len(text.encode()) < 100_000


def test_the_page_names_the_versions_that_the_program_reads(seen: Picture) -> None:
    page = pocket(seen, "owner", "owner", "0")
    assert page.table_version == TABLE
    assert page.kinds == {kind: body.version for kind, body in KINDS.items()}
    assert page.events == news_of(seen).events == len(seen.events)


# ---------------------------------------------------------------- what relief carries


def test_relief_carries_no_money_treatment_or_coordinate(folder: Path) -> None:
    typed = "ring about $98,765 at 41.12345, -45.54321, drenched with Zolvex"
    with Record.open(folder) as record:
        events = record.events()
    at = NOW - timedelta(hours=1)
    shut = {**entry(), "id": new_id(at), "kind": "shut", "subject": "3", "value": {"because": typed}}
    treated = Event(new_id(at), "p-0123456789abcdef", "owner", When.at(at), at, "ewe 7", Treated("Zolvex"))
    with_both = (*events, treated, _event(shut))
    after = _picture(folder, with_both, NOW)
    told = {whole: _text(pocket(after, "relief", "relief", "0", whole=whole)) for whole in (True, False)}
    assert typed in told[True]
    assert [word for word in ("98,765", "41.12345", "45.54321", "Zolvex") if word in told[False]] == []


def _event(raw: Raw) -> Event:
    from browseline.record.rows import read

    return read(raw)


def _text(page: Pocket) -> str:
    return json.dumps(document("x", page), ensure_ascii=False)


# ---------------------------------------------------------------- entries on their way home


def test_what_can_be_kept_is_kept_in_the_form_of_the_record() -> None:
    found = sorted_out([entry()], "owner", "owner")
    assert found.refused == ()
    assert found.good[0]["value"] == {"to": "2"}


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        ({"id": "41"}, "id"),
        ({"device": "somebody"}, "device"),
        ({"value": {}}, "to"),
        ({"value": []}, "value"),
        ({"version": 0}, "version"),
        ({"version": "many"}, "envelope"),
        ({"observed": "2026-06-10T12:00"}, "envelope"),
        ({"recorded": "2026-06-10T12:00"}, "recorded"),
        ({"kind": "walked", "value": {"height": "8 parsecs"}}, "height"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_part(changes: Raw, part: str) -> None:
    found = sorted_out([entry(**changes)], "owner", "owner")
    assert found.good == ()
    assert f"{part}." in found.refused[0].why


def test_a_newer_kind_and_a_newer_version_are_kept_as_they_came() -> None:
    strange = [
        entry(kind="milked", value={"litres": 3}),
        entry(id=new_id(NOW), version=7, value={"where": {"a": 1}}),
    ]
    found = sorted_out(strange, "owner", "owner")
    assert found.refused == ()
    assert [raw["value"] for raw in found.good] == [{"litres": 3}, {"where": {"a": 1}}]


def test_an_entry_in_anothers_name_is_refused() -> None:
    found = sorted_out([entry()], "relief", "relief")
    assert "owner" in found.refused[0].why


def test_relief_writes_what_is_done_in_the_field_and_an_adviser_nothing() -> None:
    sold = entry(who="relief", kind="sold", value={"head": 3, "klass": "ewe"})
    assert sorted_out([entry(who="relief"), sold], "relief", "relief").refused[0].id == sold["id"]
    assert len(sorted_out([entry(who="relief")], "relief", "relief").good) == 1
    assert sorted_out([entry(who="adviser")], "adviser", "adviser").good == ()


DEEP = json.loads("[" * 900 + "]" * 900)


@pytest.mark.parametrize(
    "item",
    [
        None,
        3,
        "move",
        [],
        {},
        {"id": "\ud800"},
        {"id": {}},
        {"note": "x" * LONGEST_ENTRY},
        json.loads("[" * 900 + "]" * 900),
    ],
)
def test_anything_else_is_refused_and_never_breaks(item: Any) -> None:
    found = sorted_out([item, entry()], "owner", "owner")
    assert len(found.good) == 1
    json.dumps([one.id + one.why for one in found.refused], ensure_ascii=False).encode()


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(sorted(to_json(moved(NOW)))), JSON))
def test_no_part_of_an_entry_breaks_the_server(changes: Raw) -> None:
    found = sorted_out([entry(**changes)], "owner", "owner")
    assert len(found.good) + len(found.refused) == 1
    json.dumps([found.good, [one.why for one in found.refused]], ensure_ascii=False).encode()


def test_the_same_entries_twice_are_once_in_the_record(folder: Path, tmp_path: Path) -> None:
    from shutil import copytree

    from browseline.web.store import Store

    store = Store(Path(copytree(folder, tmp_path / "farm")))
    one = entry()
    raws = sorted_out([one, copy.deepcopy(one)], "owner", "owner").good
    before, after = store.take(raws, NOW)
    again, last = store.take(copy.deepcopy(raws), NOW)
    assert len(after.events) == len(before.events) + 1 == len(again.events) == len(last.events)


def test_an_alarm_and_a_clock_that_is_off_come_back(folder: Path, seen: Picture) -> None:
    into = {**entry(), "subject": "heifers", "value": {"to": "10", "despite_shut": "no other way"}}
    batch = sorted_out([into], "owner", "owner")
    events = (*seen.events, _event(into))
    after = _picture(folder, events, NOW)
    late = (NOW + timedelta(hours=5)).astimezone(UTC)
    told = received(batch, seen, after, late, "p-0123456789abcdef")
    assert told.kept == (into["id"],)
    assert told.events == len(events)
    assert any("Cherry Edge" in alarm for alarm in told.alarms)
    assert any("p-0123456789abcdef" in asked for asked in told.asked)
    received(batch, seen, after, late.replace(tzinfo=None), "p-0123456789abcdef")
