"""When it happened, as people say it: ``yesterday 18:00``, ``since last night``, ``about 7``, ``6 May``.

What is not said to the minute is kept as the interval that holds it (``PARTS``, ``ABOUT``). Everything
is read on the farm's clock, from a ``now`` that is given. An instant that a clock change makes double is
kept as the interval that holds both; one that it leaves out is a finding.
"""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import MAXYEAR, UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from browseline.errors import BadInput, Finding, finding
from browseline.events import When
from browseline.words import day_words

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NAMED = {"noon": time(12), "midday": time(12), "midnight": time(0)}
DAYS_BACK = {"today": 0, "yesterday": 1, "tomorrow": -1}
PARTS: dict[str, tuple[int, time, int, time]] = {
    "last night": (1, time(18), 0, time(6)),
    "this morning": (0, time(5), 0, time(12)),
    "this afternoon": (0, time(12), 0, time(18)),
    "this evening": (0, time(18), 0, time(22)),
    "yesterday morning": (1, time(5), 1, time(12)),
    "yesterday afternoon": (1, time(12), 1, time(18)),
    "yesterday evening": (1, time(18), 1, time(22)),
}
"""Parts of a day: days back and time of its first minute, days back and time of its last."""
ABOUT = timedelta(minutes=30)
"""How far ``about`` reaches to either side."""
FARTHEST_YR, LEAP, COMMON = 200, 2024, 2023
STEPS = {"min": 60, "minute": 60, "h": 3600, "hour": 3600, "d": 86400, "day": 86400, "week": 604800}

_CLOCK = re.compile(r"(?P<hour>\d{1,2})(?:[:.h](?P<minute>\d{2}))?\s*(?P<half>am|pm)?", re.IGNORECASE)
_AGO = re.compile(r"(?P<number>\d+)\s*(?P<step>[a-z]+?)s?\s+ago", re.IGNORECASE)
_AHEAD = re.compile(r"(?:in\s+)?(?P<number>\d+)\s*(?P<step>d|day|week)s?", re.IGNORECASE)
_BETWEEN = re.compile(r"between\s+(?P<first>.+?)\s+and\s+(?P<last>.+)", re.IGNORECASE)
_ABOUT = re.compile(r"(?:about|around)\s+(?P<time>.+)", re.IGNORECASE)
_SINCE = re.compile(r"since\s+(?P<time>.+)", re.IGNORECASE)
_DAY_MONTH = re.compile(r"(?P<day>\d{1,2})\s+(?P<month>[a-z]{3,9})\.?(?:\s+(?P<year>\d{4}))?", re.IGNORECASE)
_MONTH_DAY = re.compile(
    r"(?P<month>[a-z]{3,9})\.?\s+(?P<day>\d{1,2})(?:,?\s+(?P<year>\d{4}))?", re.IGNORECASE
)


def when(text: str, now: datetime, zone: ZoneInfo, *, ahead: bool = False) -> When:
    """Return the instant or interval that a text means.

    Parameters
    ----------
    text : str
        Such as ``2026-05-06 07:00``, ``today 7:00``, ``Mon 18:00``, ``2 hours ago``,
        ``between 21:00 and 6:30``, ``since last night``, ``about 7 this morning`` or a day alone, which
        is the whole of that day up to now.
    now : datetime
        Aware.
    zone : ZoneInfo
        The farm's clock.
    ahead : bool
        Whether it may lie ahead (a plan): then what has no year, a weekday and a time of day alone are the
        next such, not the last.

    Raises
    ------
    BadInput
        If the text is no time, or lies ahead where it may not.
    """
    try:
        found = _when(" ".join(text.split()), now, zone, ahead)
    except OverflowError:
        raise _no_time(text) from None
    if any(abs(end.year - now.year) > FARTHEST_YR for end in (found.start, found.end)):
        raise _no_time(text)
    if not ahead and found.start > now:
        raise BadInput([finding("cli.ahead", f"--at {text}", now=f"{now.astimezone(zone):%Y-%m-%d %H:%M}")])
    return When(_fixed(found.start), _fixed(found.end))


