"""Improve a plan on the board by small changes, each priced exactly where it touches; compiled.

Luck is keyed: the same key and number of tries give the same plan.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from browseline.moves.board.change import change
from browseline.moves.board.fast import folded, stepped
from browseline.moves.board.form import Array, Index
from browseline.moves.board.season import graze, mob_terms, rested, rests_kept, row_kept, short_of, usd
from browseline.moves.change import chance, copy_plan

_TOUCHED = 8
MOST_VISITS = 64
"""Visits to one paddock in a season that a search looks at."""


@folded
def _note(p, touched, n):  # type: ignore[no-untyped-def]
    """Add a paddock to those touched."""
    for k in range(n):
        if touched[k] == p:
            return n
    if n < touched.shape[0]:
        touched[n] = p
    return n + 1


@folded
def _arrivals(b, x, m, a, e, count, by):  # type: ignore[no-untyped-def]
    """Add ``by`` to the arrivals of each day from ``a`` to ``e`` on which a mob comes somewhere."""
    for t in range(a, min(e + 1, x.shape[1])):
        if x[m, t] != (b.start[m] if t == 0 else x[m, t - 1]):
            count[t] += by


@folded
def _off(b, x, m, a, e, old, churn_usd, terms):  # type: ignore[no-untyped-def]
    """Return what a mob's changed days cost off the paddocks, with what differs from the plan in force."""
    terms[:] = 0.0
    mob_terms(b, x, m, a, min(e + 1, x.shape[1]), terms)
    cost = usd(b, terms)
    for t in range(a, min(e, churn_usd.shape[0])):
        if old[m, t] >= 0 and old[m, t] != x[m, t]:
            cost += churn_usd[t]
    return cost


class Seasons(NamedTuple):
    """Every paddock's visits in order of days, with what each costs; rows are paddocks (or those tried).

    n (paddock,); who, first, length (paddock, visit); usd, dose, left (paddock, visit): cost of a visit
    [USD], its tree dose [LU d/ha], herbage at its end [kg DM/ha]; total (paddock,) cost of the season [USD].
    """

    n: Index
    who: Index
    first: Index
    length: Index
    usd: Array
    dose: Array
    left: Array
    total: Array


@stepped
def _blank(rows):  # type: ignore[no-untyped-def]
    shape = (rows, MOST_VISITS)
    return Seasons(
        np.zeros(rows, np.int64), np.zeros(shape, np.int64), np.zeros(shape, np.int64),
        np.zeros(shape, np.int64), np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(rows),
    )  # fmt: skip


@folded
def _put(s, r, m, a, days):  # type: ignore[no-untyped-def]
    """Put a visit in its place among those of a row; its cost is not known yet."""
    k = s.n[r]
    if k >= MOST_VISITS:
        return False
    while k > 0 and s.first[r, k - 1] > a:
        s.who[r, k], s.first[r, k], s.length[r, k] = s.who[r, k - 1], s.first[r, k - 1], s.length[r, k - 1]
        k -= 1
    s.who[r, k], s.first[r, k], s.length[r, k] = m, a, days
    s.n[r] += 1
    return True


@folded
def _relist(s, p, new, r, y, cut, n):  # type: ignore[no-untyped-def]
    """List in row ``r`` of ``new`` a paddock's visits after a change; False if two are there at once."""
    new.n[r] = 0
    days = y.shape[1]
    for k in range(s.n[p]):
        m, a, e = s.who[p, k], s.first[p, k], s.first[p, k] + s.length[p, k]
        gone = False
        for i in range(n):
            gone = gone or (m == cut[i, 0] and a <= cut[i, 2] and e >= cut[i, 1])
        if not gone:
            j = new.n[r]
            new.who[r, j], new.first[r, j], new.length[r, j] = m, a, e - a
            new.n[r] = j + 1
    for i in range(n):
        m, t, e = cut[i, 0], max(cut[i, 1] - 1, 0), cut[i, 2]
        while t > 0 and y[m, t - 1] == y[m, t]:
            t -= 1
        while t < days and t <= e:
            a = t
            while t < days and y[m, t] == y[m, a]:
                t += 1
            if y[m, a] == p and not _put(new, r, m, a, t - a):
                return False
    apart = True
    for k in range(1, new.n[r]):
        apart = apart and new.first[r, k] >= new.first[r, k - 1] + new.length[r, k - 1]
    return apart


