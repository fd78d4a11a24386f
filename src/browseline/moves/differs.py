"""A plan and one that differs in little: only what differs is run, from the day it differs."""

from __future__ import annotations

import numpy as np

from browseline.moves.kernel import COUNT, calendar_usd, mark_runs, mob_usd, run_paddock, too_many_arrivals
from browseline.science.compiled import bare, compiled

MENDED_D = 4
"""Longest stay that is put in the stead of one that cannot be made any more. [d]"""


@compiled
def _marked(place, bars):  # type: ignore[no-untyped-def]
    """Return length, first and last days of the visits of all mobs, as `kernel.mark_runs` has them."""
    mobs, days = place.shape
    length = np.zeros((mobs, days), np.int64)
    starts, ends = np.zeros((mobs, days), np.bool_), np.zeros((mobs, days), np.bool_)
    for i in range(mobs):
        mark_runs(place, i, bars, length, starts, ends)
    return length, starts, ends


@bare
def _first(p, m, place, other, now, new):  # type: ignore[no-untyped-def]
    """Return the first day on which a mob's visits of a paddock differ; the end of days if they do not."""
    days = place.shape[1]
    for t in range(days):
        if place[m, t] != p and other[m, t] != p:
            continue
        same = place[m, t] == other[m, t] and now[0][m, t] == new[0][m, t]
        if not (same and now[1][m, t] == new[1][m, t] and now[2][m, t] == new[2][m, t]):
            return t
    return days


@compiled
def runs(place, bars, field):  # type: ignore[no-untyped-def]
    """Run every paddock of a plan.

    Returns
    -------
    (mass, cost) : array, shape (paddock, member, day + 1)
        As in `kernel.run_paddock`. [kg/ha, USD]
    """
    days, count, members = place.shape[1], bars.open_.shape[2], field.mass_kg_ha.shape[0]
    mass, cost = np.zeros((count, members, days + 1)), np.zeros((count, members, days + 1))
    marks, nought, first = _marked(place, bars), np.zeros(COUNT), np.int64(0)
    for p in range(count):
        for s in range(members):
            mass[p, s, 0] = field.mass_kg_ha[s, p]
            run_paddock(
                p, s, first, place, marks[0], marks[1], bars, field, mass[p, s], cost[p, s], nought, nought
            )
    return mass, cost


@compiled
def more_usd(place, other, m, paddocks, bars, field, mass, usd):  # type: ignore[no-untyped-def]
    """Fill what another plan costs more, where only one mob's days on some paddocks differ.

    Parameters
    ----------
    place, other : int array, shape (mob, day)
    paddocks : int array, shape (some,)
        All on which the two plans differ.
    mass : array, shape (paddock, member, day + 1)
        Herbage under ``place``. [kg/ha]
    usd : array, shape (member, term)
        Filled. [USD]

    Returns
    -------
    bool
        Whether the other plan keeps hard limits there.
    """
    days = place.shape[1]
    now, new = _marked(place, bars), _marked(other, bars)
    amount, before, after = np.zeros(COUNT), np.zeros(COUNT), np.zeros(COUNT)
    mob_usd(m, place, now[1], bars, amount, before)
    if mob_usd(m, other, new[1], bars, amount, after) == np.inf or too_many_arrivals(new[1], bars):
        return False
    for p in paddocks:
        calendar_usd(p, place, now[0], now[1], now[2], bars, amount, before)
        if calendar_usd(p, other, new[0], new[1], new[2], bars, amount, after) == np.inf:
            return False
    fixed = after - before
    herbage, cost = np.zeros(days + 1), np.zeros(days + 1)
    for s in range(usd.shape[0]):
        before[:], after[:] = 0.0, fixed
        for p in paddocks:
            first = _first(p, m, place, other, now, new)
            if first < days:
                herbage[first] = mass[p, s, first]
                run_paddock(p, s, first, place, now[0], now[1], bars, field, herbage, cost, amount, before)
                run_paddock(p, s, first, other, new[0], new[1], bars, field, herbage, cost, amount, after)
        usd[s] = after - before
    return True


@compiled
def _season_more(p, m, place, other, now, new, bars, field, mass, cost):  # type: ignore[no-untyped-def]
    """Return what a paddock's herbage costs more under another plan, the mean over members. [USD]"""
    days, members = place.shape[1], field.mass_kg_ha.shape[0]
    first = _first(p, m, place, other, now, new)
    if first == days:
        return 0.0
    herbage, spent, nought, more = np.zeros(days + 1), np.zeros(days + 1), np.zeros(COUNT), 0.0
    for s in range(members):
        herbage[first], spent[first] = mass[p, s, first], cost[p, s, first]
        more += run_paddock(p, s, first, other, new[0], new[1], bars, field, herbage, spent, nought, nought)
        short = max(0.0, field.cover_kg_ha[p] - mass[p, s, days]) * field.land.area_ha[p]
        more -= cost[p, s, days] + short * bars.prices_usd[4]
    return more / members


