"""A promise as people say it: ``away 10-14 Jun``, ``hay 20 May to 15 Jun 5``; both days are among them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from browseline.chain.desk.desk import Desk
from browseline.chain.desk.lookup import Names
from browseline.chain.desk.times import day, first_day, no_such_day
from browseline.errors import BadInput, finding
from browseline.events import Moved
from browseline.farm.names import words
from browseline.farm.records import Farm, Promise
from browseline.farm.write import add, edit
from browseline.limits.promise import NOBODY_MOVES, shuts
from browseline.record.fold import planned
from browseline.record.state import AWAY
from browseline.words import day_words

LISTED = "promises"
NEED_GROUND = ("hay", "harvest", "shut", "stockpile", "lease")
DAY = timedelta(days=1)
LEAP_DAY = (2, 29)
MOST_D, WHOLE_YEAR_D = 330, 365
"""Days over a new year that may be meant where no year is typed: up to eleven months, or a whole year. [d]"""
_SHORT = re.compile(r"(?P<first>\d{1,2}) ?[-–] ?(?P<last>\d{1,2}) (?P<month>[A-Za-z].*)")
_YEAR = re.compile(r"\b\d{4}\b")
_GOES_ON = re.compile(r"to|until|till|[-–]|\d{4}", re.IGNORECASE)
"""A word behind a day that tells that the stretch goes on: what was read is not all of it."""
_LONG = re.compile(r"(?P<first>.+?) (?:to|until|till|-|–) (?P<last>.+)", re.IGNORECASE)


def span(said: str, today: date) -> tuple[date, date] | None:
    """Return first and last day of a stretch that is not over; None if the words mean none.

    Parameters
    ----------
    said : str
        Such as ``10-14 Jun``, ``28 May to 3 Jun``, ``Fri - Mon``, ``2026-06-10 to 2026-06-14`` or one day.
    """
    ends = _typed_ends(said)
    last = day(ends[1], today)
    first = first_day(ends[0], last, today) if last is not None else None
    return (first, last) if first is not None and last is not None else None


def _typed_ends(said: str) -> tuple[str, str]:
    """Return the words for the first and the last day of a stretch; twice the same where it is one day."""
    short, long = _SHORT.fullmatch(said), _LONG.fullmatch(said)
    if short:
        return f"{short['first']} {short['month']}", f"{short['last']} {short['month']}"
    return (long["first"], long["last"]) if long else (said, said)


def split(said: Sequence[str], today: date) -> tuple[tuple[date, date], tuple[str, ...]]:
    """Return the stretch that the first words mean, as many of them as can be, and the words left.

    Raises
    ------
    BadInput
        If they mean none, hold a day that its year does not have, or have the last day before the first.
    """
    for cut in range(len(said), 0, -1):
        words = " ".join(" ".join(said[:cut]).split())
        found = span(words, today)
        if found is None:
            continue
        if _backwards(words, *found):
            first, last = (day_words(end) for end in reversed(found))
            raise BadInput([finding("cli.span_backwards", words, first=first, last=last)])
        if not (said[cut:] and _GOES_ON.fullmatch(said[cut])):
            _there_that_year(words, *found, today)
            return found, tuple(said[cut:])
    all_said = " ".join(said)
    raise BadInput([no_such_day(all_said, all_said) or finding("cli.no_span", all_said or "promise")])


def _there_that_year(words: str, first: date, last: date, today: date) -> None:
    """Refuse a 29 Feb without its year where the February that is meant has none.

    That is the next one, or of the first day the last one before the last day.
    """
    ends = _typed_ends(words)
    next_one = today.year + ((today.month, today.day) > LEAP_DAY)
    one_before = last.year - ((last.month, last.day) < LEAP_DAY)
    for said, found, year in ((ends[1], last, next_one), (ends[0], first, one_before)):
        named = (found.month, found.day) == LEAP_DAY and "feb" in said.casefold()
        if named and not _YEAR.search(said) and found.year != year:
            end = day_words(date(year, 2, 28))
            raise BadInput([finding("cli.never_day", words, day=f"29 Feb {year}", last=end)])


def _backwards(words: str, first: date, last: date) -> bool:
    """Return whether a stretch was typed backwards, such as ``14-10 Jun``.

    Words without a year may go over a new year; but not from a later to an earlier day of one month, nor
    over most of a year, unless it is a whole one: ``1 Jul to 30 Jun``.
    """
    if first > last:
        return True
    if first.year == last.year or _YEAR.search(words):
        return False
    return first.month == last.month or MOST_D < (last + DAY - first).days < WHOLE_YEAR_D


def promise(
    folder: Path, names: Names, kind: str, said: Sequence[str], today: date, what: str, mobs: Sequence[str]
) -> Farm:
    """Write a promise into the farm's file and return the farm as it then reads; the promise is its last.

    Raises
    ------
    BadInput
        If the kind, the days, a paddock or a mob cannot be read, if it stands in the file already, or the
        farm would have a new fault.
    """
    known = words("promise")
    if kind not in known:
        raise BadInput([finding("cli.no_promise", kind, known=", ".join(known))])
    (first, last), left = split(said, today)
    if last < today:
        told = f"{day_words(last)} {last.year}"
        raise BadInput([finding("cli.promise_over", " ".join(said), last=told)])
    paddocks = [names.paddock(word)[0] for word in left]
    if kind in NEED_GROUND and not paddocks:
        raise BadInput([finding("cli.promise_ground", kind)])
    whose = [_of_file(names, word) for word in mobs]
    there = _there(names.farm, kind, first, last, paddocks, whose)
    if there is not None:
        raise BadInput([finding("cli.promise_there", " ".join(said), what=there.what, id=there.id)])
    made: dict[str, Any] = {
        "id": _new_id(names.farm, kind, first), "kind": kind, "what": what or kind.capitalize(),
        "from": first, "to": last + DAY,
    }  # fmt: skip
    made |= {"paddocks": paddocks} if paddocks else {}
    made |= {"mobs": whose} if whose else {}
    after = add(folder, LISTED, made, today).farm
    if after is None:
        raise BadInput([finding("cli.no_span", " ".join(said))])
    return after


def _of_file(names: Names, word: str) -> str:
    """Return the id of a mob of the farm's file."""
    mob = names.mob(word)
    if names.farm.mob(mob.id) is None:
        known = ", ".join(one.name for one in names.farm.mobs) or "–"
        raise BadInput([finding("cli.promise_mob", word, mob=mob.name, known=known)])
    return mob.id


