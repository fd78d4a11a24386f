"""Answers over the coming days in few numbers: knots between which a phone looks in between.

A limit answers for each day of coming: not at all, without a date, or with a moment. Where the moments of
neighbouring days lie on a line, within what is told to the hour anyway, the days between are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from browseline.chain.pocket.ahead import hour_of
from browseline.limits import Moment

Answer = tuple[int, ...]
"""() is no word; (0,) is a word without a date; three numbers are likely, earliest and latest. [min]"""
NOTHING: Answer = ()
UNDATED: Answer = (0,)
DAY_MIN = 1440
OFF_MIN = 30
OFF_SHARE = 0.03


def answer_of(moment: Moment | None, start: datetime) -> Answer:
    """Return a moment as minutes from a start. [min]"""
    if moment is None:
        return UNDATED
    return tuple(hour_of(at, start) for at in (moment.likely, moment.earliest, moment.latest))


def knots(answers: Sequence[Answer], days: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """Return the days that cannot be left out, each as its number and its answer.

    Parameters
    ----------
    answers : sequence of Answer
        One a day of coming.
    days : sequence of int
        Those days, in order, the first 0. [d]
    """
    kept, at = [0], 0
    while at < len(answers) - 1:
        end = at + 1
        while end < len(answers) - 1 and _on_a_line(answers, days, at, end + 1):
            end += 1
        kept.append(end)
        at = end
    told = [place for place in kept if not _repeats(answers, place)]
    return tuple((days[place], *answers[place]) for place in told)


def _repeats(answers: Sequence[Answer], place: int) -> bool:
    """Return whether a day only says again that there is no word, or no date."""
    return place > 0 and len(answers[place]) < 3 and answers[place] == answers[place - 1]


def _on_a_line(answers: Sequence[Answer], days: Sequence[int], first: int, last: int) -> bool:
    """Return whether the days between two lie on the line through both."""
    ends = answers[first], answers[last]
    if any(len(end) < 3 for end in ends):
        return all(answers[place] == ends[0] for place in range(first, last + 1))
    for place in range(first + 1, last):
        if len(answers[place]) < 3:
            return False
        share = (days[place] - days[first]) / (days[last] - days[first])
        on = tuple(round(low + share * (high - low)) for low, high in zip(*ends, strict=True))
        if not alike(answers[place], on, days[place] * DAY_MIN):
            return False
    return True


def alike(one: Answer, other: Answer, start_min: int = 0) -> bool:
    """Return whether two answers are told alike: within half an hour, or 3 % of the time ahead.

    Parameters
    ----------
    start_min : int
        The instant that is looked ahead from. [min]
    """
    if len(one) != len(other):
        return False
    off_min = max(OFF_MIN, OFF_SHARE * (one[0] - start_min)) if one else OFF_MIN
    return all(abs(here - there) <= off_min for here, there in zip(one, other, strict=True))
