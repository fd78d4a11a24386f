"""A plan that is made for many weather years at once and then kept: what replanning has to beat."""

from __future__ import annotations

import numpy as np

from benchmarks.plan_weather import under
from browseline.moves.board.change import change
from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.season import mob_terms, paddock_terms, rests_kept, row_kept, usd
from browseline.moves.change import chance
from browseline.science.compiled import compiled

MOST_VISITS = 512
"""To one paddock in a season. [1]"""


def for_all_years(board: Board, weather: Array, x: Index, tries: int, key: np.uint64) -> Index:
    """Return a plan whose mean cost over weather years is small, by small changes to ``x``.

    Parameters
    ----------
    weather : array, shape (year, day)
        [1]
    tries : int
        Changes tried, from a heat of 80 to 2 USD.
    """
    boards = [under(board, row) for row in weather]
    growth, step = np.stack([b.growth for b in boards]), np.stack([b.step for b in boards])
    scratch = board._replace(growth=growth[0].copy(), step=step[0].copy())
    return np.asarray(_anneal(scratch, growth, step, x, tries, 80.0, 2.0, key)[0])


@compiled
def visits_of(x, p, who, first, length):  # type: ignore[no-untyped-def]
    """Fill the visits to a place in order of days, and return how many there are; -1 if two overlap.

    Parameters
    ----------
    x : int array, shape (mob, day)
    who, first, length : int arrays, shape (visit,)
        Filled: which mob, from which day, for how many. [d]
    """
    mobs, days = x.shape
    n = 0
    for m in range(mobs):
        t = 0
        while t < days:
            if x[m, t] != p:
                t += 1
                continue
            a = t
            while t < days and x[m, t] == p:
                t += 1
            k = n
            while k > 0 and first[k - 1] > a:
                who[k], first[k], length[k] = who[k - 1], first[k - 1], length[k - 1]
                k -= 1
            who[k], first[k], length[k] = m, a, t - a
            n += 1
    for k in range(1, n):
        if first[k] < first[k - 1] + length[k - 1]:
            return -1
    return n


@compiled
def _season_usd(b, growth, step, x, p, who, first, length, terms):  # type: ignore[no-untyped-def]
    """Return the mean cost of a paddock's season over years; infinite if a rest is broken. [USD]"""
    n = visits_of(x, p, who, first, length)
    if n < 0 or not rests_kept(b, p, who, first, length, n):
        return np.inf
    years = growth.shape[0]
    terms[:] = 0.0
    for y in range(years):
        b.growth[p], b.step[p] = growth[y, p], step[y, p]
        paddock_terms(b, p, who, first, length, n, terms)
    return usd(b, terms) / years


@compiled
def _walks_usd(b, x, terms):  # type: ignore[no-untyped-def]
    """Return what all mobs cost off the paddocks; infinite where a day has too many arrivals. [USD]"""
    terms[:] = 0.0
    for m in range(x.shape[0]):
        mob_terms(b, x, m, 0, x.shape[1], terms)
    for t in range(x.shape[1]):
        came = 0
        for m in range(x.shape[0]):
            came += x[m, t] != (b.start[m] if t == 0 else x[m, t - 1])
        if came > b.cap[t]:
            return np.inf
    return usd(b, terms)


@compiled
def _kept(b, y, cut, n):  # type: ignore[no-untyped-def]
    kept = True
    for i in range(n):
        kept = kept and row_kept(b, y, cut[i, 0], cut[i, 1], cut[i, 2])
    return kept


@compiled
def _touched(x, y, yard, hit):  # type: ignore[no-untyped-def]
    hit[:] = False
    for m in range(x.shape[0]):
        for t in range(x.shape[1]):
            if x[m, t] != y[m, t]:
                if x[m, t] < yard:
                    hit[x[m, t]] = True
                if y[m, t] < yard:
                    hit[y[m, t]] = True


@compiled
def _anneal(b, growth, step, start, tries, hot_usd, cold_usd, key):  # type: ignore[no-untyped-def]
    yard, x, y = b.area_ha.shape[0], start.copy(), start.copy()
    who, first = np.empty(MOST_VISITS, np.int64), np.empty(MOST_VISITS, np.int64)
    length, terms, cut = np.empty(MOST_VISITS, np.int64), np.zeros(10), np.zeros((2, 3), np.int64)
    state, hit = np.full(1, key, np.uint64), np.zeros(yard, np.bool_)
    season, new = np.zeros(yard), np.zeros(yard)
    for p in range(yard):
        season[p] = _season_usd(b, growth, step, x, p, who, first, length, terms)
    total = season.sum() + _walks_usd(b, x, terms)
    best, best_usd = x.copy(), total
    for k in range(tries):
        warmth = hot_usd * (cold_usd / hot_usd) ** (k / tries)
        n = change(y, b.start, yard, state, cut)
        if n == 0:
            continue
        allowed, after = total - warmth * np.log(1.0 - chance(state)), np.inf
        if _kept(b, y, cut, n):
            _touched(x, y, yard, hit)
            after = _walks_usd(b, y, terms)
            for p in range(yard):
                after += 0.0 if hit[p] else season[p]
            for p in range(yard):
                if hit[p] and after <= allowed:
                    new[p] = _season_usd(b, growth, step, y, p, who, first, length, terms)
                    after += new[p]
        if after > allowed:
            y[:] = x
            continue
        for p in range(yard):
            season[p] = new[p] if hit[p] else season[p]
        x[:], total = y, after
        if total < best_usd - 1e-9:
            best[:], best_usd = x, total
    return best, best_usd
