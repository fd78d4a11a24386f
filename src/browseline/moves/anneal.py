"""Improve a plan by small changes, each judged exactly over the members given; compiled.

A change runs again only the paddocks it touches, from the first day that differs. Luck is keyed: the
same key and number of tries give the same plan.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.change import chance, change, copy_plan
from browseline.moves.kernel import COUNT, calendar_usd, mark_runs, mob_usd, run_paddock, too_many_arrivals
from browseline.science.compiled import bare, compiled

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Index = NDArray[np.int64]
MOST_CHANGES = 8


class Works(NamedTuple):
    """A plan with all that was worked out for it.

    place and length (mob, day), starts and ends (mob, day) as in `kernel.mark_runs`; walks_usd (mob,),
    calendar_usd and season_usd (paddock,) the three parts of its cost; mass_kg_ha and cost_usd
    (paddock, member, day + 1) as in `kernel.run_paddock`.
    """

    place: Index
    length: Index
    starts: Bools
    ends: Bools
    walks_usd: Array
    calendar_usd: Array
    season_usd: Array
    mass_kg_ha: Array
    cost_usd: Array


@bare
def churn(m, place, old, churn_usd):  # type: ignore[no-untyped-def]
    """Return what it costs that a mob's days differ from the plan in force; -1 in it is no word. [USD]

    Parameters
    ----------
    old : int array, shape (mob, day)
    churn_usd : array, shape (day,)
        Price of a day that differs. [USD/d]
    """
    cost = 0.0
    for t in range(churn_usd.shape[0]):
        if old[m, t] >= 0 and old[m, t] != place[m, t]:
            cost += churn_usd[t]
    return cost


@compiled
def _blank(place, count, members):  # type: ignore[no-untyped-def]
    mobs, days = place.shape
    return Works(
        place.copy(), np.zeros((mobs, days), np.int64), np.zeros((mobs, days), np.bool_),
        np.zeros((mobs, days), np.bool_), np.zeros(mobs), np.zeros(count), np.zeros(count),
        np.zeros((count, members, days + 1)), np.zeros((count, members, days + 1)),
    )  # fmt: skip


@bare
def _first_touched(now, new, first):  # type: ignore[no-untyped-def]
    """Fill for each place the first day on which a change touches it; the end of days if it does not."""
    mobs, days = now.place.shape
    first[:] = days
    for m in range(mobs):
        for t in range(days):
            same = now.place[m, t] == new.place[m, t] and now.length[m, t] == new.length[m, t]
            if same and now.starts[m, t] == new.starts[m, t] and now.ends[m, t] == new.ends[m, t]:
                continue
            first[now.place[m, t]] = min(first[now.place[m, t]], t)
            first[new.place[m, t]] = min(first[new.place[m, t]], t)


@bare
def _mean_season(p, first, now, new, bars, field, nought, stop):  # type: ignore[no-untyped-def]
    """Return a paddock's mean cost over members, run from a day on; infinite once past ``stop``. [USD]"""
    members = now.mass_kg_ha.shape[1]
    total = 0.0
    for s in range(members):
        new.mass_kg_ha[p, s, first] = now.mass_kg_ha[p, s, first]
        new.cost_usd[p, s, first] = now.cost_usd[p, s, first]
        total += run_paddock(
            p, s, first, new.place, new.length, new.starts, bars, field, new.mass_kg_ha[p, s],
            new.cost_usd[p, s], nought, nought,
        )  # fmt: skip
        if total > stop * members:
            return np.inf
    return total / members


@bare
def _walk(m, works, bars, old, churn_usd, nought):  # type: ignore[no-untyped-def]
    mark_runs(works.place, m, bars, works.length, works.starts, works.ends)
    walks = mob_usd(m, works.place, works.starts, bars, nought, nought)
    works.walks_usd[m] = walks + churn(m, works.place, old, churn_usd)


@bare
def _calendar(p, works, bars, nought):  # type: ignore[no-untyped-def]
    works.calendar_usd[p] = calendar_usd(
        p, works.place, works.length, works.starts, works.ends, bars, nought, nought
    )
    return works.calendar_usd[p]


@bare
def _work_out(works, bars, field, old, churn_usd, nought):  # type: ignore[no-untyped-def]
    """Work out a whole plan and return its mean cost. [USD]"""
    for m in range(works.place.shape[0]):
        _walk(m, works, bars, old, churn_usd, nought)
    for p in range(works.season_usd.shape[0]):
        for s in range(field.mass_kg_ha.shape[0]):
            works.mass_kg_ha[p, s, 0] = field.mass_kg_ha[s, p]
        _calendar(p, works, bars, nought)
        works.season_usd[p] = _mean_season(p, np.int64(0), works, works, bars, field, nought, np.inf)
    return works.season_usd.sum() + works.calendar_usd.sum() + works.walks_usd.sum()