@folded
def _price(b, p, s, old, new, r):  # type: ignore[no-untyped-def]
    """Price a paddock's season in row ``r`` of ``new``; visits before the first change keep their price."""
    days, k, w = b.can_move.shape[0], 0, b.prices
    while (
        k < new.n[r] and k < old.n[s]
        and new.who[r, k] == old.who[s, k] and new.first[r, k] == old.first[s, k]
        and new.length[r, k] == old.length[s, k]
    ):  # fmt: skip
        new.usd[r, k], new.dose[r, k], new.left[r, k] = old.usd[s, k], old.dose[s, k], old.left[s, k]
        k += 1
    h, now = b.start_kg_ha[p], 0
    if k > 0:
        h, now = new.left[r, k - 1], new.first[r, k - 1] + new.length[r, k - 1]
    for i in range(k, new.n[r]):
        m, t, cost = new.who[r, i], new.first[r, i], 0.0
        if t > now:
            h = rested(h, np.exp(b.growth[p, t] - b.growth[p, now]), b.ceiling[p])
        if not (t == 0 and b.start[m] == p):
            cost = w.entry * b.area_ha[p] * short_of(b.entry[m, p], h, b.spread)
        hay, short, dose, heat, h = graze(b, p, m, t, new.length[r, i], h)
        new.usd[r, i] = cost + w.hay * hay + w.residual * short + heat
        new.dose[r, i], new.left[r, i] = dose, h
        now = t + new.length[r, i]
    if now < days:
        h = rested(h, np.exp(b.growth[p, days] - b.growth[p, now]), b.ceiling[p])
    total, dose = w.end * b.area_ha[p] * max(0.0, b.cover[p] - h), 0.0
    for i in range(new.n[r]):
        total += new.usd[r, i]
        dose += new.dose[r, i]
    new.total[r] = total + w.dose * max(0.0, dose - b.dose_limit[p])
    return new.total[r]


@folded
def _keep(s, p, new, r):  # type: ignore[no-untyped-def]
    """Take over a paddock's new season."""
    n = new.n[r]
    s.n[p], s.total[p] = n, new.total[r]
    for k in range(n):
        s.who[p, k], s.first[p, k], s.length[p, k] = new.who[r, k], new.first[r, k], new.length[r, k]
        s.usd[p, k], s.dose[p, k], s.left[p, k] = new.usd[r, k], new.dose[r, k], new.left[r, k]


@folded
def _fill(b, x, s, none):  # type: ignore[no-untyped-def]
    """Fill every paddock's season of a plan that keeps every hard rule."""
    yard = b.area_ha.shape[0]
    for m in range(x.shape[0]):
        t = 0
        while t < x.shape[1]:
            a = t
            while t < x.shape[1] and x[m, t] == x[m, a]:
                t += 1
            if x[m, a] < yard:
                _put(s, x[m, a], m, a, t - a)
    for p in range(yard):
        _price(b, p, 0, none, s, p)


@stepped
def anneal(b, start, old, churn_usd, tries, hot_usd, cold_usd, key):  # type: ignore[no-untyped-def]
    """Improve a plan that keeps every hard rule.

    Parameters
    ----------
    b : Board
    start : int array, shape (mob, day)
    old, churn_usd : int array (mob, day), array (day,)
        The plan in force, -1 where it has no word, and the price of a day that differs. [USD]
    tries : int
        Changes tried.
    hot_usd, cold_usd : float
        A worsening of this size is taken one time in three, at first and at last. [USD]
    key : uint64

    Returns
    -------
    (plan, cost) : int array (mob, day), float
        The best seen and its cost, churn included. [USD]
    """
    days = start.shape[1]
    s, none, new = _blank(b.area_ha.shape[0]), _blank(1), _blank(_TOUCHED)
    state, terms, cut = np.full(1, key, np.uint64), np.zeros(10), np.zeros((2, 3), np.int64)
    touched, count, best = np.empty(_TOUCHED, np.int64), np.zeros(days, np.int64), start.copy()
    best_usd = _improve(
        b, start.copy(), start.copy(), old, churn_usd, tries, hot_usd, cold_usd,
        best, s, none, new, state, terms, cut, touched, count,
    )  # fmt: skip
    return best, best_usd


