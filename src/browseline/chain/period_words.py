"""A stay of the record in words: when it began and ended, who it was, what was read and fed, each once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from browseline.ledger.account import dated
from browseline.words import day_words, say

DAY = timedelta(days=1)


def moved_words(start: datetime, end: datetime, first: date, last: date) -> str:
    """Return when a mob moved: 24 Apr 8:00, 24 Apr between 7:00 and 9:00, between 24 Apr and 26 Apr.

    Parameters
    ----------
    start, end : datetime
        On the farm's clock; the same where the instant is known.
    first, last : date
        The period that is told, its last day not included: in one year, that year is not said each time.
    """
    years = {first.year, (last - DAY).year}
    if start == end:
        return _instant(start, years)
    whole = start.time() == end.time() == time(0)
    if whole and end.date() - start.date() == DAY:
        return _day(start.date(), years)
    if start.date() == end.date():
        times = {"first": _clock(start), "last": _clock(end)}
        return say("account.period.within", day=_day(start.date(), years), **times)
    if whole:
        days = {"first": _day(start.date(), years), "last": _day(end.date() - DAY, years)}
        return say("account.period.between", **days)
    return say("account.period.between", first=_instant(start, years), last=_instant(end, years))


def _instant(at: datetime, years: set[int]) -> str:
    return say("account.period.at", day=_day(at.date(), years), time=_clock(at))


def _clock(at: datetime) -> str:
    return say("account.period.clock", hour=at.hour, minute=f"{at.minute:02d}")


def _day(day: date, years: set[int]) -> str:
    return day_words(day) if years == {day.year} else dated(day)


def stay_words(
    came: str,
    went: str | None,
    classes: str,
    heights: tuple[str | None, str | None],
    feed: str,
    *,
    here: bool,
) -> Iterator[str]:
    """Yield what is known of a stay, and what nobody wrote down, each once.

    Parameters
    ----------
    came, went : str
        When, in words; ``went`` is None where no out date was written, or the mob is still there.
    classes, feed : str
        Who went in and what they were fed; empty where nobody wrote it down.
    heights : (str, str)
        When they came and when they left; None is not read.
    here : bool
        Whether the mob is still there.
    """
    left = say("account.period.out", left=went) if went is not None else ""
    left = left or say("account.period.here" if here else "account.period.no_out")
    yield say("account.period.in_out", entered=came, left=left, who=classes or say("account.period.no_head"))
    height_in, height_out = heights
    ends = "here" if here and height_out is None else "out" if height_out is not None else "unread"
    key = f"account.period.grass_{'in' if height_in is not None else 'unread'}_{ends}"
    yield say(key, entered=height_in, left=height_out)
    if feed:
        yield say("account.period.feed", feed=feed)