def _fixed(instant: datetime) -> datetime:
    """Return an instant with its offset as a number; in one zone a clock change would not be counted."""
    return datetime.fromisoformat(instant.isoformat())


def day(text: str, today: date) -> date | None:
    """Return the day that a text means, the next such day where no year is said; None if it is none."""
    try:
        found = _day_ahead(" ".join(text.split()).casefold(), today)
    except OverflowError:
        return None
    return found if found is not None and abs(found.year - today.year) <= FARTHEST_YR else None


def last_day(text: str, until: date) -> date | None:
    """Return the last day that a text means up to a day; None if it is none."""
    return _day(" ".join(text.split()).casefold(), until)


def first_day(text: str, last: date, today: date) -> date | None:
    """Return the first day of a stretch: the last that a text means up to its last day, or from today on.

    ``tomorrow`` and ``in 3 days`` are reckoned from today, not from the last day.
    """
    words = " ".join(text.split()).casefold()
    if words in DAYS_BACK or _AHEAD.fullmatch(words):
        return day(words, today)
    return last_day(words, last)


def _day_ahead(words: str, today: date) -> date | None:
    ahead = _AHEAD.fullmatch(words)
    if ahead:
        seconds = int(ahead["number"]) * STEPS[ahead["step"]]
        return today + timedelta(days=seconds // STEPS["d"])
    if words[:3] in WEEKDAYS and words.isalpha():
        return today + timedelta(days=(WEEKDAYS.index(words[:3]) - today.weekday() - 1) % 7 + 1)
    return _day(words, today, back=False)


def wanted_day(text: str, today: date, where: str) -> date:
    """Return the day that a text means.

    Raises
    ------
    BadInput
        If it means none.
    """
    return _known(day(text, today), text, where)


def past_day(text: str, today: date, where: str) -> date:
    """Return the day that a text means, the last such day where no year is said.

    Raises
    ------
    BadInput
        If it means none.
    """
    found = last_day(text, today)
    far = found is not None and abs(found.year - today.year) > FARTHEST_YR
    return _known(None if far else found, text, where)


def without_year(said: str) -> bool:
    """Return whether a text names a day by its month and leaves the year out, such as ``20 Jun 7:00``."""
    words = said.casefold()
    found = [one for one in (*_DAY_MONTH.finditer(words), *_MONTH_DAY.finditer(words))
             if one["month"][:3] in MONTHS]  # fmt: skip
    return bool(found) and not any(one["year"] for one in found)


def no_such_day(said: str, where: str) -> Finding | None:
    """Return the finding of the first day in a text that its month never has, such as ``31 Jun``."""
    words = " ".join(said.split()).casefold()
    found = (*_DAY_MONTH.finditer(words), *_MONTH_DAY.finditer(words))
    for match in sorted(found, key=lambda one: one.start()):
        if match["month"][:3] in MONTHS:
            month, year = MONTHS.index(match["month"][:3]) + 1, int(match["year"] or LEAP)
            most = monthrange(year, month)[1] if 1 <= year <= MAXYEAR else 31
            last = date(COMMON, month, min(most, monthrange(COMMON, month)[1]))
            if not 1 <= int(match["day"]) <= most:
                day_said = f"{match['day']} {match['month'][:3].capitalize()}"
                return finding("cli.never_day", where, day=day_said, last=day_words(last))
    return None


def _no_time(said: str) -> BadInput:
    return BadInput([no_such_day(said, f"--at {said}") or finding("cli.no_time", f"--at {said}")])


def _known(found: date | None, text: str, where: str) -> date:
    if found is None:
        raise BadInput([no_such_day(text, where) or finding("cli.no_day", where, text=text)])
    return found


def _when(words: str, now: datetime, zone: ZoneInfo, ahead: bool = False) -> When:
    between = _BETWEEN.fullmatch(words)
    if between:
        return _between(between["first"], between["last"], now, zone, words, ahead)
    since, about = _SINCE.fullmatch(words), _ABOUT.fullmatch(words)
    if since:
        return _since(since["time"], now, zone, words)
    if about:
        return _about(_when(about["time"], now, zone, ahead), now, zone)
    if words.casefold() in ("", "now", "just now"):
        return When.at(now.astimezone(zone))
    ago = _AGO.fullmatch(words)
    if ago and ago["step"].casefold() in STEPS:
        seconds = int(ago["number"]) * STEPS[ago["step"].casefold()]
        return When.at((now.astimezone(UTC) - timedelta(seconds=seconds)).astimezone(zone))
    return _iso(words, now, zone) or _in_part(words, now, zone) or _day_and_clock(words, now, zone, ahead)


def _since(said: str, now: datetime, zone: ZoneInfo, words: str) -> When:
    """Return the time from the first instant of what was said until now."""
    start = _when(said, now, zone).start
    if start.astimezone(UTC) > now.astimezone(UTC):
        raise BadInput([finding("cli.ahead", f"--at {words}", now=f"{now.astimezone(zone):%Y-%m-%d %H:%M}")])
    return When(start, now.astimezone(zone))


def _about(found: When, now: datetime, zone: ZoneInfo) -> When:
    """Return what was said with half an hour on either side, as it passes on any clock; not past now."""
    start = (found.start.astimezone(UTC) - ABOUT).astimezone(zone)
    end = found.end.astimezone(UTC) + ABOUT
    if found.start.astimezone(UTC) > now.astimezone(UTC):
        return When(found.start, end.astimezone(zone))
    return When(start, min(end, now.astimezone(UTC)).astimezone(zone))


def _in_part(words: str, now: datetime, zone: ZoneInfo) -> When | None:
    """Return a part of a day up to now, or a time of day within it; None if no part is named."""
    name = next((name for name in PARTS if words.casefold().endswith(name)), None)
    if name is None:
        return None
    back, opens, end_back, closes = PARTS[name]
    today = now.astimezone(zone).date()
    first = datetime.combine(today - timedelta(days=back), opens)
    last = datetime.combine(today - timedelta(days=end_back), closes)
    said = words[: -len(name)].strip()
    if said:
        return _clock_between(said, first, last, zone, words)
    start, end = first.replace(tzinfo=zone), last.replace(tzinfo=zone, fold=1)
    passed = min(end.astimezone(UTC), now.astimezone(UTC)).astimezone(zone)
    return When(start, passed) if start.astimezone(UTC) <= passed.astimezone(UTC) else When(start, end)


def _clock_between(said: str, first: datetime, last: datetime, zone: ZoneInfo, words: str) -> When:
    """Return the time of day that lies within a part of a day: 7 last night is 19:00."""
    at = _clock(said)
    halves = (timedelta(), timedelta(hours=12)) if said[-1:].isdigit() else (timedelta(),)
    for day_of in (first.date(), last.date()):
        for later in halves if at is not None else ():
            naive = datetime.combine(day_of, at or time()) + later
            if first <= naive <= last:
                return _local(naive, zone, words)
    raise _no_time(words)


def _iso(words: str, now: datetime, zone: ZoneInfo) -> When | None:
    try:
        if "/" in words:
            return When.read(words)
        read = datetime.fromisoformat(words)
    except ValueError:
        return None
    if len(words) <= len("2026-05-06"):
        return _whole_day(read.date(), now, zone)
    return _local(read, zone, words) if read.tzinfo is None else When.at(read)


def _day_and_clock(words: str, now: datetime, zone: ZoneInfo, ahead: bool) -> When:
    """Return what a day, a time of day, or both mean."""
    local = now.astimezone(zone)
    today, clock = local.date(), local.time()
    alone = _clock(words)
    if alone is not None:
        passed = ahead and alone <= clock
        return _local(datetime.combine(today + timedelta(days=int(passed)), alone), zone, words)
    whole = _said_day(words, today, ahead)
    if whole is not None:
        return _whole_day(whole, now, zone)
    parts = words.split()
    for cut in range(1, len(parts)):
        at = _clock(" ".join(parts[cut:]))
        passed = at is not None and at <= clock
        said = _said_day(" ".join(parts[:cut]), today, ahead, passed)
        if said is not None and at is not None:
            return _local(datetime.combine(said, at), zone, words)
    raise _no_time(words)


def _said_day(words: str, today: date, ahead: bool, passed: bool = False) -> date | None:
    """Return the day that words name: the last such day, or the next where a plan is entered.

    Parameters
    ----------
    passed : bool
        Whether the time of day said with it is over today: then a weekday is that of next week.
    """
    said = words.casefold()
    if not ahead:
        return _day(said, today)
    if said[:3] in WEEKDAYS and said.isalpha():
        away = (WEEKDAYS.index(said[:3]) - today.weekday()) % 7
        return today + timedelta(days=7 if passed and away == 0 else away)
    return _day_ahead(said, today)


def _between(first: str, last: str, now: datetime, zone: ZoneInfo, words: str, ahead: bool) -> When:
    """Return an interval; a bare time of day before it is the last such time before its end."""
    end = _when(last, now, zone, ahead)
    at = _clock(first)
    if at is None:
        start = _when(first, now, zone, ahead)
    else:
        of_day = end.end.astimezone(zone)
        back = timedelta(days=0 if at <= of_day.time() else 1)
        start = _local(datetime.combine(of_day.date() - back, at), zone, words)
    if start.start.astimezone(UTC) > end.end.astimezone(UTC):
        raise _no_time(words)
    return When(start.start, end.end)


def _whole_day(said: date, now: datetime, zone: ZoneInfo) -> When:
    """Return a day from its first minute to its last, today no further than now."""
    start = datetime.combine(said, time(), zone)
    end = datetime.combine(said, time(23, 59), zone)
    return When(start, max(start, min(end, now.astimezone(zone))) if start <= now else end)


def _local(naive: datetime, zone: ZoneInfo, words: str) -> When:
    first, second = (naive.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return When.at(first)
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive:
        raise BadInput([finding("cli.gap_of_the_clock", f"--at {words}", zone=zone.key)])
    return When(first, second)


def _clock(words: str) -> time | None:
    if words.casefold() in NAMED:
        return NAMED[words.casefold()]
    match = _CLOCK.fullmatch(words)
    if match is None:
        return None
    hour, minute, half = int(match["hour"]), int(match["minute"] or 0), (match["half"] or "").casefold()
    if half and not 1 <= hour <= 12:
        return None
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def _day(words: str, today: date, back: bool = True) -> date | None:
    """Return the day that words name. Without a year: the last such day, or the next if not ``back``."""
    if words in DAYS_BACK:
        return today - timedelta(days=DAYS_BACK[words])
    if words[:3] in WEEKDAYS and words.isalpha():
        return today - timedelta(days=(today.weekday() - WEEKDAYS.index(words[:3])) % 7)
    try:
        return date.fromisoformat(words)
    except ValueError:
        return _named_day(words, today, back)


def _named_day(words: str, today: date, back: bool) -> date | None:
    match = _DAY_MONTH.fullmatch(words) or _MONTH_DAY.fullmatch(words)
    if match is None or match["month"][:3] not in MONTHS:
        return None
    month, number = MONTHS.index(match["month"][:3]) + 1, int(match["day"])
    years = [int(match["year"])] if match["year"] else range(today.year - 4, today.year + 5)
    found = []
    for year in years:
        try:
            found.append(date(year, month, number))
        except ValueError:
            continue
    if not match["year"]:
        found = [d for d in found if (d <= today if back else d >= today)]
    return (max(found) if back else min(found)) if found else None
