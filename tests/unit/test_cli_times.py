"""Times as people say them, on a farm's clock; the days of the clock change are those of the IANA data."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.chain.desk.times import day, past_day, wanted_day, when
from browseline.errors import BadInput
from browseline.events import When

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 5, 6, 7, 30, tzinfo=ZONE)  # a Wednesday


def local(found: When) -> tuple[str, str]:
    start, end = (x.astimezone(ZONE).strftime("%Y-%m-%d %H:%M") for x in (found.start, found.end))
    return start, end


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("now", "2026-05-06 07:30"),
        ("today 7:00", "2026-05-06 07:00"),
        ("7:00", "2026-05-06 07:00"),
        ("7", "2026-05-06 07:00"),
        ("6.45 am", "2026-05-06 06:45"),
        ("12 am", "2026-05-06 00:00"),
        ("yesterday 18:00", "2026-05-05 18:00"),
        ("yesterday 6pm", "2026-05-05 18:00"),
        ("yesterday noon", "2026-05-05 12:00"),
        ("Mon 7:00", "2026-05-04 07:00"),
        ("monday 7:00", "2026-05-04 07:00"),
        ("Thu 7:00", "2026-04-30 07:00"),
        ("3 May 21:00", "2026-05-03 21:00"),
        ("May 3 21:00", "2026-05-03 21:00"),
        ("3 May 2024 21:00", "2024-05-03 21:00"),
        ("7 May 7:00", "2025-05-07 07:00"),
        ("2026-05-06 07:00", "2026-05-06 07:00"),
        ("2026-05-06T07:00", "2026-05-06 07:00"),
        ("2026-05-06T06:00-05:00", "2026-05-06 07:00"),
        ("2 hours ago", "2026-05-06 05:30"),
        ("30 min ago", "2026-05-06 07:00"),
        ("2 days ago", "2026-05-04 07:30"),
        ("7 this morning", "2026-05-06 07:00"),
        ("9 last night", "2026-05-05 21:00"),
        ("2:30 last night", "2026-05-06 02:30"),
        ("10:30 yesterday morning", "2026-05-05 10:30"),
        ("3 yesterday afternoon", "2026-05-05 15:00"),
    ],
)
def test_an_instant(said: str, meant: str) -> None:
    assert local(when(said, NOW, ZONE)) == (meant, meant)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("7 May 7:00", "2026-05-07 07:00"),
        ("3 May 21:00", "2027-05-03 21:00"),
        ("6 May 21:00", "2026-05-06 21:00"),
        ("Mon 7:00", "2026-05-11 07:00"),
        ("Wed 8:00", "2026-05-06 08:00"),
        ("Wed 7:00", "2026-05-13 07:00"),
        ("8:00", "2026-05-06 08:00"),
        ("7:00", "2026-05-07 07:00"),
        ("tomorrow 7:00", "2026-05-07 07:00"),
        ("in 3 days 7:00", "2026-05-09 07:00"),
        ("3 May 2024 21:00", "2024-05-03 21:00"),
    ],
)
def test_a_planned_instant_is_the_next_such(said: str, meant: str) -> None:
    """A sale planned for 7 May on 6 May is not one of last year."""
    assert local(when(said, NOW, ZONE, ahead=True)) == (meant, meant)


def test_a_planned_day_alone_is_the_whole_of_the_next_such_day() -> None:
    assert local(when("10 Jul", NOW, ZONE, ahead=True)) == ("2026-07-10 00:00", "2026-07-10 23:59")
    assert local(when("3 May", NOW, ZONE, ahead=True)) == ("2027-05-03 00:00", "2027-05-03 23:59")
    assert local(when("Fri", NOW, ZONE, ahead=True)) == ("2026-05-08 00:00", "2026-05-08 23:59")


@pytest.mark.parametrize(
    ("said", "start", "end"),
    [
        ("between 21:00 and 6:30", "2026-05-05 21:00", "2026-05-06 06:30"),
        ("between 5:00 and 6:30", "2026-05-06 05:00", "2026-05-06 06:30"),
        ("between yesterday 21:00 and today 6:30", "2026-05-05 21:00", "2026-05-06 06:30"),
        ("between Mon 21:00 and Tue 6:30", "2026-05-04 21:00", "2026-05-05 06:30"),
        ("2026-05-05T21:00-04:00/2026-05-06T06:30-04:00", "2026-05-05 21:00", "2026-05-06 06:30"),
        ("yesterday", "2026-05-05 00:00", "2026-05-05 23:59"),
        ("2026-05-04", "2026-05-04 00:00", "2026-05-04 23:59"),
        ("today", "2026-05-06 00:00", "2026-05-06 07:30"),
        ("last night", "2026-05-05 18:00", "2026-05-06 06:00"),
        ("this morning", "2026-05-06 05:00", "2026-05-06 07:30"),
        ("yesterday evening", "2026-05-05 18:00", "2026-05-05 22:00"),
        ("since last night", "2026-05-05 18:00", "2026-05-06 07:30"),
        ("Since Mon 18:00", "2026-05-04 18:00", "2026-05-06 07:30"),
        ("since yesterday", "2026-05-05 00:00", "2026-05-06 07:30"),
        ("since about 6", "2026-05-06 05:30", "2026-05-06 07:30"),
        ("about 6", "2026-05-06 05:30", "2026-05-06 06:30"),
        ("around 6 this morning", "2026-05-06 05:30", "2026-05-06 06:30"),
        ("about 9 last night", "2026-05-05 20:30", "2026-05-05 21:30"),
        ("about 7:15", "2026-05-06 06:45", "2026-05-06 07:30"),
        ("about 12 yesterday morning", "2026-05-05 11:30", "2026-05-05 12:30"),
        ("between last night and 7", "2026-05-05 18:00", "2026-05-06 07:00"),
    ],
)
def test_an_interval_stays_an_interval(said: str, start: str, end: str) -> None:
    assert local(when(said, NOW, ZONE)) == (start, end)


def test_an_hour_that_was_twice_is_an_interval_of_both() -> None:
    after = datetime(2026, 11, 1, 12, tzinfo=ZONE)  # 1:30 was twice in that night
    found = when("today 1:30", after, ZONE)
    assert found.end - found.start == timedelta(hours=1)
    assert [x.utcoffset() for x in (found.start, found.end)] == [timedelta(hours=-4), timedelta(hours=-5)]


def test_an_hour_that_never_was_is_a_finding() -> None:
    with pytest.raises(BadInput, match="never was"):
        when("today 2:30", datetime(2026, 3, 8, 12, tzinfo=ZONE), ZONE)


@pytest.mark.parametrize(
    ("now", "said", "hours"),
    [
        (datetime(2026, 3, 8, 9, tzinfo=ZONE), "last night", 11),  # the night of the 23 h day
        (datetime(2026, 11, 1, 9, tzinfo=ZONE), "last night", 13),  # the night of the 25 h day
        (datetime(2026, 3, 8, 9, tzinfo=ZONE), "since last night", 14),
        (datetime(2026, 11, 1, 9, tzinfo=ZONE), "since last night", 16),
        (datetime(2026, 3, 8, 9, tzinfo=ZONE), "yesterday", 24 - 1 / 60),
        (datetime(2026, 3, 9, 9, tzinfo=ZONE), "yesterday", 23 - 1 / 60),
        (datetime(2026, 11, 2, 9, tzinfo=ZONE), "yesterday", 25 - 1 / 60),
        (datetime(2026, 3, 8, 9, tzinfo=ZONE), "about 3", 1),
        (datetime(2026, 11, 1, 9, tzinfo=ZONE), "about 3", 1),
        (datetime(2026, 11, 1, 9, tzinfo=ZONE), "about 1:30", 2),
        (datetime(2026, 3, 8, 9, tzinfo=ZONE), "this morning", 4),
        (datetime(2026, 11, 1, 3, tzinfo=ZONE), "last night", 10),
    ],
)
def test_an_interval_is_as_long_as_the_night_was(now: datetime, said: str, hours: float) -> None:
    found = when(said, now, ZONE)
    assert (found.end - found.start) / timedelta(hours=1) == pytest.approx(hours)
    assert When.read(found.text()) == found


def test_about_reaches_back_over_the_hour_that_never_was() -> None:
    found = when("about 3", datetime(2026, 3, 8, 12, tzinfo=ZONE), ZONE)
    assert local(found) == ("2026-03-08 01:30", "2026-03-08 03:30")


@pytest.mark.parametrize(
    "said", ["since 8:00", "about 8:00", "this afternoon", "since tomorrow", "9 this morning"]
)
def test_a_wide_time_that_lies_ahead_is_refused(said: str) -> None:
    with pytest.raises(BadInput, match="ahead of now"):
        when(said, NOW, ZONE)


def test_a_day_that_its_month_never_has_is_told_with_the_last_that_it_has() -> None:
    with pytest.raises(BadInput, match="no 31 Jun") as told:
        when("31 Jun 7:00", NOW, ZONE)
    assert "30 Jun" in str(told.value)
    with pytest.raises(BadInput, match="no 30 Feb"):
        when("Feb 30", NOW, ZONE)


@pytest.mark.parametrize("said", ["8:00", "tomorrow 7:00", "2026-05-07 07:00", "2027-01-01"])
def test_what_lies_ahead_is_refused_but_for_a_plan(said: str) -> None:
    with pytest.raises(BadInput, match="ahead of now"):
        when(said, NOW, ZONE)
    assert when(said, NOW, ZONE, ahead=True).start > NOW


@pytest.mark.parametrize(
    "said",
    [
        "soon",
        "25:00",
        "7:61",
        "13 pm",
        "9999999999 days ago",
        "0001-01-01",
        "9999-12-31",
        "between 7 and later",
        "since",
        "about",
        "since then",
        "about lunch",
        "noon last night",
        "7 am last night",
        "soon this morning",
        "2026-13-01",
    ],
)
def test_no_time_is_a_finding(said: str) -> None:
    with pytest.raises(BadInput, match="no time that can be read"):
        when(said, NOW, ZONE)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("15 Sep", date(2026, 9, 15)),
        ("1 May", date(2027, 5, 1)),
        ("6 May", date(2026, 5, 6)),
        ("today", date(2026, 5, 6)),
        ("tomorrow", date(2026, 5, 7)),
        ("Fri", date(2026, 5, 8)),
        ("Wed", date(2026, 5, 13)),
        ("in 3 days", date(2026, 5, 9)),
        ("2 weeks", date(2026, 5, 20)),
        ("2026-09-15", date(2026, 9, 15)),
        ("29 Feb", date(2028, 2, 29)),
        ("cleared", None),
        ("leaves gone", None),
        ("in 99999999999 weeks", None),
        ("31 Dec 9999", None),
    ],
)
def test_a_day_ahead(said: str, meant: date | None) -> None:
    assert day(said, NOW.date()) == meant


def test_a_wanted_day_that_is_none_is_a_finding() -> None:
    with pytest.raises(BadInput, match="no day"):
        wanted_day("cleared", NOW.date(), "--until cleared")


@given(st.text(max_size=40))
def test_any_text_is_a_time_or_a_finding(said: str) -> None:
    try:
        found = when(said, NOW, ZONE, ahead=True)
    except BadInput:
        return
    assert found.start <= found.end
    assert found.start.utcoffset() is not None


@given(st.integers(0, 6 * 365 * 1440))
def test_iso_says_itself(minutes: int) -> None:
    instant = NOW.astimezone(UTC) - timedelta(minutes=minutes)
    said = f"{instant.astimezone(ZONE):%Y-%m-%d %H:%M}"
    found = when(said, NOW, ZONE)
    assert found.start.astimezone(UTC) <= instant <= found.end.astimezone(UTC)
    assert f"{found.end.astimezone(ZONE):%Y-%m-%d %H:%M}" == said


@pytest.mark.parametrize(
    ("said", "meant"),
    [("1 Apr", date(2026, 4, 1)), ("31 Dec", date(2025, 12, 31)), ("2024-04-01", date(2024, 4, 1))],
)
def test_a_day_of_the_record_is_the_last_such_day(said: str, meant: date) -> None:
    assert past_day(said, date(2026, 6, 10), "--from") == meant


def test_a_past_day_that_is_none_is_a_finding() -> None:
    with pytest.raises(BadInput):
        past_day("someday", date(2026, 6, 10), "--from someday")