@folded
def _improve(  # type: ignore[no-untyped-def]
    b, x, y, old, churn_usd, tries, hot_usd, cold_usd, best, s, none, new, state, terms, cut, touched, count
):
    """Fill the best plan seen, and return its cost: ``anneal`` in room of its caller. [USD]"""
    _fill(b, x, s, none)
    total = s.total.sum()
    for m in range(x.shape[0]):
        total += _off(b, x, m, 0, x.shape[1], old, churn_usd, terms)
        _arrivals(b, x, m, 0, x.shape[1], count, 1)
    best_usd = total
    cool, warmth = (cold_usd / hot_usd) ** (64.0 / max(tries, 64)), hot_usd
    for k in range(tries):
        if k % 64 == 63:
            warmth *= cool
        n = change(y, b.start, b.area_ha.shape[0], state, cut)
        if n == 0:
            continue
        allowed = total - warmth * np.log(1.0 - chance(state))
        after, changed = _try(b, x, y, cut, n, old, churn_usd, count, s, new, touched, total, allowed, terms)
        if after > allowed:
            _copy_cut(x, y, cut, n)
            continue
        for i in range(n):
            _arrivals(b, x, cut[i, 0], cut[i, 1], cut[i, 2], count, -1)
        _copy_cut(y, x, cut, n)
        for i in range(n):
            _arrivals(b, x, cut[i, 0], cut[i, 1], cut[i, 2], count, 1)
        for i in range(changed):
            _keep(s, touched[i], new, i)
        total = after
        if total < best_usd - 1e-9:
            copy_plan(x, best)
            best_usd = total
    return best_usd


@folded
def _copy_cut(out_of, into, cut, n):  # type: ignore[no-untyped-def]
    """Copy the days of a change from one plan into another."""
    for i in range(n):
        m = cut[i, 0]
        for t in range(cut[i, 1], cut[i, 2]):
            into[m, t] = out_of[m, t]


@folded
def _within_cap(b, x, y, cut, n, count):  # type: ignore[no-untyped-def]
    """Return whether people can make the arrivals of a changed plan."""
    for i in range(n):
        _arrivals(b, x, cut[i, 0], cut[i, 1], cut[i, 2], count, -1)
        _arrivals(b, y, cut[i, 0], cut[i, 1], cut[i, 2], count, 1)
    kept = True
    for i in range(n):
        for t in range(cut[i, 1], min(cut[i, 2] + 1, count.shape[0])):
            kept = kept and count[t] <= b.cap[t]
    for i in range(n):
        _arrivals(b, x, cut[i, 0], cut[i, 1], cut[i, 2], count, 1)
        _arrivals(b, y, cut[i, 0], cut[i, 1], cut[i, 2], count, -1)
    return kept


@folded
def _all_touched(x, y, cut, n, yard, touched):  # type: ignore[no-untyped-def]
    """List the paddocks that a change touches; more than fit if there are too many."""
    changed = 0
    for i in range(n):
        m = cut[i, 0]
        for t in range(cut[i, 1], cut[i, 2]):
            if x[m, t] != y[m, t]:
                changed = _note(x[m, t], touched, changed) if x[m, t] < yard else changed
                changed = _note(y[m, t], touched, changed) if y[m, t] < yard else changed
    return changed


@folded
def _try(b, x, y, cut, n, old, churn_usd, count, s, new, touched, total, allowed, terms):  # type: ignore[no-untyped-def]
    """Return a changed plan's cost, infinite once it cannot be taken, and how many paddocks it touched."""
    for i in range(n):
        if not row_kept(b, y, cut[i, 0], cut[i, 1], cut[i, 2]):
            return np.inf, 0
    changed = _all_touched(x, y, cut, n, b.area_ha.shape[0], touched)
    if changed > touched.shape[0]:
        return np.inf, 0
    for i in range(changed):
        p = touched[i]
        if not _relist(s, p, new, i, y, cut, n):
            return np.inf, 0
        if not rests_kept(b, p, new.who[i], new.first[i], new.length[i], new.n[i]):
            return np.inf, 0
        total -= s.total[p]
    if not _within_cap(b, x, y, cut, n, count):
        return np.inf, 0
    for i in range(n):
        m, a, e = cut[i, 0], cut[i, 1], cut[i, 2]
        total += _off(b, y, m, a, e, old, churn_usd, terms) - _off(b, x, m, a, e, old, churn_usd, terms)
    for i in range(changed):
        if total > allowed:
            return np.inf, 0
        total += _price(b, touched[i], touched[i], s, new, i)
    return total, changed
