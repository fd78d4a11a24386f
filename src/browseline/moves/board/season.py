"""One paddock's season on the board, and one mob's walking: the exact cost of a plan, compiled."""

from __future__ import annotations

import numpy as np

from browseline.moves.board.fast import folded, stepped
from browseline.moves.board.form import (
    DOSE,
    END,
    ENTRY,
    HAY,
    HEAT,
    KM,
    MOVES,
    RESIDUAL,
    YARD_D,
    YARD_HAY,
    Board,
)

_MARGIN_KG_HA = 200.0


@folded
def rested(h, e, ceiling):  # type: ignore[no-untyped-def]
    """Return herbage after growth with nobody there: the logistic step.

    Parameters
    ----------
    h : float
        [kg DM/ha]
    e : float
        exp of the growth sum of the time. [1]
    """
    return h * e / (1.0 + h * (e - 1.0) / ceiling)


@folded
def short_of(line, h, spread):  # type: ignore[no-untyped-def]
    """Return herbage short of a line; with a spread the mean over herbage that lies about ``h``.

    Parameters
    ----------
    line, h, spread : float
        [kg DM/ha]
    """
    if spread <= 0.0:
        return max(0.0, line - h)
    x = (line - h) / spread
    return spread * (x if x > 30.0 else np.log1p(np.exp(x)))


@folded
def _runs(x, paddocks, last, before, who, first, length):  # type: ignore[no-untyped-def]
    """List every visit of a plan, and for each paddock the first of its own.

    Parameters
    ----------
    x : int array, shape (mob, day)
    last, before : int arrays, shape (paddock,), (visit,)
        Filled: a paddock's first visit in the list, -1 for none; and for each visit the paddock's next.
    who, first, length : int arrays, shape (visit,)
        Filled: which mob, from which day, for how many. [d]
    """
    last[:paddocks] = -1
    n = 0
    for m in range(x.shape[0] - 1, -1, -1):
        end = x.shape[1]
        while end > 0:
            p, a = x[m, end - 1], end - 1
            while a > 0 and x[m, a - 1] == p:
                a -= 1
            if p < paddocks:
                who[n], first[n], length[n], before[n] = m, a, end - a, last[p]
                last[p] = n
                n += 1
            end = a


@folded
def _in_order(v, before, all_who, all_first, all_length, who, first, length):  # type: ignore[no-untyped-def]
    """Fill a paddock's visits in order of days, and return how many there are; -1 if two overlap.

    Parameters
    ----------
    v : int
        The first of them in the list of all, -1 for none.
    before, all_who, all_first, all_length
        That list, of ``_runs``.
    who, first, length : int arrays, shape (visit,)
        Filled: which mob, from which day, for how many. [d]
    """
    n = 0
    while v >= 0:
        k = n
        while k > 0 and first[k - 1] > all_first[v]:
            who[k], first[k], length[k] = who[k - 1], first[k - 1], length[k - 1]
            k -= 1
        who[k], first[k], length[k] = all_who[v], all_first[v], all_length[v]
        n += 1
        v = before[v]
    for k in range(1, n):
        if first[k] < first[k - 1] + length[k - 1]:
            return -1
    return n


@folded
def follows(b, m, t, left):  # type: ignore[no-untyped-def]
    """Return whether a mob may come on a day to where its leader left on another, days before.

    Parameters
    ----------
    left : float
        Day on which the leader left; before the first day as a negative number. [d]
    """
    behind = t - left + (b.follow_d[m, 2] if t == 0 else 0.0)
    return b.follow_d[m, 0] - 1e-9 <= behind <= b.follow_d[m, 1] + 1e-9


@folded
def _behind(b, p, who, first, length, k):  # type: ignore[no-untyped-def]
    """Return whether a visit comes behind the leader of its mob; true where it has none."""
    m = who[k]
    leader = b.leader[m]
    if leader < 0:
        return True
    left = -b.led_ago_d[m, p]
    for i in range(k):
        if who[i] == leader:
            left = max(left, float(first[i] + length[i]))
    return follows(b, m, first[k], left)


@folded
def rests_kept(b, p, who, first, length, n):  # type: ignore[no-untyped-def]
    """Return whether every visit comes after the rest since every earlier one, and after the past's."""
    longest = 0
    for m in range(b.rest_d.shape[0]):
        for i in range(b.rest_d.shape[0]):
            longest = max(longest, b.rest_d[i, m])
    for k in range(n):
        m = who[k]
        own = b.own_rest_d[m, p] if b.own_rest_d.shape[0] > 0 else 0
        longest = max(longest, own)
        stood = first[k] == 0 and b.start[m] == p
        if not stood and first[k] < b.fit_from[m, p]:
            return False
        if not stood and b.leader.shape[0] > 0 and not _behind(b, p, who, first, length, k):
            return False
        for i in range(k - 1, -1, -1):
            since = first[k] - first[i] - length[i]
            if since < b.rest_d[who[i], m] or (who[i] == m and since < own):
                return False
            if since >= longest:
                break
    return True


