"""Plans built day by day, several side by side, by cost so far and what is still to come at the prices."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.board.fast import folded, stepped
from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.prices import EARLIEST_KG_HA, Floats, Prices, Tables
from browseline.moves.board.season import follows, graze, short_of

Short = NDArray[np.int16]


class Nodes(NamedTuple):
    """Unfinished plans. The first axis is the node.

    made (1,) how many there are; parent, mob, place, begin, until (node,): the last visit, and the node
    before it; usd (node,) cost so far; free, at, since (node, mob): until when each is placed,
    where, and from when;
    y (node, paddock) invariant of the herbage once it is left; dose (same) tree dose so far; who, left (same)
    by whom and when it is left last, -1 if by nobody; gone (node, paddock, mob) when each left it.
    """

    made: Index
    parent: Index
    mob: Index
    place: Index
    begin: Index
    until: Index
    usd: Array
    free: Short
    at: Short
    since: Short
    y: Array
    dose: Floats
    who: Short
    left: Short
    gone: Short


class Heaps(NamedTuple):
    """The best visits into each bucket (a day, and the mobs already placed on it), the worst on top.

    filled (bucket,); score (bucket, slot); visit (bucket, slot, 4): node, mob, place, end.
    """

    filled: Index
    score: Array
    visit: Index


LONG_AGO = -10_000


def beam(b: Board, t: Tables, prices: Prices, old: Index, churn_usd: Array, width: int) -> list[Index]:
    """Return the best few plans of a beam, the best by its own reckoning first.

    Parameters
    ----------
    old, churn_usd
        The plan in force and the price of a day that differs, as in ``anneal``.
    width : int
        Plans kept side by side.
    """
    mobs, days, paddocks = len(b.start), len(b.can_move), len(b.area_ha)
    buckets = mobs * (days + 1)
    nodes = _nodes(width * buckets + 1, mobs, paddocks)
    heaps = Heaps(
        np.zeros(buckets, np.int64), np.empty((buckets, width)), np.empty((buckets, width, 4), np.int64)
    )
    spent = np.zeros((mobs, days + 1))
    spent[:, :-1] = np.cumsum(prices.day[:, ::-1], axis=1)[:, ::-1]
    u = np.log(b.start_kg_ha / (b.ceiling - b.start_kg_ha)) - b.growth[:, 0]
    if not prices.leave.size:
        prices = prices._replace(leave=np.zeros((mobs, days + 1, paddocks + 1)))
    ends = _search(b, t, prices, spent, u, old, churn_usd, nodes, heaps)
    plans = []
    for node in ends[:4]:
        x = np.full((mobs, days), paddocks, np.int64)
        while nodes.parent[node] >= 0:
            x[nodes.mob[node], nodes.begin[node] : nodes.until[node]] = nodes.place[node]
            node = nodes.parent[node]
        plans.append(x)
    return plans


def _nodes(most: int, mobs: int, paddocks: int) -> Nodes:
    """Return room for some unfinished plans."""

    def numbers() -> Index:
        return np.empty(most, np.int64)

    def short(*shape: int) -> Short:
        return np.empty((most, *shape), np.int16)

    return Nodes(
        np.zeros(1, np.int64), numbers(), numbers(), numbers(), numbers(), numbers(), np.empty(most),
        short(mobs), short(mobs), short(mobs), np.empty((most, paddocks)),
        np.empty((most, paddocks), np.float32), short(paddocks), short(paddocks), short(paddocks, mobs),
    )  # fmt: skip


@folded
def _push(h, bucket, score, node, m, p, end):  # type: ignore[no-untyped-def]
    """Put a visit among the best of a bucket, if it is one."""
    s, v, width, n = h.score, h.visit, h.score.shape[1], h.filled[bucket]
    if n == width:
        if score >= s[bucket, 0]:
            return
        k = 0
        while True:  # let the worst fall out, and the new one sink to its place
            c = 2 * k + 1
            if c >= n:
                break
            if c + 1 < n and s[bucket, c + 1] > s[bucket, c]:
                c += 1
            if s[bucket, c] <= score:
                break
            s[bucket, k] = s[bucket, c]
            for i in range(4):
                v[bucket, k, i] = v[bucket, c, i]
            k = c
    else:
        k = n
        h.filled[bucket] = n + 1
        while k > 0:
            c = (k - 1) // 2
            if s[bucket, c] >= score:
                break
            s[bucket, k] = s[bucket, c]
            for i in range(4):
                v[bucket, k, i] = v[bucket, c, i]
            k = c
    s[bucket, k] = score
    v[bucket, k, 0], v[bucket, k, 1], v[bucket, k, 2], v[bucket, k, 3] = node, m, p, end


@folded
def _bucket(nodes, n, m, end, days):  # type: ignore[no-untyped-def]
    """Return the bucket of a plan in which mob ``m`` is placed until ``end``."""
    mobs = nodes.free.shape[1]
    first = days
    for i in range(mobs):
        first = min(first, end if i == m else nodes.free[n, i])
    if first >= days:
        return days * mobs
    waiting = 0
    for i in range(mobs):
        waiting += (end if i == m else nodes.free[n, i]) == first
    return first * mobs + mobs - waiting


@folded
def _end(t, p, x):  # type: ignore[no-untyped-def]
    """Return the cost of the last cover at a band position, straight in between. [USD]"""
    last = t.end.shape[1] - 1
    if x <= 0.0:
        return t.end[p, 0]
    if x >= last:
        return t.end[p, last]
    i = int(x)
    return t.end[p, i] + (x - i) * (t.end[p, i + 1] - t.end[p, i])


@folded
def _between(go, p, m, day, x):  # type: ignore[no-untyped-def]
    """Return a row of the grid at a band position, straight in between."""
    last = go.shape[3] - 1
    if x <= 0.0:
        return go[p, m, day, 0]
    if x >= last:
        return go[p, m, day, last]
    i = int(x)
    low, high = go[p, m, day, i], go[p, m, day, i + 1]
    if low == np.inf or high == np.inf:
        return low
    return low + (x - i) * (high - low)


@folded
def _dosed(b, p, mu, dose):  # type: ignore[no-untyped-def]
    """Return what a tree dose so far costs: its price below the limit, the whole of it above. [USD]"""
    return b.prices.dose * max(mu * dose, dose - b.dose_limit[p] + mu * b.dose_limit[p])


@folded
def _differs(m, p, begin, end, old, churn_usd):  # type: ignore[no-untyped-def]
    cost = 0.0
    for d in range(begin, min(end, churn_usd.shape[0])):
        if old[m, d] >= 0 and old[m, d] != p:
            cost += churn_usd[d]
    return cost


@folded
def _arrive_usd(b, here, p):  # type: ignore[no-untyped-def]
    return 0.0 if here == p else b.prices.move + b.prices.km * b.far_km[here, p]


@folded
def _leaves_open(b, nodes, n, m, end):  # type: ignore[no-untyped-def]
    """Return whether people can still move a mob out of a paddock on a day."""
    if end >= b.can_move.shape[0]:
        return True
    yard, due = b.area_ha.shape[0], 0
    for i in range(b.start.shape[0]):
        due += i != m and nodes.free[n, i] == end and nodes.at[n, i] < yard
    return due < b.cap[end]


@folded
def _make(b, t, mu, nodes, parent, m, p, end, old, churn_usd):  # type: ignore[no-untyped-def]
    """Make the node of a visit, its cost exact; return its number."""
    n = nodes.made[0]
    nodes.made[0] = n + 1
    begin, here, yard = nodes.free[parent, m], nodes.at[parent, m], b.area_ha.shape[0]
    nodes.parent[n], nodes.mob[n], nodes.place[n], nodes.begin[n], nodes.until[n] = parent, m, p, begin, end
    for i in range(b.start.shape[0]):
        nodes.free[n, i], nodes.at[n, i] = nodes.free[parent, i], nodes.at[parent, i]
        nodes.since[n, i] = nodes.since[parent, i]
    for q in range(yard):
        nodes.y[n, q], nodes.dose[n, q] = nodes.y[parent, q], nodes.dose[parent, q]
        nodes.who[n, q], nodes.left[n, q] = nodes.who[parent, q], nodes.left[parent, q]
        for i in range(b.start.shape[0]):
            nodes.gone[n, q, i] = nodes.gone[parent, q, i]
    nodes.free[n, m], nodes.at[n, m] = end, p
    nodes.since[n, m] = begin if here != p else nodes.since[parent, m]
    cost = nodes.usd[parent] + _arrive_usd(b, here, p) + _differs(m, p, begin, end, old, churn_usd)
    if p == yard:
        for d in range(begin, end):
            cost += b.prices.yard_d + b.prices.hay * b.demand_kg_d[m, d]
    else:
        w, ceiling = b.prices, b.ceiling[p]
        h = ceiling / (1.0 + np.exp(-(nodes.y[n, p] + b.growth[p, begin])))
        if here != p:
            cost += w.entry * b.area_ha[p] * short_of(b.entry[m, p], h, b.spread)
        hay, short, dose, heat, left = graze(b, p, m, begin, end - begin, h)
        before = nodes.dose[parent, p]
        cost += w.hay * hay + w.residual * short + heat
        cost += _dosed(b, p, mu[p], before + dose) - _dosed(b, p, mu[p], before)
        nodes.y[n, p] = np.log(left / (ceiling - left)) - b.growth[p, end]
        nodes.dose[n, p], nodes.who[n, p], nodes.left[n, p] = before + dose, m, end
        nodes.gone[n, p, m] = end
    nodes.usd[n] = cost
    return n


@folded
def _may_come(b, nodes, n, m, p, day):  # type: ignore[no-untyped-def]
    """Return whether a paddock is rested for a mob on a day, after everybody who was there."""
    if day < b.fit_from[m, p]:
        return False
    rested = True
    for i in range(b.start.shape[0]):
        rested = rested and day >= nodes.gone[n, p, i] + b.rest_d[i, m]
    if b.own_rest_d.shape[0] > 0:
        rested = rested and day >= nodes.gone[n, p, m] + b.own_rest_d[m, p]
    if rested and b.leader.shape[0] > 0 and b.leader[m] >= 0:
        leader = b.leader[m]
        if nodes.free[n, leader] == 0 and nodes.at[n, leader] == p:
            return False
        left = float(nodes.gone[n, p, leader])
        return follows(b, m, day, left if left > 0.0 else -b.led_ago_d[m, p])
    return rested


@folded
def _expand(b, t, go, mu, spent, leave, nodes, n, day, old, churn_usd, h, togo):  # type: ignore[no-untyped-def]
    """Offer to later buckets every visit that the first free mob of a plan can make next."""
    mobs, yard = b.start.shape[0], b.area_ha.shape[0]
    m, arrived, due = 0, 0, 0
    while nodes.free[n, m] != day:
        m += 1
    for i in range(mobs):
        moved = nodes.free[n, i] > day and nodes.since[n, i] == day
        arrived += moved and not (day == 0 and b.start[i] == nodes.at[n, i])
        due += i != m and nodes.free[n, i] == day and nodes.at[n, i] < yard and day > 0
    score = nodes.usd[n] - spent[m, day]
    for i in range(mobs):
        score += spent[i, nodes.free[n, i]] - (leave[i, nodes.free[n, i], nodes.at[n, i]] if i != m else 0.0)
    for p in range(yard):
        togo[p] = _from_now(b, t, p, go, day, nodes.left[n, p], nodes.who[n, p], nodes.y[n, p])
        score += togo[p]
    here = nodes.at[n, m]
    stands = day == 0 and here < yard
    can_come = b.can_move[day] and arrived + (due if here == yard else 0) < b.cap[day]
    if here == yard or can_come:
        _to_yard(b, spent, leave, nodes, n, m, day, here, score, old, churn_usd, h)
    if stands:
        _stay_on(b, t, go, mu, spent, leave, nodes, n, m, here, score - togo[here], old, churn_usd, h)
    for p in range(yard if can_come else 0):
        if p == here or not _may_come(b, nodes, n, m, p, day):
            continue
        fixed = score - togo[p] + _arrive_usd(b, here, p)
        _visits_to(b, t, go, mu, spent, leave, nodes, n, m, p, day, fixed, old, churn_usd, h)


@folded
def _from_now(b, t, p, go, day, left, who, y):  # type: ignore[no-untyped-def]
    """Return what a paddock at rest still costs at the prices if nobody comes before a day. [USD]

    Parameters
    ----------
    left, who : int
        Day on which it was left, and by whom; -1 for nobody. [d]
    y : float
        Invariant of its herbage. [1]
    """
    days = b.can_move.shape[0]
    best = _end(t, p, y / t.fine - t.low[p, days])
    for m in range(b.start.shape[0]):
        begin = max(day, left, b.fit_from[m, p])
        if who >= 0:
            begin = max(begin, left + b.rest_d[who, m])
        if begin < days:
            best = min(best, _between(go, p, m, begin, y / t.fine - t.low[p, begin]))
    return best


@folded
def _visits_to(b, t, go, mu, spent, leave, nodes, n, m, p, day, fixed, old, churn_usd, heap):  # type: ignore[no-untyped-def]
    """Offer the visits of every length to one paddock, their cost exact."""
    days, w, area, ceiling, floor = b.can_move.shape[0], b.prices, b.area_ha[p], b.ceiling[p], b.floor
    h = ceiling / (1.0 + np.exp(-(nodes.y[n, p] + b.growth[p, day])))
    early = b.entry[m, p] - h
    if early > EARLIEST_KG_HA:
        return
    sigma, line, before = b.sigma[m, p], b.residual[p] + 200.0, nodes.dose[n, p]
    cost, dose, k, d = w.entry * area * short_of(b.entry[m, p], h, b.spread), 0.0, 0, day
    while k < t.lengths.shape[0]:
        end = day + t.lengths[k]
        if end > days or t.lengths[k] > b.clear_d[m, day, p] or t.lengths[k] > b.longest_d[m, p]:
            return
        left = h
        while d < end:
            need = b.demand_kg_d[m, d]
            eaten = min(need, max(0.0, (h - floor) * area / b.wasted))
            left = h - b.wasted * eaten / area
            cost += w.hay * (need - eaten) + b.heat_usd[m, d, p] + _differs(m, p, d, d + 1, old, churn_usd)
            if sigma > 0.0:
                z = max(0.0, (line - left) / (line - floor))
                dose += b.lu[m, d] / area * sigma * (1.0 + 4.0 * z * z)
            if b.nightly:
                cost += w.residual * area * short_of(b.residual[p], left, b.spread)
            h = left * b.step[p, d] / (1.0 + left * (b.step[p, d] - 1.0) / ceiling)
            d += 1
        k += 1
        if (end < days and not b.can_move[end]) or not _leaves_open(b, nodes, n, m, end):
            continue
        short = 0.0 if b.nightly else short_of(b.residual[p], left, b.spread)
        usd = cost + w.residual * area * short + spent[m, end] - leave[m, end, p]
        usd += _dosed(b, p, mu[p], before + dose) - _dosed(b, p, mu[p], before)
        usd += _from_now(b, t, p, go, end, end, m, np.log(h / (ceiling - h)) - b.growth[p, end])
        _push(heap, _bucket(nodes, n, m, end, days), fixed + usd, n, m, p, end)


@folded
def _to_yard(b, spent, leave, nodes, n, m, day, here, score, old, churn_usd, h):  # type: ignore[no-untyped-def]
    days, yard, end = b.can_move.shape[0], b.area_ha.shape[0], day
    cost = score + _arrive_usd(b, here, yard)
    while end < days:
        cost += b.prices.yard_d + b.prices.hay * b.demand_kg_d[m, end]
        end += 1
        if end < days and b.can_move[end]:
            break
    cost += _differs(m, yard, day, end, old, churn_usd) + spent[m, end] - leave[m, end, yard]
    _push(h, _bucket(nodes, n, m, end, days), cost, n, m, yard, end)


@folded
def _stay_on(b, t, go, mu, spent, leave, nodes, n, m, p, score, old, churn_usd, h):  # type: ignore[no-untyped-def]
    """Offer to let a mob stay where it stands on the first day, for as long as the calendar lets it."""
    days, w, ceiling = b.can_move.shape[0], b.prices, b.ceiling[p]
    most = min(b.longest_d[m, p] - b.been_d[m], b.clear_d[m, 0, p], days)
    for end in range(1, most + 1):
        if (end < days and not b.can_move[end]) or not _leaves_open(b, nodes, n, m, end):
            continue
        hay, short, dose, heat, left = graze(b, p, m, 0, end, ceiling / (1.0 + np.exp(-nodes.y[n, p])))
        cost = score + w.hay * hay + w.residual * short + heat + _dosed(b, p, mu[p], dose)
        cost += _differs(m, p, 0, end, old, churn_usd) + spent[m, end] - leave[m, end, p]
        cost += _from_now(b, t, p, go, end, end, m, np.log(left / (ceiling - left)) - b.growth[p, end])
        _push(h, _bucket(nodes, n, m, end, days), cost, n, m, p, end)


@stepped
def _search(b, t, prices, spent, u, old, churn_usd, nodes, heaps):  # type: ignore[no-untyped-def]
    """Fill the nodes from the first day to the last; return those of whole plans, the cheapest first."""
    mobs, days, yard = b.start.shape[0], b.can_move.shape[0], b.area_ha.shape[0]
    togo, go, mu, leave = np.empty(yard), prices.go, prices.dose, prices.leave
    nodes.made[0], nodes.parent[0], nodes.usd[0] = 1, -1, 0.0
    for m in range(mobs):
        nodes.free[0, m], nodes.at[0, m], nodes.since[0, m] = 0, b.start[m], -1
    for p in range(yard):
        nodes.y[0, p], nodes.dose[0, p], nodes.who[0, p], nodes.left[0, p] = u[p], 0.0, -1, 0
        for m in range(mobs):
            nodes.gone[0, p, m] = LONG_AGO
    _expand(b, t, go, mu, spent, leave, nodes, 0, 0, old, churn_usd, heaps, togo)
    for bucket in range(1, days * mobs):
        order = np.argsort(heaps.score[bucket, : heaps.filled[bucket]])
        for k in order:
            parent, m, p, end = heaps.visit[bucket, k]
            n = _make(b, t, mu, nodes, parent, m, p, end, old, churn_usd)
            _expand(b, t, go, mu, spent, leave, nodes, n, bucket // mobs, old, churn_usd, heaps, togo)
    last = days * mobs
    order = np.argsort(heaps.score[last, : heaps.filled[last]])
    out = np.empty(order.shape[0], np.int64)
    for k in range(order.shape[0]):
        parent, m, p, end = heaps.visit[last, order[k]]
        out[k] = _make(b, t, mu, nodes, parent, m, p, end, old, churn_usd)
    return out