def _there(
    farm: Farm, kind: str, first: date, last: date, paddocks: Sequence[str], mobs: Sequence[str]
) -> Promise | None:
    """Return the promise of a kind for the same days, ground and mobs; None if there is none."""
    same = (
        one for one in farm.promises
        if (one.kind, one.from_day, one.last_day) == (kind, first, last)
        and set(one.paddocks) == set(paddocks) and set(one.mobs) == set(mobs)
    )  # fmt: skip
    return next(same, None)


def nobody_moves(made: Promise) -> bool:
    """Return whether nobody can move animals on the days of a promise."""
    return made.kind in NOBODY_MOVES


def moves_within(at: Desk, made: Promise) -> int:
    """Return how many planned moves ahead fall in the days of a promise; who leaves the farm is fetched."""
    days = (
        event.observed.start.astimezone(at.zone).date()
        for event in planned(at.events)
        if isinstance(event.body, Moved) and event.body.to != AWAY and event.observed.end >= at.now
    )
    return sum(made.from_day <= day < made.to_day for day in days)


def stays_shut(at: Desk, made: Promise) -> int:
    """Return how many planned stays ahead have a day on ground that a promise shuts to their mob then.

    A mob that is planned for no further move is counted by the day on which it comes.
    """
    wholes = dict(at.state.parents)
    ahead: dict[str, list[tuple[date, str]]] = {}
    for event in planned(at.events):
        if isinstance(event.body, Moved) and event.observed.end >= at.now:
            day = event.observed.start.astimezone(at.zone).date()
            ahead.setdefault(event.subject, []).append((day, event.body.to))
    return sum(
        any(shuts(made, mob, _ground(wholes, place), begin + n * DAY) for n in range((end - begin).days))
        for mob, moves in ahead.items()
        for (begin, place), end in zip(moves, _ends(moves), strict=True)
    )


def _ends(moves: Sequence[tuple[date, str]]) -> list[date]:
    """Return the day after each stay: of the next move, or after the day on which it begins."""
    later = [day for day, _ in moves[1:]] + [moves[-1][0]]
    return [max(end, begin + DAY) for (begin, _), end in zip(moves, later, strict=True)]


def _ground(wholes: dict[str, str], place: str) -> tuple[str, ...]:
    """Return a place and what it is a part of."""
    found = [place]
    while found[-1] in wholes:
        found.append(wholes[found[-1]])
    return tuple(found)


def drop(folder: Path, farm: Farm, ident: str, today: date) -> None:
    """Take a promise out of the farm's file.

    Raises
    ------
    BadInput
        If there is none of that id.
    """
    if ident not in {one.id for one in farm.promises}:
        known = ", ".join(one.id for one in farm.promises)
        raise BadInput([finding("cli.promise_none", ident, known=known or "–")])
    edit(folder, (LISTED, ident), None, today)


def _new_id(farm: Farm, kind: str, first: date) -> str:
    """Return an id that no promise has: the kind and its first day."""
    taken = {one.id for one in farm.promises}
    name = f"{kind}-{first.isoformat()}"
    return next(
        one for n in range(1, len(taken) + 2) if (one := name if n == 1 else f"{name}-{n}") not in taken
    )