@folded
def graze(b, p, m, t, days, h):  # type: ignore[no-untyped-def]
    """Run a visit day by day: graze, then grow.

    Parameters
    ----------
    h : float
        Herbage at arrival. [kg DM/ha]

    Returns
    -------
    (hay, short, dose, heat, h) : float
        Demand not met [kg], herbage short of the residual on the evenings that count [kg], tree dose
        [LU d/ha], heat [USD], herbage at the end [kg DM/ha].

    References
    ----------
    derived_here, planner.md 1.3
    """
    area, floor, ceiling, sigma = b.area_ha[p], b.floor, b.ceiling[p], b.sigma[m, p]
    line = b.residual[p] + _MARGIN_KG_HA
    hay, dose, heat, left, short = 0.0, 0.0, 0.0, h, 0.0
    for d in range(t, t + days):
        need = b.demand_kg_d[m, d]
        eaten = min(need, max(0.0, (h - floor) * area / b.wasted))
        hay += need - eaten
        left = h - b.wasted * eaten / area
        if sigma > 0.0:
            z = max(0.0, (line - left) / (line - floor))
            dose += b.lu[m, d] / area * sigma * (1.0 + 4.0 * z * z)
        heat += b.heat_usd[m, d, p]
        if b.nightly or d == t + days - 1:
            short += area * short_of(b.residual[p], left, b.spread)
        h = rested(left, b.step[p, d], ceiling)
    return hay, short, dose, heat, h


@folded
def paddock_terms(b, p, who, first, length, n, terms):  # type: ignore[no-untyped-def]
    """Add a paddock's season to ``terms``; the dose counts above its limit.

    References
    ----------
    derived_here, planner.md 1.3 and 1.4
    """
    days = b.can_move.shape[0]
    h, now = b.start_kg_ha[p], 0
    total = 0.0
    for k in range(n):
        m, t = who[k], first[k]
        if t > now:
            h = rested(h, np.exp(b.growth[p, t] - b.growth[p, now]), b.ceiling[p])
        if not (t == 0 and b.start[m] == p):
            terms[ENTRY] += b.area_ha[p] * short_of(b.entry[m, p], h, b.spread)
        hay, short, dose, heat, h = graze(b, p, m, t, length[k], h)
        terms[HAY] += hay
        terms[RESIDUAL] += short
        terms[HEAT] += heat
        total += dose
        now = t + length[k]
    if now < days:
        h = rested(h, np.exp(b.growth[p, days] - b.growth[p, now]), b.ceiling[p])
    terms[END] += b.area_ha[p] * max(0.0, b.cover[p] - h)
    terms[DOSE] += max(0.0, total - b.dose_limit[p])


@folded
def usd(b, terms):  # type: ignore[no-untyped-def]
    """Return what some terms cost together. [USD]"""
    w = b.prices
    return (
        w.hay * (terms[HAY] + terms[YARD_HAY]) + w.yard_d * terms[YARD_D] + w.residual * terms[RESIDUAL]
        + w.entry * terms[ENTRY] + w.dose * terms[DOSE] + terms[HEAT] + w.move * terms[MOVES]
        + w.km * terms[KM] + w.end * terms[END]
    )  # fmt: skip


@folded
def mob_terms(b, x, m, a, until, terms):  # type: ignore[no-untyped-def]
    """Add what a mob's days from ``a`` to before ``until`` cost off the paddocks, arrivals included."""
    yard = b.area_ha.shape[0]
    for t in range(a, until):
        here = x[m, t]
        before = b.start[m] if t == 0 else x[m, t - 1]
        if here == yard:
            terms[YARD_D] += 1.0
            terms[YARD_HAY] += b.demand_kg_d[m, t]
        if here != before:
            terms[MOVES] += 1.0
            terms[KM] += b.far_km[before, here]


@folded
def row_kept(b, x, m, a, until):  # type: ignore[no-untyped-def]
    """Return whether a mob's visits that touch some days keep the calendar: open, stay, days of moving."""
    days, yard = x.shape[1], b.area_ha.shape[0]
    t = max(a - 1, 0)
    while t > 0 and x[m, t - 1] == x[m, t]:
        t -= 1
    while t < days and t <= until:
        begin, p = t, x[m, t]
        while t < days and x[m, t] == p:
            t += 1
        stood = begin == 0 and b.start[m] == p
        if not stood and not b.can_move[begin]:
            return False
        if p == yard:
            continue
        over = t - begin + (b.been_d[m] if stood else 0) > b.longest_d[m, p]
        if over or b.clear_d[m, begin, p] < t - begin:
            return False
    return True


@stepped
def whole(b, x, terms):  # type: ignore[no-untyped-def]
    """Return whether a plan keeps every hard rule, and fill its terms.

    Parameters
    ----------
    x : int array, shape (mob, day)
    terms : array, shape (term,)
        Filled, each in its own unit.
    """
    return _whole(b, x, terms, np.empty((7, x.size), np.int64), np.empty(b.area_ha.shape[0], np.int64))


@folded
def _whole(b, x, terms, room, last):  # type: ignore[no-untyped-def]
    """Do as `whole`, in room of its caller: for all visits and for those of one paddock."""
    (mobs, days), before, who, first, length = x.shape, room[0], room[4], room[5], room[6]
    terms[:] = 0.0
    kept = True
    for m in range(mobs):
        kept = kept and row_kept(b, x, m, 0, days)
        mob_terms(b, x, m, 0, days, terms)
    for t in range(days):
        count = 0
        for m in range(mobs):
            count += x[m, t] != (b.start[m] if t == 0 else x[m, t - 1])
        kept = kept and count <= b.cap[t]
    _runs(x, b.area_ha.shape[0], last, before, room[1], room[2], room[3])
    for p in range(b.area_ha.shape[0]):
        n = _in_order(last[p], before, room[1], room[2], room[3], who, first, length)
        if n < 0:
            return False
        kept = kept and rests_kept(b, p, who, first, length, n)
        paddock_terms(b, p, who, first, length, n, terms)
    return kept


def cost_usd(board: Board, x: np.ndarray) -> tuple[bool, float, np.ndarray]:
    """Return whether a plan keeps every hard rule, its cost [USD], and its terms, shape (term,)."""
    terms = np.zeros(10)
    kept = bool(whole(board, np.ascontiguousarray(x, np.int64), terms))
    return kept, float(usd(board, terms)), terms
