"""Plans built day by day, several side by side, by cost so far and what the guide says is still to come."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.form import Plan
from browseline.moves.guide import LENGTHS, Guide, grown, on_grid, visit
from browseline.moves.kernel import Bars, Field, follows_on, off_job, over_usd, rest_usd
from browseline.science.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]
YARD_LENGTHS = np.array([1, 2, 4, 7], np.int64)


class Pool(NamedTuple):
    """Unfinished plans by bucket (day and mobs already placed on it) and slot.

    filled (bucket,); usd, score, parent (bucket, slot); step (bucket, slot, 4) the last visit: mob,
    place, first day, end; free, at (bucket, slot, mob) until when each is placed, and where; mass, worth
    (bucket, slot, paddock); clock, ready (same) day of that mass, and day from which it is rested;
    left (bucket, slot, paddock, mob) when each last left.
    """

    filled: Index
    usd: Array
    score: Array
    parent: Index
    step: Index
    free: Index
    at: Index
    mass: Array
    worth: Array
    clock: Index
    ready: Index
    left: Array


def beam(bars: Bars, field: Field, guide: Guide, old: Plan, churn_usd: Array, width: int) -> list[Plan]:
    """Return the best few plans of a beam, the best first; each keeps every hard limit or is left out later.

    Parameters
    ----------
    old, churn_usd
        The plan in force and the price of a day that differs, as in ``anneal.churn``.
    width : int
        Plans kept side by side.
    """
    mobs, days, paddocks = bars.open_.shape
    buckets, slots = mobs * (days + 1), 3 * width

    def whole(*more: int) -> Index:
        return np.zeros((buckets, slots, *more), np.int64)

    def part(*more: int) -> Array:
        return np.zeros((buckets, slots, *more))

    pool = Pool(
        np.zeros(buckets, np.int64), part(), part(), whole(), whole(4), whole(mobs), whole(mobs),
        part(paddocks), part(paddocks), whole(paddocks), whole(paddocks), part(paddocks, mobs),
    )  # fmt: skip
    nodes = np.zeros((buckets * width + 1, 5), np.int64)
    ends = _search(bars, field, guide, LENGTHS, YARD_LENGTHS, old, churn_usd, width, pool, nodes)
    plans = []
    for node in ends[:4]:
        place = np.full((mobs, days), paddocks, np.int64)
        while node >= 0:
            parent, m, p, a, b = nodes[node]
            if m >= 0:
                place[m, a:b] = p
            node = parent
        plans.append(place)
    return plans


@compiled
def _slot_for(pool, bucket, score):  # type: ignore[no-untyped-def]
    """Return the slot that a plan may take in a bucket, or -1 if all there are better."""
    count = pool.filled[bucket]
    if count < pool.score.shape[1]:
        pool.filled[bucket] = count + 1
        return count
    worst = int(np.argmax(pool.score[bucket]))
    return worst if score < pool.score[bucket, worst] else -1


@compiled
def _bucket(free, t_end):  # type: ignore[no-untyped-def]
    """Return the bucket of a plan: the first day on which a mob is free, and how many are placed on it."""
    mobs = free.shape[0]
    t = free.min()
    if t >= t_end:
        return t_end * mobs
    waiting = 0
    for m in range(mobs):
        waiting += free[m] == t
    return t * mobs + mobs - waiting


@compiled
def _child(pool, b, k, node, m, p, t, end, usd, score, from_paddock, mass, ready, worth, rest, days):  # type: ignore[no-untyped-def]
    """Put into the pool a plan with one more visit; ``from_paddock`` is left on day ``t``, -1 if none."""
    kept = pool.free[b, k, m]
    pool.free[b, k, m] = end
    bucket = _bucket(pool.free[b, k], days)
    pool.free[b, k, m] = kept
    slot = _slot_for(pool, bucket, score)
    if slot < 0:
        return
    pool.usd[bucket, slot], pool.score[bucket, slot], pool.parent[bucket, slot] = usd, score, node
    step = pool.step[bucket, slot]
    step[0], step[1], step[2], step[3] = m, p, t, end
    pool.free[bucket, slot], pool.at[bucket, slot] = pool.free[b, k], pool.at[b, k]
    pool.free[bucket, slot, m], pool.at[bucket, slot, m] = end, p
    pool.mass[bucket, slot], pool.worth[bucket, slot] = pool.mass[b, k], pool.worth[b, k]
    pool.clock[bucket, slot], pool.ready[bucket, slot] = pool.clock[b, k], pool.ready[b, k]
    pool.left[bucket, slot] = pool.left[b, k]
    if from_paddock >= 0:
        pool.left[bucket, slot, from_paddock, m] = t
        pool.ready[bucket, slot, from_paddock] = min(t + rest, days)
    if p < pool.mass.shape[2]:
        pool.mass[bucket, slot, p], pool.clock[bucket, slot, p] = mass, end
        pool.left[bucket, slot, p, m] = end
        pool.ready[bucket, slot, p], pool.worth[bucket, slot, p] = ready, worth


@compiled
def _refresh(pool, b, k, t, guide, prices_to):  # type: ignore[no-untyped-def]
    """Bring the paddocks of a plan to a day and return its score: cost, prices to come, less their worth."""
    score = pool.usd[b, k]
    for m in range(pool.free.shape[2]):
        score += prices_to[m, pool.free[b, k, m]]
    for p in range(pool.mass.shape[2]):
        if pool.clock[b, k, p] < t:
            pool.mass[b, k, p] = grown(p, pool.clock[b, k, p], t, pool.mass[b, k, p], guide.net)
            pool.clock[b, k, p] = t
        if pool.ready[b, k, p] <= t:
            pool.worth[b, k, p] = on_grid(guide.value[p, t], pool.mass[b, k, p])
        score -= pool.worth[b, k, p]
    return score


@compiled
def _days_changed(m, p, t, end, old, churn_usd, bars):  # type: ignore[no-untyped-def]
    """Return what a stay costs by the plan in force and by an open job of its mob. [USD]"""
    cost = off_job(m, p, t, end, bars) * bars.prices_usd[5]
    for d in range(t, end if p < bars.open_.shape[2] else t):
        cost += bars.dear_usd[m, d, p]
    for d in range(t, min(end, churn_usd.shape[0])):
        if old[m, d] >= 0 and old[m, d] != p:
            cost += churn_usd[d]
    return cost


@compiled
def _into_yard(pool, b, k, node, m, t, bars, guide, yards, old, churn_usd, prices_to, score):  # type: ignore[no-untyped-def]
    yard, days = bars.open_.shape[2], bars.can_move.shape[0]
    here, none = pool.at[b, k, m], np.int64(0)
    for i in range(yards.shape[0]):
        end = min(t + yards[i], days)
        while end < days and not bars.can_move[end]:
            end += 1
        usd = _days_changed(m, yard, t, end, old, churn_usd, bars)
        for d in range(t, end):
            usd += bars.demand_kg_d[d, m] * bars.prices_usd[0] + bars.prices_usd[1]
        if here != yard:
            usd += bars.prices_usd[2] + bars.far_km[here, yard] * bars.prices_usd[3]
        after = score + usd + prices_to[m, end] - prices_to[m, t]
        began = here if t == 0 and here < yard else np.int64(-1)
        _child(pool, b, k, node, m, yard, t, end, pool.usd[b, k] + usd, after, began, 0.0, none, 0.0,
               guide.rest_d[m], days)  # fmt: skip


@compiled
def _stay_on(pool, b, k, node, m, bars, field, guide, lengths, old, churn_usd, prices_to, score):  # type: ignore[no-untyped-def]
    """Let a mob stay where it stands at the beginning."""
    p, days = bars.start[m], bars.can_move.shape[0]
    today, nowhere = np.int64(0), np.int64(-1)
    for i in range(lengths.shape[0]):
        n = max(lengths[i], bars.stuck_d[m])
        if n > days or (n < days and not bars.can_move[n]):
            continue
        clear = True
        for d in range(bars.stuck_d[m], n):
            clear &= bars.open_[m, d, p]
        over = over_usd(p, m, n + bars.been_d[m], n, n <= bars.stuck_d[m], bars)[1]
        if not clear or over == np.inf:
            continue
        usd, mass = visit(p, m, today, n, bars.been_d[m], pool.mass[b, k, p], bars, guide.net,
                          guide.step_kg_ha, field.land.area_ha[p], field.land.floor_kg_ha[p])  # fmt: skip
        usd += over + _days_changed(m, p, today, n, old, churn_usd, bars)
        ready = min(n + guide.rest_d[m], days)
        worth = on_grid(guide.value[p, ready], on_grid(guide.rested[p, m, n], mass))
        after = score + usd + prices_to[m, n] - prices_to[m, 0] - worth + pool.worth[b, k, p]
        _child(pool, b, k, node, m, p, today, n, pool.usd[b, k] + usd, after, nowhere, mass, ready, worth,
               today, days)  # fmt: skip


@compiled
def _into_paddocks(pool, b, k, node, m, t, bars, guide, lengths, old, churn_usd, prices_to, score):  # type: ignore[no-untyped-def]
    days, yard = bars.can_move.shape[0], bars.open_.shape[2]
    here = pool.at[b, k, m]
    nobody = np.zeros(bars.start.shape[0], np.bool_)
    began = here if t == 0 and here < yard else np.int64(-1)
    for p in range(yard):
        occupied = pool.clock[b, k, p] > t or p == here
        for i in range(bars.start.shape[0]):
            occupied |= i != m and pool.at[b, k, i] == p and pool.free[b, k, i] == t == 0
        if occupied or not follows_on(m, t, pool.left[b, k, p], nobody, bars):
            continue
        rest = rest_usd(p, m, t, pool.left[b, k, p], nobody, bars)[1]
        if rest == np.inf:
            continue
        fixed = rest + bars.far_km[here, p] * bars.prices_usd[3]
        for i in range(lengths.shape[0]):
            end = t + lengths[i]
            if end > days or guide.cost[p, m, t, i, 0] == np.inf:
                continue
            x = pool.mass[b, k, p]
            usd = fixed + on_grid(guide.cost[p, m, t, i], x)
            usd += _days_changed(m, p, t, end, old, churn_usd, bars)
            mass, ready = on_grid(guide.after[p, m, t, i], x), min(end + guide.rest_d[m], days)
            worth = on_grid(guide.value[p, ready], on_grid(guide.rested[p, m, end], mass))
            after = score + usd + prices_to[m, end] - prices_to[m, t] - worth + pool.worth[b, k, p]
            _child(pool, b, k, node, m, p, t, end, pool.usd[b, k] + usd, after, began, mass, ready, worth,
                   guide.rest_d[m], days)  # fmt: skip


@compiled
def _arrived(nodes, node, t, bars):  # type: ignore[no-untyped-def]
    """Return how many arrivals the last visits of a plan already make on a day."""
    count = 0
    while node >= 0 and nodes[node, 1] >= 0 and nodes[node, 3] == t:
        m, p = nodes[node, 1], nodes[node, 2]
        count += not (t == 0 and bars.start[m] == p)
        node = nodes[node, 0]
    return count


@compiled
def _first_free(free, t):  # type: ignore[no-untyped-def]
    """Return the first mob that is free on a day."""
    for m in range(free.shape[0]):
        if free[m] == t:
            return m
    return free.shape[0]


@compiled
def _root(pool, bars, guide, days):  # type: ignore[no-untyped-def]
    for m in range(bars.start.shape[0]):
        pool.at[0, 0, m] = bars.start[m]
    for p in range(bars.open_.shape[2]):
        pool.mass[0, 0, p] = guide.start[p]
        for m in range(bars.start.shape[0]):
            pool.left[0, 0, p, m] = -bars.ago_d[m, p]
    pool.filled[0] = 1
    pool.parent[0, 0] = -1
    pool.step[0, 0, 0] = -1


@compiled
def _search(bars, field, guide, lengths, yards, old, churn_usd, width, pool, nodes):  # type: ignore[no-untyped-def]
    """Fill the pool from the first day to the last; return the nodes of whole plans, the cheapest first."""
    mobs, days, yard = bars.open_.shape
    prices_to = np.zeros((mobs, days + 1))
    for m in range(mobs):
        for t in range(days - 1, -1, -1):
            prices_to[m, t] = prices_to[m, t + 1] + guide.prices[m, t]
    _root(pool, bars, guide, days)
    made = np.int64(0)
    for b in range(days * mobs):
        t, count = b // mobs, pool.filled[b]
        for k in range(count):
            pool.score[b, k] = _refresh(pool, b, k, t, guide, prices_to)
        order = np.argsort(pool.score[b, :count])
        for k in order[:width]:
            nodes[made, 0], nodes[made, 1:] = pool.parent[b, k], pool.step[b, k]
            node, made = made, made + 1
            m = _first_free(pool.free[b, k], t)
            score = pool.score[b, k]
            if t == 0 and bars.start[m] < yard:
                _stay_on(pool, b, k, node, m, bars, field, guide, lengths, old, churn_usd, prices_to, score)
            stays_in_yard = pool.at[b, k, m] == yard
            if not bars.can_move[t] and not stays_in_yard:
                continue
            if _arrived(nodes, node, t, bars) < bars.arrivals[t] or stays_in_yard:
                _into_yard(pool, b, k, node, m, t, bars, guide, yards, old, churn_usd, prices_to, score)
            if bars.can_move[t] and _arrived(nodes, node, t, bars) < bars.arrivals[t]:
                _into_paddocks(pool, b, k, node, m, t, bars, guide, lengths, old, churn_usd, prices_to, score)
    last = days * mobs
    order = np.argsort(pool.score[last, : pool.filled[last]])
    out = np.empty(min(order.shape[0], width), np.int64)
    for i in range(out.shape[0]):
        nodes[made, 0], nodes[made, 1:] = pool.parent[last, order[i]], pool.step[last, order[i]]
        out[i], made = made, made + 1
    return out