@bare
def _differs(m, now, new):  # type: ignore[no-untyped-def]
    """Return whether a mob's days differ in two plans."""
    differs = False
    for t in range(now.place.shape[1]):
        differs |= now.place[m, t] != new.place[m, t]
    return differs


@bare
def _try(now, new, bars, field, old, churn_usd, first, nought, allowed):  # type: ignore[no-untyped-def]
    """Return a changed plan's cost, infinite once it cannot be taken, and whether it was run. [USD]"""
    days = new.place.shape[1]
    for m in range(new.place.shape[0]):
        if _differs(m, now, new):
            _walk(m, new, bars, old, churn_usd, nought)
    total = new.walks_usd.sum()
    if total == np.inf or too_many_arrivals(new.starts, bars):
        return np.inf, False
    _first_touched(now, new, first)
    for p in range(now.season_usd.shape[0]):
        if first[p] < days:
            total += _calendar(p, new, bars, nought)
        else:
            total += now.season_usd[p] + now.calendar_usd[p]
        if total > allowed:
            return np.inf, False
    for p in range(now.season_usd.shape[0]):
        if first[p] < days:
            season = _mean_season(p, first[p], now, new, bars, field, nought, allowed - total)
            new.season_usd[p] = season
            total += season
            if total > allowed:
                return np.inf, True
    return total, True


@bare
def _copy(into, out_of):  # type: ignore[no-untyped-def]
    """Copy one plan's workings over the other's, but for herbage."""
    for m in range(into.place.shape[0]):
        into.walks_usd[m] = out_of.walks_usd[m]
        for t in range(into.place.shape[1]):
            into.place[m, t], into.length[m, t] = out_of.place[m, t], out_of.length[m, t]
            into.starts[m, t], into.ends[m, t] = out_of.starts[m, t], out_of.ends[m, t]
    for p in range(into.season_usd.shape[0]):
        into.calendar_usd[p], into.season_usd[p] = out_of.calendar_usd[p], out_of.season_usd[p]


@bare
def _copy_herbage(into, out_of, first):  # type: ignore[no-untyped-def]
    """Copy herbage and cost of the paddocks that were touched, from the day they were."""
    for p in range(into.season_usd.shape[0]):
        if first[p] >= into.place.shape[1]:
            continue
        for s in range(into.mass_kg_ha.shape[1]):
            for d in range(first[p], into.mass_kg_ha.shape[2]):
                into.mass_kg_ha[p, s, d] = out_of.mass_kg_ha[p, s, d]
                into.cost_usd[p, s, d] = out_of.cost_usd[p, s, d]


@compiled
def anneal(start, bars, field, old, churn_usd, tries, hot_usd, cold_usd, key):  # type: ignore[no-untyped-def]
    """Improve a plan that keeps every hard limit.

    Parameters
    ----------
    start : int array, shape (mob, day)
    field : Field
        The members to judge by.
    old, churn_usd
        As in `churn`.
    tries : int
        Changes run; those that the calendar bars at once do not count, up to ``MOST_CHANGES`` each.
    hot_usd, cold_usd : float
        A worsening of this size is still taken one time in three, at first and at last. [USD]
    key : uint64
        Keys the luck.

    Returns
    -------
    (plan, cost) : int array, shape (mob, day); float
        The best seen, and its mean cost with churn. [USD]
    """
    count, members = bars.open_.shape[2], field.mass_kg_ha.shape[0]
    state, first, nought = np.full(1, key, np.uint64), np.empty(count + 1, np.int64), np.zeros(COUNT)
    now, new, best = _blank(start, count, members), _blank(start, count, members), start.copy()
    best_usd = _improve(
        now, new, best, bars, field, old, churn_usd, tries, hot_usd, cold_usd, state, first, nought
    )
    return best, best_usd


@bare
def _improve(now, new, best, bars, field, old, churn_usd, tries, hot_usd, cold_usd, state, first, nought):  # type: ignore[no-untyped-def]
    """Do as `anneal`, in room of its caller; fill the best plan seen and return its cost. [USD]"""
    usd = _work_out(now, bars, field, old, churn_usd, nought)
    _copy(new, now)
    best_usd, ran = usd, 0
    for _ in range(MOST_CHANGES * tries):
        if ran >= tries:
            break
        warmth = hot_usd * (cold_usd / hot_usd) ** (ran / tries)
        change(new.place, bars, state)
        allowed = usd - warmth * np.log(1.0 - chance(state))
        after, was_run = _try(now, new, bars, field, old, churn_usd, first, nought, allowed)
        ran += was_run
        if after > allowed:
            _copy(new, now)
            continue
        _copy(now, new)
        _copy_herbage(now, new, first)
        usd = after
        if usd < best_usd - 1e-9:
            best_usd = usd
            copy_plan(now.place, best)
    return best_usd
