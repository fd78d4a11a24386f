# ruff: noqa: E501 - events and edits stand in full view, one a row
from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.events import BadEvent, Event, Undone, from_json, to_json
from browseline.farm.records import Stage
from browseline.record.clock import clock_questions
from browseline.record.corrections import resolve
from browseline.record.fold import fold, fold_each
from browseline.record.join import join
from browseline.record.rows import checked, of_row, read, to_row
from browseline.record.schema import EVENT_COLUMNS, create
from browseline.record.state import State
from browseline.record.store import Record
from browseline.record.table import csv_events, events_csv, from_csv, from_lines, to_csv, to_lines
from browseline.units import parse
from tests.unit.record_events import quern_bank

START = datetime(2026, 4, 10, tzinfo=UTC)  # ten days before the farm's opening values
END = datetime(2027, 1, 1, tzinfo=UTC)
FARM = quern_bank()
MEMORY = next(
    (path for path in ("/dev/shm",) if Path(path).is_dir()), None
)  # syncing a disk proves nothing here

# ---------------------------------------------------------------- events of every kind that changes a state

MOBS = st.sampled_from(["ewes", "lambs", "goats"])
PADDOCKS = st.sampled_from(["1", "4", "6", "6/a", "yard", "Top Field"])
CLASSES = st.sampled_from(["ewe", "lamb", "doe"])
HEADS = st.lists(st.sampled_from(["ewe=2", "sheep/lamb=3", "4", "some"]), min_size=1, max_size=2)
FEW = st.integers(0, 9)

BODIES: dict[str, tuple[st.SearchStrategy[str], dict[str, st.SearchStrategy[Any]]]] = {
    "moved": (MOBS, {"to": PADDOCKS}),
    "split": (MOBS, {"into": MOBS, "head": HEADS}),
    "merged": (MOBS, {"into": MOBS}),
    "penned": (MOBS, {"animal": st.sampled_from(["7", "8"]), "head": HEADS}),
    "back": (MOBS, {"animal": st.sampled_from(["7", "8"])}),
    "counted": (MOBS, {"head": HEADS}),
    "born": (MOBS, {"head": FEW, "klass": CLASSES}),
    "died": (MOBS, {"head": FEW, "klass": CLASSES}),
    "weaned": (MOBS, {"head": FEW, "klass": CLASSES, "new_klass": CLASSES, "into": MOBS}),
    "borrowed": (MOBS, {"head": FEW, "beast": st.just("goat"), "klass": CLASSES, "to": PADDOCKS}),
    "returned": (MOBS, {}),
    "netted": (st.just("6"), {"parts": st.just(["a", "b"]), "areas": st.just(["1 ac", "1 ac"])}),
    "shut": (PADDOCKS, {"because": st.just("limb"), "until": st.sampled_from(["cleared", "dry"])}),
    "opened": (PADDOCKS, {"met": st.sampled_from(["cleared", "dry"])}),
    "rained": (st.just("farm"), {"depth": st.sampled_from(["3 mm", "0.5 in"])}),
    "fed": (MOBS, {"amount": st.sampled_from(["1 bale", "9 bales"])}),
    "undone": (st.just("farm"), {}),
    "sung_to": (MOBS, {"song": st.text(max_size=3)}),
}


@st.composite
def raw_events(draw: st.DrawFn, most: int = 14) -> list[dict[str, Any]]:
    """Draw events of three devices; some correct others, some are plans, some intervals."""
    found: list[dict[str, Any]] = []
    for number in range(draw(st.integers(1, most))):
        kind = draw(st.sampled_from(sorted(BODIES)))
        subject, fields = BODIES[kind]
        minutes = draw(st.integers(0, 260 * 24 * 4)) * 15
        zone = timezone(timedelta(hours=draw(st.sampled_from([-4, 0, 1]))))
        observed = (START + timedelta(minutes=minutes)).astimezone(zone)
        since = observed - timedelta(hours=draw(st.sampled_from([0, 0, 9])))
        clock = timedelta(hours=draw(st.sampled_from([0, 1, 48, -48])))
        span = observed.isoformat() if since == observed else f"{since.isoformat()}/{observed.isoformat()}"
        earlier = [raw["id"] for raw in found]
        found.append({
            "id": f"e{number:02d}", "device": draw(st.sampled_from("ABC")), "who": "owner", "observed": span,
            "recorded": (observed + clock).isoformat(), "kind": kind, "version": 1, "subject": draw(subject),
            "part": "", "planned": draw(st.sampled_from([False, False, False, True])),
            "supersedes": draw(st.sampled_from(["", "", *earlier])) if earlier else "", "reason": "",
            "value": {name: draw(choice) for name, choice in fields.items()},
        })  # fmt: skip
    return found


