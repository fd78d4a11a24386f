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
_OFF_MIN = 30


def answer_of(moment: Moment | None, start: datetime) -> Answer:
    """Return a moment as minutes from a start. [min]"""
    if moment is None:
        return UNDATED
    return tuple(hour_of(at, start) for at in (moment.likely, moment.earliest, moment.latest))


def knots(answers: Sequence[Answer]) -> tuple[tuple[int, ...], ...]:
    """Return the days that cannot be left out, each as its number and its answer.

    Parameters
    ----------
    answers : sequence of Answer
        One a day of coming, from today on.
    """
    kept, at = [0], 0
    while at < len(answers) - 1:
        end = at + 1
        while end < len(answers) - 1 and _on_a_line(answers, at, end + 1):
            end += 1
        kept.append(end)
        at = end
    days = [day for day in kept if not _repeats(answers, day)]
    return tuple((day, *answers[day]) for day in days)


def _repeats(answers: Sequence[Answer], day: int) -> bool:
    """Return whether a day only says again that there is no word, or no date."""
    return day > 0 and len(answers[day]) < 3 and answers[day] == answers[day - 1]


def _on_a_line(answers: Sequence[Answer], first: int, last: int) -> bool:
    """Return whether the days between two lie on the line through both."""
    ends = answers[first], answers[last]
    if any(len(end) < 3 for end in ends):
        return all(answers[day] == ends[0] for day in range(first, last + 1))
    for day in range(first + 1, last):
        if len(answers[day]) < 3:
            return False
        share = (day - first) / (last - first)
        on = (low + share * (high - low) for low, high in zip(*ends, strict=True))
        if any(abs(here - there) > _OFF_MIN for here, there in zip(answers[day], on, strict=True)):
            return False
    return True