@compiled
def elsewhere_usd(place, m, a, b, bars, field, mass, cost):  # type: ignore[no-untyped-def]
    """Return what a plan costs more with one stay spent at each other place, the mean over members.

    Parameters
    ----------
    m, a, b : int
        Mob, first day and end of the stay. [d]
    mass, cost : array, shape (paddock, member, day + 1)
        Of `runs`.

    Returns
    -------
    array, shape (place,)
        Infinite where a hard limit is broken, and for the place where the stay is. [USD]
    """
    count, here = bars.open_.shape[2], place[m, a]
    out, nought, other = np.full(count + 1, np.inf), np.zeros(COUNT), place.copy()
    now, new = _marked(place, bars), _marked(place, bars)
    walks = mob_usd(m, place, now[1], bars, nought, nought)
    saved = 0.0
    if here < count:
        other[m, a:b] = count
        mark_runs(other, m, bars, new[0], new[1], new[2])
        left = calendar_usd(here, other, new[0], new[1], new[2], bars, nought, nought)
        if left == np.inf:
            return out
        saved = calendar_usd(here, place, now[0], now[1], now[2], bars, nought, nought) - left
        saved -= _season_more(here, m, place, other, now, new, bars, field, mass, cost)
    for q in range(count + 1):
        if q == here:
            continue
        other[m, a:b] = q
        mark_runs(other, m, bars, new[0], new[1], new[2])
        more = mob_usd(m, other, new[1], bars, nought, nought) - walks - saved
        if more == np.inf or too_many_arrivals(new[1], bars):
            continue
        if q < count:
            more += calendar_usd(q, other, new[0], new[1], new[2], bars, nought, nought)
            if more == np.inf:
                continue
            more -= calendar_usd(q, place, now[0], now[1], now[2], bars, nought, nought)
            more += _season_more(q, m, place, other, now, new, bars, field, mass, cost)
        out[q] = more
    return out


@compiled
def again_usd(place, paddocks, before, bars, field, mass, amount, usd):  # type: ignore[no-untyped-def]
    """Run some paddocks of a plan again, under other bars and other hay cuts; all else is as it was.

    Parameters
    ----------
    paddocks : int array, shape (some,)
        Those whose cuts or days that they are shut are others now.
    before : Field
        The members with the cuts as they were; ``field`` has those of now.
    mass : array, shape (paddock, member, day + 1)
        Herbage as it was; filled with that of now. [kg/ha]
    amount, usd : array, shape (member, term)
        Of the whole plan as they were; filled with those of now.

    Returns
    -------
    bool
        Whether hard limits are kept there now.
    """
    marks, first = _marked(place, bars), np.int64(0)
    some, some_usd, less, less_usd = (np.zeros(COUNT), np.zeros(COUNT), np.zeros(COUNT), np.zeros(COUNT))
    cost = np.zeros(place.shape[1] + 1)
    for p in paddocks:
        if calendar_usd(p, place, marks[0], marks[1], marks[2], bars, some, some_usd) == np.inf:
            return False
    for s in range(usd.shape[0]):
        some[:], some_usd[:], less[:], less_usd[:] = 0.0, 0.0, 0.0, 0.0
        for p in paddocks:
            herbage = mass[p, s]
            run_paddock(p, s, first, place, marks[0], marks[1], bars, before, herbage, cost, less, less_usd)
            run_paddock(p, s, first, place, marks[0], marks[1], bars, field, herbage, cost, some, some_usd)
        amount[s] += some - less
        usd[s] += some_usd - less_usd
    return True


@compiled
def placed(place, visits, bars):  # type: ignore[no-untyped-def]
    """Put visits into a plan one by one, each where every hard limit of the calendar is kept with it.

    Parameters
    ----------
    place : int array, shape (mob, day)
        Changed: a plan in which those days are free.
    visits : int array, shape (visit, 4)
        Mob, paddock, first day and end of each. [d]
    """
    length, starts, ends = _marked(place, bars)
    nought, count = np.zeros(COUNT), bars.open_.shape[2]
    mobs_kept, kept = np.zeros(place.shape[0], np.bool_), np.zeros(count, np.bool_)
    for m in range(place.shape[0]):
        mobs_kept[m] = mob_usd(m, place, starts, bars, nought, nought) < np.inf
    for p in range(count):
        kept[p] = calendar_usd(p, place, length, starts, ends, bars, nought, nought) < np.inf
    for v in range(visits.shape[0]):
        m, p, a, b = visits[v]
        was, mob_was, paddock_was = place[m, a:b].copy(), mobs_kept[m], kept[p]
        place[m, a:b] = p
        mark_runs(place, m, bars, length, starts, ends)
        mobs_kept[m] = mob_usd(m, place, starts, bars, nought, nought) < np.inf
        kept[p] = calendar_usd(p, place, length, starts, ends, bars, nought, nought) < np.inf
        if mobs_kept.all() and kept.all() and not too_many_arrivals(starts, bars):
            continue
        place[m, a:b], mobs_kept[m], kept[p] = was, mob_was, paddock_was
        mark_runs(place, m, bars, length, starts, ends)


@compiled
def _mend_stay(place, m, a, bars, field, mass, cost):  # type: ignore[no-untyped-def]
    """Give the longest stay from a day on that some place makes cheaper its place there."""
    yard, nought, zero = bars.open_.shape[2], np.zeros(COUNT), np.int64(0)
    for b in range(min(a + MENDED_D, place.shape[1]), a, -1):
        if np.any(place[m, a:b] != yard):
            continue
        more = elsewhere_usd(place, m, a, b, bars, field, mass, cost)
        q = np.argmin(more)
        if more[q] >= 0.0:
            continue
        place[m, a:b] = q
        marks = _marked(place, bars)
        for s in range(field.mass_kg_ha.shape[0]):
            run_paddock(
                q, s, zero, place, marks[0], marks[1], bars, field, mass[q, s], cost[q, s], nought, nought
            )
        return


@compiled
def mended(place, bars, field):  # type: ignore[no-untyped-def]
    """Give each stay in the yard the place at which it costs least, day by day, where that is cheaper.

    Parameters
    ----------
    place : int array, shape (mob, day)
        Changed: a plan that keeps every hard limit.
    field : Field
        The members to judge by: a few.
    """
    mobs, days = place.shape
    yard = bars.open_.shape[2]
    mass, cost = runs(place, bars, field)
    for a in range(days):
        for m in range(mobs):
            if place[m, a] == yard and not bars.off[m, a]:
                _mend_stay(place, m, a, bars, field, mass, cost)