# ---------------------------------------------------------------- the fold


@given(raw_events(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_changes_nothing(raws: list[dict[str, Any]], luck: Any) -> None:
    events = [from_json(raw) for raw in raws]
    state = fold(FARM, events, END)
    shuffled = [*events, *events[:3]]
    luck.shuffle(shuffled)
    assert fold(FARM, shuffled, END) == state


@given(raw_events())
def test_a_mob_is_in_one_place_at_a_time_and_no_head_is_negative(raws: list[dict[str, Any]]) -> None:
    state = fold(FARM, [from_json(raw) for raw in raws], END)
    for mob in state.mobs:
        stays = [stay for stay in state.stays if stay.mob == mob.id]
        for stay, later in pairwise(stays):
            assert stay.end is not None
            assert stay.begin.start <= stay.end.start <= stay.end.end
            assert (stay.end.start, stay.end.end) <= (later.begin.start, later.begin.end)
        here = [stay for stay in stays if stay.end is None]
        assert [stay.place for stay in here] == ([] if mob.place is None else [mob.place])
        assert all(line.head > 0 for line in mob.lines)
        assert mob.ended is None or not here


@given(raw_events(), st.lists(st.integers(0, 260 * 24), min_size=1, max_size=4))
def test_the_log_of_heads_ends_with_the_animals_of_now(raws: list[dict[str, Any]], hours: list[int]) -> None:
    ewes = FARM.mobs[0]
    milk = Stage(date(2026, 5, 10), "milk", parse("4.4 lb/d", "intake"))
    dry = Stage(date(2026, 8, 1), "dry", parse("2.6 lb/d", "intake"))
    staged = replace(ewes, lines=(replace(ewes.lines[0], stages=(milk, dry)), ewes.lines[1]))
    events = [from_json(raw) for raw in raws]
    instants = [START + timedelta(days=11, hours=hour) for hour in sorted(hours)]
    for state in fold_each(quern_bank(mobs=(staged,)), events, instants):
        assert [at for at, _, _ in state.heads] == sorted(at for at, _, _ in state.heads)
        for mob in state.mobs:
            assert [lines for _, ident, lines in state.heads if ident == mob.id][-1] == mob.lines


def heads_of(state: State) -> int:
    return sum(mob.head + sum(line.head for pen in mob.pens for line in pen.lines) for mob in state.mobs)


@given(raw_events())
def test_moving_splitting_merging_and_penning_lose_nobody(raws: list[dict[str, Any]]) -> None:
    kinds = {"moved", "split", "merged", "penned", "back", "counted", "shut", "netted"}
    events = [from_json(raw) for raw in raws if raw["kind"] in kinds]
    assert heads_of(fold(FARM, events, END)) == 156


@given(raw_events(), st.sampled_from(["died", "born", "moved", "fed", "split"]))
def test_an_entry_dated_before_the_farm_changes_no_head_and_no_hay(
    raws: list[dict[str, Any]], kind: str
) -> None:
    late = [from_json(raw) for raw in raws if raw["observed"] > "2026-04-22"]
    value = {"died": {"head": 9, "klass": "ewe"}, "born": {"head": 9, "klass": "lamb"}, "moved": {"to": "9"},
             "fed": {"amount": "3 bales"}, "split": {"into": "x", "head": ["9"]}}[kind]  # fmt: skip
    early = from_json({
        "id": "early", "device": "A", "who": "", "observed": "2026-01-01T00:00:00+00:00",
        "recorded": "2026-05-01T00:00:00+00:00", "kind": kind, "version": 1, "subject": "ewes", "value": value,
    })  # fmt: skip
    with_it, without = fold(FARM, [early, *late], END), fold(FARM, late, END)
    assert [(m.id, m.lines, m.pens, m.place) for m in with_it.mobs] == [
        (m.id, m.lines, m.pens, m.place) for m in without.mobs
    ]
    assert with_it.hay == without.hay
    assert "early" in {question.event for question in with_it.questions}


@pytest.mark.parametrize(
    ("first", "last", "hours"),
    [
        ("2026-03-08T05:00:00+00:00", "2026-03-09T04:00:00+00:00", 23),
        ("2026-11-01T04:00:00+00:00", "2026-11-02T05:00:00+00:00", 25),
    ],
)
def test_days_of_23_and_25_hours(first: str, last: str, hours: int) -> None:
    begin, end = datetime.fromisoformat(first), datetime.fromisoformat(last)
    assert end - begin == timedelta(hours=hours)
    farm = quern_bank(as_of=datetime.fromisoformat("2026-01-01").date())
    days = []
    for step in range(-2, 2 * hours + 2):  # every half hour, and an hour beyond at both ends
        instant = (begin + timedelta(minutes=30 * step)).isoformat()
        rain = from_json({
            "id": "r", "device": "A", "who": "", "observed": instant, "recorded": instant, "kind": "rained",
            "version": 1, "subject": "farm", "value": {"depth": "3 mm"},
        })  # fmt: skip
        days.append(fold(farm, [rain], END).rain[0][0].isoformat())
    day = first[:10]
    assert days.count(day) == 2 * hours
    assert days == sorted(days)


# ---------------------------------------------------------------- corrections, against their definition


def stands(event: Event, events: Sequence[Event]) -> Event | None:
    """What stands in an event's stead, said as plainly as possible: the latest live correction's."""
    corrections = [e for e in events if e.supersedes == event.id]
    live = [s for e in corrections if (s := stands(e, events)) is not None]
    if not live:
        return event
    last = max(live, key=lambda e: (e.recorded, e.id))
    return None if isinstance(last.body, Undone) else last


@given(raw_events(most=20))
def test_corrections_of_corrections_stand_as_defined(raws: list[dict[str, Any]]) -> None:
    events = [from_json({**raw, "planned": False}) for raw in raws]
    found = [stands(event, events) for event in events if not event.supersedes]
    wanted = sorted(e.id for e in found if e is not None and not isinstance(e.body, Undone))
    assert sorted(event.id for event in resolve(events).standing) == wanted


@given(st.integers(1, 40), st.booleans())
def test_a_long_chain_of_corrections(length: int, undo: bool) -> None:
    kind = ["undone" if undo and n else "rained" for n in range(length)]
    raws = [
        {
            "id": f"c{n:03d}", "device": "A", "who": "", "observed": "2026-05-01T00:00:00+00:00",
            "recorded": "2026-05-01T00:00:00+00:00", "kind": kind[n], "version": 1, "subject": "farm",
            "supersedes": f"c{n - 1:03d}" if n else "", "value": {} if kind[n] == "undone" else {"depth": f"{n} mm"},
        }
        for n in range(length)
    ]  # fmt: skip
    standing = [event.id for event in resolve(map(from_json, raws)).standing]
    if undo:  # undoing an undoing brings the first back
        assert standing == (["c000"] if length % 2 else [])
    else:
        assert standing == [f"c{length - 1:03d}"]


# ---------------------------------------------------------------- tables

TEXTS = st.text(max_size=12) | st.sampled_from(
    ["=1+1", "'x", "-", "+", "@a", "\t", "a\r\nb", '"', "\u2028", "\x00"]
)
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=6,
)
STRANGE = st.fixed_dictionaries({
    "id": TEXTS, "device": TEXTS, "who": TEXTS, "observed": st.just("2026-05-01T00:00:00+00:00"),
    "recorded": st.just("2026-11-01T01:30:00-05:00"), "kind": TEXTS, "version": st.integers(1, 99),
    "subject": TEXTS, "part": TEXTS, "planned": st.booleans(), "supersedes": TEXTS, "reason": TEXTS,
    "value": st.dictionaries(TEXTS, VALUES, max_size=3),
})  # fmt: skip


@given(st.lists(STRANGE | raw_events(most=1).map(lambda raws: raws[0]), max_size=4))
def test_a_table_out_and_in_is_unchanged(raws: list[dict[str, Any]]) -> None:
    text = to_csv(raws)
    assert from_csv(text) == raws
    assert to_csv(from_csv(text)) == text
    assert from_lines(to_lines(raws)) == raws
    for row in text.split("\r\n")[1:]:
        assert not row.startswith(("=", "+", "-", "@"))


@given(raw_events())
def test_events_out_and_in_are_unchanged(raws: list[dict[str, Any]]) -> None:
    events = [from_json(raw) for raw in raws]
    assert [to_json(event) for event in csv_events(events_csv(events))] == raws
    assert csv_events(events_csv(events)) == events
    assert [checked(raw) for raw in raws] == raws


# ---------------------------------------------------------------- copies on disk, joined in any order

TOML = 'name = "F"\n\n[[paddock]]\nid = "1"\narea = "3 ac"\n\n[[paddock]]\nid = "2"\narea = "2 ac"\n'
MAP = '{"type": "FeatureCollection", "features": [{"type": "Feature", "id": "a", "geometry": null, "properties": {"n": 1}}]}\n'
EDITS = [
    ("farm.toml", '"3 ac"', '"3.1 ac"'), ("farm.toml", '"3 ac"', '"3.2 ac"'), ("farm.toml", '"2 ac"', '"2.2 ac"'),
    ("farm.toml", 'name = "F"\n', 'name = "G"\nseed = 2\n'), ("farm.toml", '[[paddock]]\nid = "1"\narea = "3 ac"\n\n', ""),
    ("farm.toml", '[[paddock]]\nid = "2"', '[[paddock]]\nid = "3"\narea = "9 ac"\n\n[[paddock]]\nid = "2"'),
    ("farm.toml", 'name = "F"', "name = "), ("map.geojson", '{"n": 1}', '{"n": 2}'), ("map.geojson", '{"n": 1}', '{"m": 1}'),
    ("map.geojson", MAP, ""), ("weather.csv", "", "date,rain_mm\n2026-05-01,3\n"),
    ("weather.csv", "", "date,rain_mm\n2026-05-02,4\n"),
]  # fmt: skip


@st.composite
def three_copies(
    draw: st.DrawFn,
) -> list[tuple[list[dict[str, Any]], list[tuple[tuple[str, str, str], int]]]]:
    """Draw for each copy the events it holds and the edits it makes, each at its hour."""
    raws = draw(raw_events(most=8))
    held = [[raw for raw in raws if draw(st.booleans()) or raw["device"] == device] for device in "ABC"]
    edits = st.lists(st.tuples(st.sampled_from(EDITS), st.integers(0, 50)), max_size=3)
    return [(mine, draw(edits)) for mine in held]


def put(folder: Path, name: str, content: str, hour: int) -> None:
    path = folder / name
    path.write_text(content, encoding="utf-8")
    stamp = (START + timedelta(hours=hour)).timestamp()
    os.utime(path, (stamp, stamp))


def make(
    folder: Path,
    device: str,
    raws: Sequence[dict[str, Any]],
    edits: Sequence[tuple[tuple[str, str, str], int]],
) -> None:
    with Record.open(folder, device) as record:
        record.append_rows(raws)
        for (name, old, new), hour in edits:
            before = (folder / name).read_text(encoding="utf-8") if (folder / name).is_file() else ""
            if old in before and new not in before:
                put(folder, name, before.replace(old, new, 1), hour)
                if hour % 2:  # sometimes the record sees the edit now, sometimes only at the join
                    record.keep_files(END)


def whole(folder: Path, clashes: object) -> tuple[object, ...]:
    with Record.open(folder) as record:
        rows = sorted(json.dumps(row, sort_keys=True) for row in record.rows())
        files = {
            path.name: path.read_bytes()
            for path in folder.iterdir()
            if path.suffix in (".toml", ".geojson", ".csv")
        }
        return rows, files, clashes, fold(FARM, record.events(), END), record.files_on(END)


def rooms(base: Path, copies: Sequence[Any]) -> Iterator[tuple[tuple[int, ...], Path]]:
    first = base / "first"
    first.mkdir()
    put(first, "farm.toml", TOML, 0)
    put(first, "map.geojson", MAP, 0)
    with Record.open(first, "A") as record:
        record.keep_files(END)
    for number, (raws, edits) in enumerate(copies):
        shutil.copytree(first, base / f"copy{number}")
        make(base / f"copy{number}", "ABC"[number], raws, edits)
    for order in permutations(range(3)):
        room = base / "".join(map(str, order))
        room.mkdir()
        for number in range(3):
            shutil.copytree(base / f"copy{number}", room / f"copy{number}")
            with Record.open(room / f"copy{number}", "ABC"[number]):
                pass
        yield order, room


@settings(max_examples=10)
@given(three_copies())
def test_any_order_of_joining_ends_alike(copies: list[Any]) -> None:
    with tempfile.TemporaryDirectory(dir=MEMORY) as base:
        ends = []
        for order, room in rooms(Path(base), copies):
            target, second, third = (room / f"copy{number}" for number in order)
            join(target, second, END)
            clashes = join(target, third, END).clashes
            ends.append(whole(target, clashes))
            again = join(target, second, END)  # idempotent
            assert whole(target, again.clashes) == ends[-1]
            join(third, target, END)  # and the other way round
            assert whole(third, clashes) == ends[-1]
        assert all(end == ends[0] for end in ends)


@settings(max_examples=5)
@given(three_copies())
def test_joining_pairs_first_ends_alike(copies: list[Any]) -> None:
    with tempfile.TemporaryDirectory(dir=MEMORY) as base:
        ends = []
        for order, room in rooms(Path(base), copies):
            first, second, third = (room / f"copy{number}" for number in order)
            join(second, third, END)  # (first ∪ (second ∪ third))
            ends.append(whole(first, join(first, second, END).clashes))
        assert all(end == ends[0] for end in ends)


NOISE: st.SearchStrategy[Any] = VALUES | st.sampled_from([
    float("nan"), float("inf"), "\ud800", 1 << 80, -1, 0, "9" * 5000, "0001-01-01T00:00:00+05:00", "2026-05-01", "moved",
    "9999-12-31T23:00:00-05:00", "2026-05-02T00:00:00+00:00/2026-05-01T00:00:00+00:00", {"to": "6"}, {"to": ["6"]}, ["ab"],
    {"head": ["=3", "1=2"]}, {"a": float("nan")}, {"depth": "1 mm"}, {"depth": "0 mm"}, {"head": 3, "klass": "ewe"},
])  # fmt: skip


@st.composite
def damaged(draw: st.DrawFn) -> dict[str, Any]:
    """Draw an event with up to three of its parts replaced by noise, or gone."""
    raw = draw(raw_events(most=2))[-1]
    for name in draw(st.lists(st.sampled_from(sorted(raw)), max_size=3)):
        if draw(st.booleans()):
            raw[name] = draw(NOISE)
        else:
            raw.pop(name, None)
    return raw


@given(st.lists(damaged(), max_size=4))
def test_noise_is_refused_or_kept_and_folded_and_never_a_crash(raws: list[dict[str, Any]]) -> None:
    good = []
    for raw in raws:
        with contextlib.suppress(BadEvent):
            good.append(checked(raw))
    assert [checked(raw) for raw in good] == good
    assert from_csv(to_csv(good)) == good
    for row, raw in zip(map(to_row, good), good, strict=True):
        assert of_row(row[:-1]) == raw
    events = [read(raw) for raw in good]
    assert fold(FARM, events, END).at == END
    database = sqlite3.connect(":memory:", isolation_level=None)
    create(database)
    marks = ", ".join("?" * (len(EVENT_COLUMNS) + 1))
    insert = f"INSERT INTO event VALUES ({marks}) ON CONFLICT (id, sha256) DO NOTHING"  # noqa: S608 - only marks
    database.executemany(insert, map(to_row, good))
    database.close()


@given(raw_events())
def test_a_phone_whose_clock_is_two_days_ahead_is_named(raws: list[dict[str, Any]]) -> None:
    events = [from_json(raw) for raw in raws]
    now = max(event.recorded for event in events) - timedelta(days=2)
    found = clock_questions(events, now)
    fast = {event.device for event in events if event.recorded - now > timedelta(hours=2)}
    assert fast <= {question.subject for question in found}
    assert all(question.code == "clock" for question in found)
