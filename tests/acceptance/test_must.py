"""m1, m2, m4, m5, m6, m9, m10, m11, m13: what must work, through files, record and chain."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import Picture, today
from browseline.chain.improbable import improbable
from browseline.chain.ready import ready_dates
from browseline.events import (
    Back,
    Born,
    Borrowed,
    Counted,
    Died,
    Event,
    Fed,
    Moved,
    Opened,
    Penned,
    Returned,
    Shut,
    Sold,
    Walked,
)  # fmt: skip
from browseline.limits import bites
from browseline.papers.relief import relief
from browseline.units import CHOSEN, convert, parse, shown
from tests.acceptance.cases import (
    BALE,
    EWE,
    LAMBS,
    P2_HEIGHTS,
    at,
    entry,
    farm_folder,
    grows,
    mob,
    page,
    quantity,
    seen,
    walked,
)  # fmt: skip

MILK, SUCKING = {"intake": "4.4 lb/d"}, {"intake": "1.2 lb/d"}
IN = "2026-05-06 07:00"


def first_answer(folder: Path, *heights: float, now: str = IN) -> Picture:
    """Return a farm of eleven entries: head, class, weight, stage, acres, height, 275, 4, 70 %, 4.4, time."""
    typed: dict[str, Any] = {
        "schema": 1, "name": "First", "time_zone": "America/New_York", "units": "acres",
        "as_of": date(2026, 5, 6),
        "swards": {"grass": {"kind": "mixed_cool", "mass_per_height": "275 lb/ac/in", "leave_at": "4 in",
                             "share_eaten": "70 %"}},
        "paddocks": [{"id": "here", "name": "here", "deeded": "3.0 ac"}],
        "mobs": [{"id": "ewes", "name": "Ewes", "at": "here", "since": IN,
                  "lines": [{"kind": "sheep", "class": "ewe lactating twins", "head": 60, "weight": "150 lb",
                             "intake": "4.4 lb/d"}]}],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(tomlkit.dumps(typed), encoding="utf-8")
    reads = [entry(IN, "here", Walked(quantity(f"{height} in", "length"))) for height in heights]
    return seen(folder, now, reads)


def flock(folder: Path, now: str, *events: Event, place: str = "1", since: str = IN, **more: Any) -> Picture:
    """Return 60 ewes with 96 lambs at foot on the farm of the cases."""
    lines = mob(EWE | MILK, LAMBS | SUCKING, place=place, since=since)
    farm_folder(folder, as_of=date.fromisoformat(since[:10]), mobs=[lines], **more)
    return seen(folder, now, events)


# ---------------------------------------------------------------- m1, m2: the first limit


def test_m1_move_by_a_day_its_limit_and_one_other(tmp_path: Path) -> None:
    """2,310 lb ÷ 264 lb/d = 8.75 d, so worms (4 d) come first, and it is said."""
    picture = first_answer(tmp_path, 8.0)
    lines = today(picture).mobs[0].lines
    assert [line.limit for line in lines[:2]] == ["worms", "grass"]
    assert lines[0].likely == at("2026-05-10 07:00")
    assert lines[0].when == "by Sun 7:00"
    assert "4 days in is the longest stay" in lines[0].because
    days = next(f for f in lines[1].figures if f.name == "grass_days")
    assert days.value == pytest.approx(8.75, rel=0.01)
    assert lines[1].likely is not None
    assert (lines[1].likely - at(IN)) / timedelta(days=1) == pytest.approx(8.75, rel=0.01)


def test_m1_says_what_it_does_not_know(tmp_path: Path) -> None:
    assert "Growth is not known here" in page(today(first_answer(tmp_path, 8.0)))
    unread = today(first_answer(tmp_path / "unread"))
    assert "No height has been read in here." in page(unread)


def test_m1_where_no_growth_is_known_none_is_said_to_keep_up(tmp_path: Path) -> None:
    """Grass that lasts past the days looked at lasts by what stands, not by a growth that is not counted."""
    said = page(today(first_answer(tmp_path, 40.0)))
    assert "lasts for as far as can be seen with no growth" in said
    assert "keeps up" not in said


def test_m2_a_lower_height_puts_grass_above_worms(tmp_path: Path) -> None:
    high = first_answer(tmp_path, 8.0)
    assert [b.limit for b in bites(high.scene, "ewes", "here")][:2] == ["worms", "grass"]
    low = seen(tmp_path, IN, [entry(IN, "here", Walked(quantity("5 in", "length")))])
    first = today(low).mobs[0].lines[0]
    assert first.limit == "grass"
    assert first.likely is not None
    assert (first.likely - at(IN)) / timedelta(days=1) == pytest.approx(2.19, rel=0.01)


def test_m2_every_limit_says_when_why_how_sure_and_what_to_do(tmp_path: Path) -> None:
    for line in today(first_answer(tmp_path, 8.0)).mobs[0].lines:
        assert line.when
        assert line.because
        assert line.act
        assert line.mark in ("M", "B", "G")
        assert line.earliest is not None
        assert line.latest is not None
        assert line.earliest <= (line.likely or line.latest) <= line.latest


# ---------------------------------------------------------------- m4, m5: grass ahead, ready dates


def test_m4_grass_ahead_twice_and_what_was_left_out(tmp_path: Path) -> None:
    now = "2026-07-08 06:00"
    dry = [EWE | {"intake": "2.6 lb/d"}, LAMBS | {"intake": "2.4 lb/d"}]
    farm_folder(tmp_path, as_of=date(2026, 7, 8), mobs=[mob(*dry, place="1", since=now)])
    heights = dict(enumerate(P2_HEIGHTS, start=1))
    del heights[12]
    events = [
        *walked(now, heights),
        grows(now, "8 lb/ac/d", date(2026, 9, 15)),
        entry(now, "4", Shut("cherry limb down", "leaves gone")),
    ]
    ahead = today(seen(tmp_path, now, events)).ahead
    lb = sum(
        acres * (height - 4) * 275 * 0.7
        for n, (acres, height) in enumerate(
            zip((3, 3, 3, 3, 2, 2, 2, 3, 3, 2.5, 3.5, 4), P2_HEIGHTS, strict=True), start=1
        )
        if n not in (4, 12)
    )
    assert ahead.still is not None
    assert ahead.growing is not None
    assert ahead.still.value == pytest.approx(lb / 386.4, rel=0.01)
    assert ahead.growing.value == pytest.approx(lb / (386.4 - 27 * 8 * 0.7), rel=0.01)
    assert {x.paddock: x.because for x in ahead.left_out} == {"4": "Shut", "12": "no height read"}


def test_m5_grass_and_worms_apart_and_the_later_marked(tmp_path: Path) -> None:
    """They left 2 on 6 May; on 20 May its grass is up again, its 35 d of rest end on 10 June."""
    moves = [entry("2026-05-02 08:00", "ewes", Moved("2")), entry("2026-05-06 08:00", "ewes", Moved("3"))]
    reads = walked("2026-05-20 06:00", {2: 9.0, 3: 6.0})
    picture = flock(tmp_path, "2026-05-20 07:00", *moves, *reads, since="2026-05-01 07:00")
    rows = ready_dates(picture.scene, picture.scene.mobs[0])
    two = next(row for row in rows if row.paddock == "2")
    by_limit = dict(two.dates)
    grass, worms = by_limit["grass"], by_limit["worms"]
    assert grass is not None
    assert worms is not None
    assert grass <= picture.now
    assert picture.scene.local(worms).date() == date(2026, 6, 10)
    assert two.later == "worms"
    assert two.words == "Grass: ready and Worms: not until 10 Jun"
    assert all(row.paddock != "3" for row in rows)
    five = next(row for row in rows if row.paddock == "5")
    assert (five.later, five.words) == ("grass", "Worms: ready and Grass: day not known")


# ---------------------------------------------------------------- m6: shut and open


def test_m6_a_shut_paddock_is_never_offered_and_stands_on_every_page(tmp_path: Path) -> None:
    reads = walked(IN, {1: 6.0, 4: 12.0, 8: 7.0})
    shut = entry(IN, "4", Shut("cherry limb down", "leaves gone"))
    now = "2026-05-06 08:00"
    before = today(flock(tmp_path / "open", now, *reads))
    assert before.mobs[0].next is not None
    assert before.mobs[0].next.paddock == "4"
    picture = flock(tmp_path / "shut", now, *reads, shut)
    made = today(picture)
    assert made.mobs[0].next is not None
    assert made.mobs[0].next.paddock == "8"
    assert [(s.paddock, s.because, s.until) for s in made.shut] == [
        ("4", "cherry limb down", "until leaves gone")
    ]
    assert any(x.paddock == "4" for x in made.ahead.left_out)
    assert "cherry limb down" in page(relief(picture))


def test_m6_a_move_in_raises_an_alarm_and_keeps_its_reason(tmp_path: Path) -> None:
    shut = entry(IN, "4", Shut("cherry limb down", "leaves gone"))
    into = entry("2026-05-06 09:00", "ewes", Moved("4", "flood on the lane"))
    picture = flock(tmp_path, "2026-05-06 09:05", *walked(IN, {1: 6.0, 4: 6.0}), shut, into)
    made = today(picture)
    assert any("in 4, which is shut" in words for words in made.alarms)
    assert dict(picture.state.alarms[0].facts)["despite"] == "flood on the lane"
    assert made.mobs[0].lines[0].limit == "shut"
    assert made.quiet == ""


def test_m6_opening_ticks_the_condition_it_names(tmp_path: Path) -> None:
    two = [
        entry(IN, "4", Shut("cherry limb down", "leaves gone")),
        entry("2026-05-06 07:05", "4", Shut("gate broken", "gate mended")),
    ]
    one = entry("2026-05-06 07:30", "4", Opened("leaves gone"))
    still = flock(tmp_path / "one", "2026-05-06 08:00", *two, one)
    assert [s.because for s in still.state.shut] == ["gate broken"]
    both = entry("2026-05-06 07:40", "4", Opened("gate mended"))
    assert flock(tmp_path / "both", "2026-05-06 08:00", *two, one, both).state.shut == ()


def test_m6_shut_until_a_day_ends_that_day(tmp_path: Path) -> None:
    shut = entry(IN, "4", Shut("reseeded", until_day=date(2026, 5, 20)))
    reads = walked(IN, {1: 6.0, 4: 6.0})
    assert today(flock(tmp_path / "a", "2026-05-19 08:00", *reads, shut)).shut
    assert not today(flock(tmp_path / "b", "2026-05-20 08:00", *reads, shut)).shut


# ---------------------------------------------------------------- m9: counts


def test_m9_what_happened_reconciles(tmp_path: Path) -> None:
    """60 + 3 born, 1 died, 2 sold, 1 penned and back, 20 goats lent and returned."""
    day = "2026-05-07 0{}:00"
    events = [
        entry(day.format(1), "ewes", Born(3, "lambs")),
        entry(day.format(2), "ewes", Died(1, "ewes")),
        entry(day.format(3), "ewes", Sold(2, "lambs")),
        entry(day.format(4), "ewes", Penned("0123", ("ewes=1", "lambs=2"), "lame")),
        entry(day.format(5), "goats", Borrowed(20, "goat", "does", date(2026, 6, 1), "next door", "12")),
        entry(day.format(6), "ewes", Counted(("ewes=58", "lambs=95"))),
        entry(day.format(7), "ewes", Back("0123")),
        entry(day.format(8), "goats", Returned()),
        entry(day.format(9), "ewes", Counted(("ewes=59", "lambs=97"))),
    ]
    state = flock(tmp_path, "2026-05-07 10:00", *events).state
    assert state.questions == ()
    assert {line.klass: line.head for line in state.living()[0].lines} == {"ewes": 59, "lambs": 97}
    assert len(state.living()) == 1


def test_m9_a_difference_stays_a_question_and_edits_nothing(tmp_path: Path) -> None:
    short = entry("2026-05-07 08:00", "ewes", Counted(("ewes=59", "lambs=96")))
    picture = flock(tmp_path / "short", "2026-05-09 08:00", *walked(IN, {1: 8.0}), short)
    made = today(picture)
    assert picture.scene.mobs[0].head == 156
    assert any("59 ewes counted, 60 expected" in words for words in made.questions)
    assert any(line.limit == "count" and line.hard == "question" for line in made.mobs[0].lines)
    assert made.quiet == ""
    found = entry("2026-05-09 07:00", "ewes", Counted(("ewes=60", "lambs=96")))
    assert today(flock(tmp_path / "found", "2026-05-09 08:00", short, found)).questions == ()


# ---------------------------------------------------------------- m10: hay store


def test_m10_feeding_takes_bales_and_days(tmp_path: Path) -> None:
    """20 bales × 598.4 lb ÷ 264 lb/d = 45.3 d; after five are fed, 34.0 d."""

    def days(folder: Path, *fed: Event) -> tuple[float | None, date | None]:
        promise = {
            "id": "w",
            "kind": "feed",
            "what": "hay",
            "from": date(2026, 1, 2),
            "to": date(2026, 4, 20),
        }
        farm_folder(
            folder, as_of=date(2026, 1, 2), mobs=[mob(EWE | MILK)], hay=[BALE | {"bales": "20 bales"}],
            promises=[promise],
        )  # fmt: skip
        feed = today(seen(folder, "2026-01-03 08:00", fed)).feed
        assert feed is not None
        lasts = feed.balances[0].all_last
        assert lasts is not None
        return lasts.days.value, lasts.out

    full, out = days(tmp_path / "full")
    assert full == pytest.approx(20 * 598.4 / 264, rel=0.01)
    assert out == date(2026, 1, 3) + timedelta(days=45)
    less, sooner = days(
        tmp_path / "fed", entry("2026-01-03 07:00", "ewes", Fed(quantity("5 bales", "count")))
    )
    assert less == pytest.approx(15 * 598.4 / 264, rel=0.01)
    assert sooner == date(2026, 1, 3) + timedelta(days=34)


# ---------------------------------------------------------------- m11: calendar rules


@pytest.mark.parametrize(
    ("drop", "interval", "last"),
    [
        (date(2026, 9, 25), "", date(2026, 5, 28)),
        (date(2026, 9, 25), "90 d", date(2026, 6, 27)),
        (date(2026, 4, 1), "", date(2025, 12, 2)),
        (date(2028, 6, 28), "120 d", date(2028, 2, 29)),
    ],
)
def test_m11_harvest_less_the_interval(tmp_path: Path, drop: date, interval: str, last: date) -> None:
    rules = {"harvest_interval": interval} if interval else {}
    since = f"{last - timedelta(days=30)} 07:00"
    for days, closed in ((1, False), (0, True)):
        now = f"{last - timedelta(days=days)} 09:00"
        picture = flock(tmp_path / str(days), now, *walked(now, (6.0,) * 12), since=since,
                        harvest={"5": drop}, rules=rules)  # fmt: skip
        made = today(picture)
        assert made.harvest is not None
        assert made.harvest.rows[0].last_grazing == last
        assert any(x.paddock == "5" for x in made.ahead.left_out) is closed


# ---------------------------------------------------------------- m13: units


def week_old(folder: Path) -> Picture:
    return flock(folder, "2026-05-11 07:00", *walked(IN, {6: 7.0}))


def test_m13_an_improbable_height_is_questioned_once_and_can_be_kept(tmp_path: Path) -> None:
    picture = week_old(tmp_path)
    tall = entry("2026-05-11 07:00", "6", Walked(quantity("20 in", "length")))
    (asked,) = improbable(tall, picture)
    assert asked.level == "question"
    assert asked.what == "20 in? 5 days ago it was 7.0 in; grass rarely grows 13 in in 5 d."
    assert asked.mend.startswith("20 cm?")
    assert "keep it as it is" in asked.mend
    kept = seen(tmp_path, "2026-05-11 07:01", [tall])
    read = kept.state.last_height("6")
    assert read is not None
    assert read.height.text == "20 in"
    again = entry("2026-05-12 07:00", "6", Walked(quantity("20.5 in", "length")))
    assert improbable(again, kept) == ()


@pytest.mark.parametrize(
    ("height", "asks"), [("9 in", False), ("20 cm", False), ("6.5 in", False), ("60 in", True)]
)
def test_m13_only_the_improbable_is_questioned(tmp_path: Path, height: str, asks: bool) -> None:
    event = entry("2026-05-11 07:00", "6", Walked(quantity(height, "length")))
    assert bool(improbable(event, week_old(tmp_path))) is asks


def test_m13_a_first_height_has_nothing_to_be_compared_with_but_the_sward(tmp_path: Path) -> None:
    picture = week_old(tmp_path)
    (asked,) = improbable(entry(IN, "7", Walked(quantity("80 in", "length"))), picture)
    assert "rarely taller than" in asked.what
    assert asked.mend.startswith("Type it again") or asked.mend.startswith("80 cm?")
    assert improbable(entry(IN, "7", Walked(quantity("8 in", "length"))), picture) == ()


@pytest.mark.parametrize("text", ["4 1/2 in", "1,200 lb", "0.1 ac", "98.6 F", "275 lb/ac/in"])
def test_m13_a_hundred_switches_change_nothing(text: str) -> None:
    dimension = {"in": "length", "lb": "mass", "ac": "area", "F": "temperature"}.get(
        text.split()[-1], "herbage density"
    )
    typed = parse(text, dimension)
    value, unit = typed.value, typed.unit
    for n in range(100):
        other = CHOSEN[("hectares", "acres")[n % 2]][dimension]
        value, unit = convert(value, unit, other), other
    assert convert(value, unit, typed.unit) == typed.value
    assert typed.text == text
    assert isinstance(value, Fraction)


def test_m13_people_see_their_own_units() -> None:
    typed = parse("4 1/2 in", "length")
    assert shown(typed.to("cm"), "length", "acres") == "4.5 in"
    assert shown(typed.to("cm"), "length", "hectares") == "11.4 cm"
